"""What the library knows by name: its own list, found as written, inflected, split, joined, and misheard by sound."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from indexer.models.identifying import IdentifierKind as Kind
from indexer.models.identifying import KnownName
from indexer.narration.phonemes import ALPHABET, pronounce
from indexer.narration.rareness import rareness
from indexer.narration.sounding import CLASSED, CODE_OF_LETTER, Coded, Floats, Ints, distances
from indexer.privacy.digits import runs
from indexer.privacy.finding import Found
from indexer.privacy.naming import CALLINGS, HOUSE_WORDS, HOUSES, RELATIVES, STREETS, TEAM, TITLES
from indexer.privacy.text import Text, word_set

MOST_WORDS = 5
SHORTEST_PART = 3
"""Letters of a part of a name that is looked for by itself."""
ORDINARY = 0.62
"""Parts of names that are commoner words than this are only found with the rest of the name, or behind a title."""
NEAR = {4: 0.13, 5: 0.24, 6: 0.30}
NEAR_LONG = 0.36
"""Largest distance of sounds, as a share of the name's, by their number; less than four are only found as written."""
WIDER, LEAST_SHARE = 1.6, 0.35
"""What may be further off: more behind a title or a turn of phrase, less where the words heard are common ones."""
MOST_DIGITS_WRONG = 1
GENERIC = (
    HOUSES
    | HOUSE_WORDS
    | STREETS
    | word_set(
        """
    the of and medical center centre institute surgery surgical health unit nursing home care new old north south east
    west san
    """
    )
)
WORDLIKE = frozenset({Kind.NAME, Kind.PLACE, Kind.HOSPITAL, Kind.OTHER})


class Form(NamedTuple):
    """One way in which an entry is said."""

    compact: str
    sounds: str
    entry: KnownName
    whole: bool
    ordinary: bool


class KnownNames:
    """The library's list made ready; made once, used for any number of texts."""

    def __init__(self, entries: Sequence[KnownName], trade: frozenset[str] = frozenset()) -> None:
        self._trade = trade
        self._numbers = [entry for entry in entries if any(char.isdigit() for char in entry.text)]
        self._forms = [form for entry in entries if entry not in self._numbers for form in _forms(entry)]
        self._exact: dict[str, Form] = {}
        for form in sorted(self._forms, key=lambda form: form.whole):
            self._exact[form.compact] = form
        self._heard = [form for form in self._forms if len(form.sounds) >= min(NEAR)]
        self._coded = _coded([form.sounds for form in self._heard])
        self._classes = _classes(self._coded)
        self._longest = max((len(form.sounds) for form in self._heard), default=0)
        self._near = np.array([NEAR.get(len(form.sounds), NEAR_LONG) for form in self._heard], np.float32)

    def found(self, text: Text) -> Iterator[Found]:
        """Every place where something of the list is said or written."""
        yield from self._written(text)
        yield from self._sounding(text)
        yield from self._numbered(text)

    def _written(self, text: Text) -> Iterator[Found]:
        for first, last in _windows(text):
            compact = "".join(text.words[first:last])
            form = self._exact.get(compact) or self._inflected(compact)
            if form is None or (form.ordinary and not _addressed(text, first)):
                continue
            yield _at(text, first, last, form.entry, "list", 1.0 if form.whole else 0.95)

    def _inflected(self, compact: str) -> Form | None:
        for ending in ("s", "es"):
            if compact.endswith(ending) and compact[: -len(ending)] in self._exact:
                return self._exact[compact[: -len(ending)]]
        return None

    def _sounding(self, text: Text) -> Iterator[Found]:
        if not self._heard:
            return
        windows = [
            (first, last) for first, last in _windows(text) if not any(w[0].isdigit() for w in text.words[first:last])
        ]
        said: dict[tuple[str, ...], list[tuple[int, int]]] = {}
        for first, last in windows:
            said.setdefault(tuple(text.words[first:last]), []).append((first, last))
        phrases = [phrase for phrase in said if 4 <= len("".join(map(pronounce, phrase))) <= self._longest + 4]
        for start in range(0, len(phrases), 2000):
            for phrase, number, share in self._near_ones(phrases[start : start + 2000]):
                for first, last in said[phrase]:
                    yield from self._judged(text, first, last, number, share)

    def _near_ones(self, phrases: Sequence[tuple[str, ...]]) -> Iterator[tuple[tuple[str, ...], int, float]]:
        """Phrases and entries that sound alike by counts of sounds, then by aligned sounds."""
        coded = _coded(["".join(map(pronounce, phrase)) for phrase in phrases])
        classes = _classes(coded)
        apart = np.zeros((len(phrases), len(self._heard)), np.float32)
        for column in range(classes.shape[1]):
            apart += np.abs(classes[:, column, None] - self._classes[None, :, column])
        rows, forms = np.nonzero(apart <= 1.2 + 0.55 * self._coded.lengths[None, :])
        if not len(rows):
            return
        far = distances(
            Coded(coded.codes[rows], coded.lengths[rows]), Coded(self._coded.codes[forms], self._coded.lengths[forms])
        )
        share = far / self._coded.lengths[forms]
        for row in np.nonzero(share <= self._near[forms] * WIDER)[0]:
            yield phrases[rows[row]], int(forms[row]), float(share[row])

    def _judged(self, text: Text, first: int, last: int, number: int, share: float) -> Iterator[Found]:
        form = self._heard[number]
        addressed = _addressed(text, first)
        if form.ordinary and not addressed:
            return
        words = text.words[first:last]
        if not addressed and all(word in self._trade for word in words):
            return
        odd = sum(rareness(word) * len(word) for word in words) / sum(map(len, words))
        allowed = float(self._near[number]) * (WIDER if addressed else LEAST_SHARE + (1 - LEAST_SHARE) * odd)
        if share <= allowed:
            yield _at(text, first, last, form.entry, "sound", round(0.9 - share, 2))

    def _numbered(self, text: Text) -> Iterator[Found]:
        if not self._numbers:
            return
        for letters in (False, True):
            for run in runs(text, letters=letters, fewest=2):
                for entry in self._numbers:
                    wanted = "".join(char for char in entry.text.casefold() if char.isalnum())
                    if _same_number(run.chars, wanted):
                        yield _at(text, run.first, run.last, entry, "list", 1.0 if wanted in run.chars else 0.85)


def _forms(entry: KnownName) -> Iterator[Form]:
    """An entry as a whole, turned round where it is a person's, and its parts that are words of its own."""
    parts = Text(entry.text).words
    if not parts:
        return
    orders = [parts, [*parts[1:], parts[0]]] if entry.kind is Kind.NAME and 1 < len(parts) < 4 else [parts]
    for order in orders:
        alone = len(parts) == 1 and rareness(parts[0]) < ORDINARY
        yield Form("".join(order), "".join(map(pronounce, order)), entry, True, alone)
    if len(parts) > 1:
        for part in parts:
            if len(part) >= SHORTEST_PART and part not in GENERIC and part not in TITLES | CALLINGS:
                yield Form(part, pronounce(part), entry, False, rareness(part) < ORDINARY)


def _windows(text: Text) -> Iterator[tuple[int, int]]:
    for first in range(len(text.words)):
        for last in range(first + 1, min(first + MOST_WORDS, len(text.words)) + 1):
            yield first, last
            if "\n" in text.gaps[last - 1]:
                break


ADDRESSING = (
    TITLES
    | CALLINGS
    | TEAM
    | RELATIVES
    | word_set("name named patient surname called surgeon thanks hello assistant lives comes from at near")
)
BETWEEN = word_set("is in from the at are was")
"""Small words that may stand between a turn of phrase and a name."""


def _addressed(text: Text, first: int) -> bool:
    """Whether a title or a turn of phrase before it says that this is a name."""
    at = first - 1
    while at >= 0 and text.words[at] in BETWEEN and first - at < 3 and text.words[at] not in ADDRESSING:
        at -= 1
    return at >= 0 and text.words[at] in ADDRESSING and (text.words[at] != "at" or text.words[first - 1] == "the")


def _same_number(said: str, wanted: str) -> bool:
    """Whether a number is within what was said, or differs in one place of six or more."""
    if wanted in said:
        return True
    if len(wanted) < 6 or abs(len(said) - len(wanted)) > MOST_DIGITS_WRONG:
        return False
    from rapidfuzz.distance import Levenshtein

    return Levenshtein.distance(said, wanted, score_cutoff=MOST_DIGITS_WRONG) <= MOST_DIGITS_WRONG


def _at(text: Text, first: int, last: int, entry: KnownName, how: str, certainty: float) -> Found:
    start, end = text.tokens[first].start, text.tokens[last - 1].end
    return Found(start, end, entry.kind, "list" if how == "list" else "sound", certainty, entry.text)


def _coded(sounds: Sequence[str]) -> Coded:
    """Pronunciations as codes, padded: (n, longest), and their lengths (n,)."""
    lengths: Ints = np.array([len(sound) for sound in sounds], np.int64)
    longest = int(lengths.max(initial=1))
    letters = "".join(sound.ljust(longest) for sound in sounds).encode("ascii")
    return Coded(CODE_OF_LETTER[np.frombuffer(letters, np.uint8)].reshape(len(sounds), longest), lengths)


def _classes(coded: Coded) -> Floats:
    """How often each class of sounds occurs: (n, classes)."""
    counts = np.zeros((len(coded.lengths), len(ALPHABET) + 1), np.float32)
    rows = np.repeat(np.arange(len(coded.lengths)), coded.codes.shape[1])
    np.add.at(counts, (rows, coded.codes.ravel()), 1.0)
    return np.asarray(counts[:, :-1] @ CLASSED, np.float32)
