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


class Coded(NamedTuple):
    """Pronunciations as an array of sound codes, padded with the code for no sound: (n, longest), and their lengths."""

    codes: Ints
    lengths: Ints


def _coded(sounds: Sequence[str]) -> Coded:
    lengths = np.array([len(sound) for sound in sounds], np.int64)
    codes = np.full((len(sounds), int(lengths.max(initial=1))), len(ALPHABET), np.int64)
    for row, sound in enumerate(sounds):
        codes[row, : len(sound)] = [CODES[one] for one in sound]
    return Coded(codes, lengths)


def _profile(coded: Coded) -> Floats:
    """How often each sound occurs, smeared over alike sounds: (n, sounds)."""
    smear = np.exp(-3.0 * COST[:-1, :-1]).astype(np.float32)
    counts = np.zeros((len(coded.lengths), len(ALPHABET) + 1), np.float32)
    np.add.at(counts, (np.arange(len(coded.lengths))[:, None], coded.codes), 1.0)
    return np.asarray(counts[:, :-1] @ smear, np.float32)


def _classed(coded: Coded) -> Floats:
    """How often a sound of each class occurs: (n, classes)."""
    table = np.zeros((len(ALPHABET) + 1, len(CLASSES)), np.float32)
    for number, group in enumerate(CLASSES):
        table[[CODES[sound] for sound in group], number] = 1.0
    return np.asarray(table[coded.codes].sum(1), np.float32)


def _apart(first: Floats, second: Floats) -> Floats:
    """Squared distance of every row of one array to every row of the other: (n, m)."""
    return np.asarray((first**2).sum(1)[:, None] + (second**2).sum(1) - 2 * first @ second.T, np.float32)


def distances(said: Coded, meant: Coded) -> Floats:
    """Weighted edit distance of pairs of pronunciations, row by row: (n,)."""
    rows, width = meant.codes.shape
    drop = COST[-1]
    before = np.zeros((rows, width + 1), np.float32)
    before[:, 1:] = np.cumsum(drop[meant.codes], axis=1)
    result = np.zeros(rows, np.float32)
    result[said.lengths == 0] = before[said.lengths == 0, meant.lengths[said.lengths == 0]]
    everyone = np.arange(rows)
    for column in range(said.codes.shape[1]):
        heard = said.codes[:, column]
        now = np.empty_like(before)
        now[:, 0] = before[:, 0] + drop[heard]
        replaced = before[:, :-1] + COST[heard[:, None], meant.codes]
        left_out = before[:, 1:] + drop[heard][:, None]
        best = np.minimum(replaced, left_out)
        added = drop[meant.codes]
        for position in range(width):
            now[:, position + 1] = np.minimum(best[:, position], now[:, position] + added[:, position])
        done = said.lengths == column + 1
        result[done] = now[everyone[done], meant.lengths[done]]
        before = now
    return result


class Ear:
    """The words of the trade by their sound."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self._phrases = sorted(trade_words(vocabulary))
        self._own = {phrase[0] for phrase in self._phrases if len(phrase) == 1}
        sounds = ["".join(pronounce(word) for word in phrase) for phrase in self._phrases]
        usable = [index for index, sound in enumerate(sounds) if SHORTEST <= len(sound) <= LONGEST]
        self._phrases = [self._phrases[index] for index in usable]
        self._coded = _coded([sounds[index] for index in usable] or ["x"])
        self._profiles = _profile(self._coded)
        self._classes = _classed(self._coded)
        self._near = np.where(self._coded.lengths <= SHORTEST, NEAR_SHORT, NEAR).astype(np.float32)
        self._known: dict[tuple[str, ...], list[tuple[int, float]]] = {}

    def alternatives(self, texts: Sequence[str], starts_ms: Sequence[int], ends_ms: Sequence[int]) -> list[Alternative]:
        """Other readings of runs of words, in order of the first word; overlapping ones included."""
        if not self._phrases:
            return []
        windows = list(_windows(texts, starts_ms, ends_ms))
        if len(self._known) > MOST_REMEMBERED:
            self._known.clear()
        self._listen(sorted({words for _, _, words in windows} - self._known.keys()))
        return [
            Alternative(first, last, self._phrases[number], distance)
            for first, last, words in windows
            for number, distance in self._known[words]
        ]

    def _listen(self, windows: list[tuple[str, ...]]) -> None:
        """Work out and remember what each run of words sounds like. A word of the trade is taken as it stands."""
        sounds = ["".join(pronounce(word) for word in words) for words in windows]
        for words in windows:
            self._known[words] = []
        usable = [
            index
            for index, sound in enumerate(sounds)
            if SHORTEST <= len(sound) <= LONGEST + 2
            and not (len(windows[index]) == 1 and windows[index][0] in self._own)
        ]
        for start in range(0, len(usable), 1000):
            chunk = usable[start : start + 1000]
            self._compare([windows[index] for index in chunk], _coded([sounds[index] for index in chunk]))

    def _compare(self, windows: list[tuple[str, ...]], said: Coded) -> None:
        lengths = self._coded.lengths.astype(np.float32)
        odd = np.array([max(rareness(word) for word in words) for words in windows], np.float32)
        near = _apart(_classed(said), self._classes) <= 1.0 + 0.2 * lengths
        near &= np.abs(lengths - said.lengths[:, None]) <= np.maximum(1.0, 0.34 * lengths)
        near &= _apart(_profile(said), self._profiles) < (0.2 + 0.6 * odd)[:, None] * lengths
        which, form = np.nonzero(near)
        if not len(which):
            return
        far = distances(
            Coded(said.codes[which], said.lengths[which]), Coded(self._coded.codes[form], self._coded.lengths[form])
        )
        share = far / lengths[form]
        kept = np.nonzero(share <= self._near[form] * (0.55 + 0.45 * odd[which]))[0]
        for row in kept[np.argsort(share[kept], kind="stable")]:
            readings = self._known[windows[which[row]]]
            if len(readings) < MOST_READINGS:
                readings.append((int(form[row]), float(share[row])))


def _windows(
    texts: Sequence[str], starts_ms: Sequence[int], ends_ms: Sequence[int]
) -> Iterator[tuple[int, int, tuple[str, ...]]]:
    """Every run of one to four words without a long pause in it: (first, last, words)."""
    for first in range(len(texts)):
        for last in range(first + 1, min(first + MOST_WORDS, len(texts)) + 1):
            if last - first > 1 and starts_ms[last - 1] - ends_ms[last - 2] > PAUSE_MS:
                break
            yield first, last, tuple(texts[first:last])
