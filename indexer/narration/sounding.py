"""Words of the trade found by how they sound, across the borders of words: "cap you lock sis", "fake o", "disco".

Every run of one to four words is held against every word of the trade that the vocabulary's forms are made of. A cheap
measure (how often each sound occurs, with alike sounds counted together) leaves a few thousand pairs of a narration;
those are aligned by a weighted edit distance, all at once in numpy. What is near becomes another reading of that stretch;
the lexicon then looks for its forms in all readings, and what stands around decides what is believed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from indexer.narration.lexicon import Alternative, trade_words
from indexer.narration.phonemes import ALPHABET, pronounce
from indexer.narration.rareness import rareness
from indexer.vocabulary.vocabulary import Vocabulary

Floats = npt.NDArray[np.float32]
Ints = npt.NDArray[np.int64]

MOST_WORDS = 4
SHORTEST, LONGEST = 3, 20
"""Sounds of a word that is looked for."""
NEAR = 0.40
"""Largest distance, as a share of the word's sounds, of what is proposed for rare words; common ones must be nearer."""
NEAR_SHORT = 0.17
"""The same for words of three sounds."""
MOST_READINGS = 3
"""Other readings of one run of words."""
TOGETHER = 4000
"""Runs of words that are worked out at once."""
MOST_REMEMBERED = 200_000
"""Runs of words whose other readings are kept for the next narration."""
PAUSE_MS = 1500
"""A term is not spoken across a longer pause."""

VOWELS = "aAxoWYeREiIOyuU"
ALIKE = (
    "pb",
    "td",
    "kg",
    "fv",
    "sz",
    "TD",
    "SZ",
    "CJ",
    "mnG",
    "lr",
    "wu",
    "jI",
    "TfT",
    "sT",
    "CS",
    "JZ",
    "td",
    "vb",
    "vw",
    "dD",
    "tT",
)
NEARER_VOWELS = ("xiue", "aox", "oO", "iI", "uU", "eA", "Ee", "YaI", "xa", "Rx", "xAo", "Wao")
WEAK = "hjwr"
CLASSES = (VOWELS, "pb", "td", "kg", "fv", "szSZCJTD", "mnG", "lr", "w", "j", "h")
"""Sounds that are taken for one another when runs of words are first held against words of the trade."""


def _substitution() -> Floats:
    """Cost of hearing one sound as another, in 0 to 1; the last row and column stand for no sound at all."""
    size = len(ALPHABET)
    cost = np.ones((size + 1, size + 1), np.float32)
    place = {sound: index for index, sound in enumerate(ALPHABET)}
    for first in VOWELS:
        for second in VOWELS:
            cost[place[first], place[second]] = 0.45
    for group, value in [(group, 0.25) for group in NEARER_VOWELS] + [(group, 0.4) for group in ALIKE]:
        for first in group:
            for second in group:
                cost[place[first], place[second]] = min(value, cost[place[first], place[second]])
    for sound in ALPHABET:
        dropped = 0.45 if sound in VOWELS else 0.5 if sound in WEAK else 0.8
        cost[place[sound], size] = cost[size, place[sound]] = dropped
    np.fill_diagonal(cost, 0.0)
    return cost


COST = _substitution()
CODES = {sound: index for index, sound in enumerate(ALPHABET)}
CODE_OF_LETTER = np.array([CODES.get(chr(letter), len(ALPHABET)) for letter in range(128)], np.int64)


class Coded(NamedTuple):
    """Pronunciations as an array of sound codes, padded with the code for no sound: (n, longest), and their lengths."""

    codes: Ints
    lengths: Ints


def _coded(sounds: Sequence[str]) -> Coded:
    lengths = np.array([len(sound) for sound in sounds], np.int64)
    longest = int(lengths.max(initial=1))
    letters = "".join([sound.ljust(longest) for sound in sounds]).encode("ascii")
    return Coded(CODE_OF_LETTER[np.frombuffer(letters, np.uint8)].reshape(len(sounds), longest), lengths)


def _counts(coded: Coded) -> Floats:
    """How often each sound occurs: (n, sounds)."""
    size, rows = len(ALPHABET) + 1, len(coded.lengths)
    places = coded.codes + np.arange(rows)[:, None] * size
    counted = np.bincount(places.ravel(), minlength=rows * size).reshape(rows, size)
    return np.asarray(counted[:, :-1], np.float32)


def _smear() -> Floats:
    """Turns counts of sounds into profiles, smeared over alike sounds: (sounds, sounds)."""
    return np.asarray(np.exp(-3.0 * COST[:-1, :-1]), np.float32)


def _classes() -> Floats:
    """Turns counts of sounds into counts of classes of sounds: (sounds, classes)."""
    table = np.zeros((len(ALPHABET), len(CLASSES)), np.float32)
    for number, group in enumerate(CLASSES):
        table[[CODES[sound] for sound in group], number] = 1.0
    return table


SMEAR, CLASSED = _smear(), _classes()


def _said_rows(vectors: Floats, allowed: Floats) -> Floats:
    """Rows for what was said. A row of these times a row of `_meant_rows` is what is allowed less the squared distance.

    What is allowed is the product of what both sides allow, each (n,).
    """
    ones = np.ones(len(vectors), np.float32)
    return np.column_stack([vectors, (vectors**2).sum(1), ones, allowed])


def _meant_rows(vectors: Floats, allowed: Floats) -> Floats:
    """Rows for words of the trade; see `_said_rows`."""
    ones = np.ones(len(vectors), np.float32)
    return np.column_stack([2 * vectors, -ones, -(vectors**2).sum(1), allowed])


def distances(said: Coded, meant: Coded) -> Floats:
    """Weighted edit distance of pairs of pronunciations, row by row: (n,)."""
    order = np.argsort(-said.lengths, kind="stable")
    result = np.zeros(len(order), np.float32)
    said_codes, codes = said.codes[order].T.copy(), meant.codes[order].T.copy()
    said_lengths, lengths = said.lengths[order], meant.lengths[order]
    costs, places = COST.ravel(), codes * len(COST)
    added, drop = COST[-1][codes], COST[-1]
    before = np.zeros((len(codes) + 1, len(order)), np.float32)
    before[1:] = np.cumsum(added, axis=0)
    left = len(order)
    for column in range(len(said_codes) + 1):
        # The longest come first: those that are through stand behind the others.
        still = int(np.searchsorted(-said_lengths, -column))
        done = slice(still, left)
        result[order[done]] = before[lengths[done], np.arange(still, left)]
        left = still
        if not left:
            break
        heard = said_codes[column, :left]
        dropped = drop[heard]
        best = before[:-1, :left] + costs[places[:, :left] + heard]
        np.minimum(best, before[1:, :left] + dropped, out=best)
        now = np.empty((len(codes) + 1, left), np.float32)
        now[0] = before[0, :left] + dropped
        for position in range(len(codes)):
            np.minimum(best[position], now[position] + added[position, :left], out=now[position + 1])
        before = now
    return result


class Ear:
    """The words of the trade by their sound."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        phrases = sorted(trade_words(vocabulary))
        self._own = {phrase[0] for phrase in phrases if len(phrase) == 1}
        sounds = ["".join(pronounce(word) for word in phrase) for phrase in phrases]
        # By length, so that what a run of words is held against lies together.
        usable = sorted(
            (index for index, sound in enumerate(sounds) if SHORTEST <= len(sound) <= LONGEST),
            key=lambda index: len(sounds[index]),
        )
        self._ranks = np.array(usable, np.int64)
        self._phrases = [phrases[index] for index in usable]
        self._coded = _coded([sounds[index] for index in usable])
        self._lengths = self._coded.lengths.astype(np.float32)
        counts = _counts(self._coded)
        # Counts are whole numbers: what is allowed of them is rounded down, and the comparison is exact.
        self._classed = _meant_rows(counts @ CLASSED, np.floor(1.0 + 0.2 * self._lengths)).T.copy()
        self._profiles = _meant_rows(counts @ SMEAR, self._lengths).T.copy()
        self._near = np.where(self._lengths <= SHORTEST, NEAR_SHORT, NEAR).astype(np.float32)
        self._known: dict[tuple[str, ...], list[tuple[int, float]]] = {}

    def alternatives(self, texts: Sequence[str], starts_ms: Sequence[int], ends_ms: Sequence[int]) -> list[Alternative]:
        """Other readings of runs of words, in order of the first word; overlapping ones included."""
        if not self._phrases:
            return []
        windows = list(_windows(texts, starts_ms, ends_ms))
        if len(self._known) > MOST_REMEMBERED:
            self._known.clear()
        self._listen([words for words in dict.fromkeys(words for _, _, words in windows) if words not in self._known])
        return [
            Alternative(first, last, self._phrases[number], distance)
            for first, last, words in windows
            for number, distance in self._known[words]
        ]

    def _listen(self, windows: list[tuple[str, ...]]) -> None:
        """Work out and remember what each run of words sounds like. A word of the trade is taken as it stands."""
        usable: list[tuple[tuple[str, ...], str]] = []
        for words in windows:
            self._known[words] = []
            sound = "".join([pronounce(word) for word in words])
            if SHORTEST <= len(sound) <= LONGEST + 2 and not (len(words) == 1 and words[0] in self._own):
                usable.append((words, sound))
        for start in range(0, len(usable), TOGETHER):
            chunk = usable[start : start + TOGETHER]
            self._compare([words for words, _ in chunk], _coded([sound for _, sound in chunk]))

    def _compare(self, windows: list[tuple[str, ...]], said: Coded) -> None:
        odd = np.array([max([rareness(word) for word in words]) for words in windows], np.float32)
        which, form = self._alike(said, odd)
        if not len(which):
            return
        far = distances(
            Coded(said.codes[which], said.lengths[which]), Coded(self._coded.codes[form], self._coded.lengths[form])
        )
        share = far / self._lengths[form]
        kept = np.nonzero(share <= self._near[form] * (0.55 + 0.45 * odd[which]))[0]
        for row in kept[np.lexsort((self._ranks[form[kept]], share[kept]))]:
            readings = self._known[windows[which[row]]]
            if len(readings) < MOST_READINGS:
                readings.append((int(form[row]), float(share[row])))

    def _alike(self, said: Coded, odd: Floats) -> tuple[Ints, Ints]:
        """Pairs of runs of words and forms that sound alike by the cheap measures: indices of both."""
        counts = _counts(said)
        classed, profiles = _said_rows(counts @ CLASSED, np.ones_like(odd)), _said_rows(counts @ SMEAR, 0.2 + 0.6 * odd)
        runs, forms = [], []
        for length in range(SHORTEST, LONGEST + 3):
            some = np.nonzero(said.lengths == length)[0]
            fitting = np.nonzero(np.abs(self._lengths - length) <= np.maximum(1.0, 0.34 * self._lengths))[0]
            if not len(some) or not len(fitting):
                continue
            these = slice(fitting[0], fitting[-1] + 1)
            near = classed[some] @ self._classed[:, these] >= 0
            near &= profiles[some] @ self._profiles[:, these] > 0
            run, form = np.divmod(np.flatnonzero(near), near.shape[1])
            runs.append(some[run])
            forms.append(fitting[form])
        none = np.zeros(0, np.int64)
        return np.concatenate([none, *runs]), np.concatenate([none, *forms])


def _windows(
    texts: Sequence[str], starts_ms: Sequence[int], ends_ms: Sequence[int]
) -> Iterator[tuple[int, int, tuple[str, ...]]]:
    """Every run of one to four words without a long pause in it: (first, last, words)."""
    for first in range(len(texts)):
        for last in range(first + 1, min(first + MOST_WORDS, len(texts)) + 1):
            if last - first > 1 and starts_ms[last - 1] - ends_ms[last - 2] > PAUSE_MS:
                break
            yield first, last, tuple(texts[first:last])
