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
from indexer.privacy.naming import CALLINGS, HOUSE_WORDS, HOUSES, NOT_NAMES, RELATIVES, STREETS, TEAM, TITLES
from indexer.privacy.text import Text, word_set

MOST_WORDS = 5
SHORTEST_PART = 3
"""Letters of a part of a name that is looked for by itself."""
ORDINARY = 0.62
"""Parts of names that are commoner words than this are only found with the rest of the name, or behind a title."""
NEAR = {4: 0.13, 5: 0.24, 6: 0.30}
NEAR_LONG = 0.36
"""Largest distance of sounds, as a share of the name's, by their number; less than four are only found as written."""
LEAST_SHARE = 0.35
"""What may be off where the words heard are the commonest ones, as a share of what may be off for rare ones."""
UNADDRESSED = 0.88
"""The same for all, where nothing around says that this is a name."""
FIRM_ADDRESS, ADDRESS = 1.6, 1.25
"""The same behind a title, and behind a turn of phrase that is often followed by something else."""
COMMON = NOT_NAMES
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
    generic: bool = False
    """Whether words like "hospital" are part of it."""


class KnownNames:
    """The library's list made ready; made once, used for any number of texts."""

    def __init__(self, entries: Sequence[KnownName], trade: frozenset[str] = frozenset()) -> None:
        self._trade = trade
        self._numbers = [entry for entry in entries if any(char.isdigit() for char in entry.text)]
        self._forms = [form for entry in entries if entry not in self._numbers for form in _forms(entry)]
        self._exact: dict[str, Form] = {}
        for form in sorted(self._forms, key=lambda form: form.whole):
            self._exact[form.compact] = form
        # "Eye clinic" would be heard wherever a clinic is named: of what has a common name, its own part is listened for.
        self._heard = [form for form in self._forms if len(form.sounds) >= min(NEAR) and not form.generic]
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
            if form is None or (form.ordinary and not _addressed(text, first, form.entry.kind)):
                continue
            yield _at(text, *_widened(text, first, last, form.entry), form.entry, "list", 1.0 if form.whole else 0.95)

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
        for row in np.nonzero(share <= self._near[forms] * FIRM_ADDRESS)[0]:
            yield phrases[rows[row]], int(forms[row]), float(share[row])

    def _judged(self, text: Text, first: int, last: int, number: int, share: float) -> Iterator[Found]:
        form = self._heard[number]
        address = FIRM_ADDRESS if _housed(text, last, form.entry) else _addressed(text, first, form.entry.kind)
        if form.ordinary and not address:
            return
        words = text.words[first:last]
        if address < FIRM_ADDRESS and all(word in self._trade or word in COMMON for word in words):
            return
        odd = sum(rareness(word) * len(word) for word in words) / sum(map(len, words))
        allowed = float(self._near[number]) * _allowed(odd, address)
        if share <= allowed:
            first, last = _widened(text, first, last, form.entry)
            yield _at(text, first, last, form.entry, "sound", round(max(0.1, 0.9 - share), 2))

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
        yield Form(
            "".join(order), "".join(map(pronounce, order)), entry, True, alone, bool(GENERIC.intersection(parts))
        )
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


_OWN = word_set("my her his their our")
_PERSON_FIRM = {(word,) for word in TITLES} | {(own, word) for own in _OWN for word in TEAM | RELATIVES}
_PERSON_FIRM |= {
    ("named",),
    ("surname",),
    ("surname", "is"),
    ("name", "is"),
    ("colleague",),
    ("patient", "is"),
    ("patient", "called"),
}
_PERSON_LOOSE = {(word,) for word in CALLINGS | TEAM} | {
    ("thanks",),
    ("hello",),
    ("thank", "you"),
    ("called",),
    ("surgeon", "is"),
}
_PLACE_FIRM = {
    ("lives", "in"),
    ("lives", "at"),
    ("comes", "from"),
    ("came", "from"),
    ("referred", "from"),
    ("done", "at"),
    ("born", "in"),
}
_PLACE_LOOSE = {("from",), ("here", "at")}


def _addressed(text: Text, first: int, kind: Kind) -> float:
    """By how much more a name may be off since a title or a turn of phrase stands before it; 0 where none does."""
    if not first or text.gaps[first - 1].strip(" ."):
        return 0.0
    before = {tuple(text.words[first - 1 : first]), tuple(text.words[max(0, first - 2) : first])}
    firm, loose = (_PERSON_FIRM, _PERSON_LOOSE) if kind is Kind.NAME else (_PLACE_FIRM, _PLACE_LOOSE)
    return FIRM_ADDRESS if before & firm else ADDRESS if before & loose else 0.0


def _allowed(odd: float, address: float) -> float:
    """What may be off, for words so rare (0 to 1): all the same behind a title."""
    if address == FIRM_ADDRESS:
        return address
    rare = LEAST_SHARE + (1 - LEAST_SHARE) * odd
    return max(UNADDRESSED * rare, address * (LEAST_SHARE + rare) / (1 + LEAST_SHARE))


def _housed(text: Text, last: int, entry: KnownName) -> bool:
    """Whether the entry's own common words stand behind: "... eye clinic" of a clinic that is listed."""
    if entry.kind is not Kind.HOSPITAL:
        return False
    common = [word for word in Text(entry.text).words if word in GENERIC and word not in ("saint", "st", "the")]
    return bool(common) and text.words[last : last + len(common)] == common


def _widened(text: Text, first: int, last: int, entry: KnownName) -> tuple[int, int]:
    """A stretch with the common words of its entry beside it: "saint" before, "eye clinic" behind."""
    common = GENERIC.intersection(Text(entry.text).words)
    while first and text.words[first - 1] in common:
        first -= 1
    while last < len(text.words) and text.words[last] in common:
        last += 1
    return first, last


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
