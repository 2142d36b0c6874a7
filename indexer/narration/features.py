"""What the reader is told of each token: the word, its letters, what it may stand for, the pause before it.

All arrays have one row for each token. Words and pieces of words are counted in by a hash, so that no list of words has
to be kept; what the vocabulary says of a token comes as (token, concept, weight) for each kind of hit.
"""

from __future__ import annotations

import zlib
from collections import Counter
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from indexer.narration.lexicon import Hit, Kind
from indexer.narration.meanings import meanings
from indexer.narration.sounding import NEAR
from indexer.narration.tokens import BREAKS, Tokens
from indexer.vocabulary.vocabulary import Vocabulary

BUCKETS = 2**13
PIECES = 16
"""Pieces of a word that are told apart, at most."""
CHANNELS = ("exact", "loose", "heard_as", "sound", "cue")
CHANNEL_OF = {
    Kind.SPOKEN: 0,
    Kind.VERB: 0,
    Kind.LOOSE: 1,
    Kind.HEARD_AS: 2,
    Kind.SOUND: 3,
    Kind.CUE: 4,
}
FACETS = ("step", "technique", "device", "agent", "finding", "event")
PLAIN = len(CHANNELS) * 2 + 5 + 8 + len(FACETS) + 4 + 10 + 2 * len(BREAKS)
"""Columns of `plain`: a flag and a first-word flag for each channel; pause before and behind, number, rareness, length; the
place in the case as waves; the facets of what may be named; whether it was named before, how often in all, where in an
operation it usually comes and how far that is from here; the scopes of assertion cues; what is written before and behind,
and whether breaks are written at all."""

PUNCTUATION = PLAIN - 2 * len(BREAKS)
"""The first of the columns on what is written between the words."""

Floats = npt.NDArray[np.float32]
Ints = npt.NDArray[np.int64]


class Features(NamedTuple):
    """What the reader reads."""

    words: Ints
    """Bucket of each token: (n,)."""
    pieces: Ints
    """Buckets of its pieces, from 1; 0 is no piece: (n, PIECES)."""
    meaning: Floats
    """What its word means in ordinary English: (n, meanings.WIDTH)."""
    plain: Floats
    """(n, PLAIN)."""
    hits: tuple[tuple[Ints, Ints, Floats], ...]
    """For each channel, the tokens, the concepts' numbers and the weights of all hits that the reader knows of."""
    bag: Floats
    """How often each concept is named in the whole case, as log(1 + count): (concepts,)."""


class Facts(NamedTuple):
    """What the features need to know of a concept."""

    facet: int
    """Index in FACETS, or -1."""
    place: float
    """Where in an operation it usually comes, from 0 to 1; 0.5 where that is not known."""


def facts_of(vocabulary: Vocabulary) -> dict[str, Facts]:
    """The facts of every concept: a step's place is its own, another concept's the mean of the steps that it turns up in."""
    ordered = [concept.id for facet in ("part", "step") for concept in vocabulary.of_facet(facet)]
    most = max(1, len(ordered))
    found = {}
    for concept in vocabulary.concepts.values():
        steps = [concept.id] if concept.id in ordered else [step for step in concept.steps if step in ordered]
        place = sum(vocabulary.place(step) for step in steps) / len(steps) / most if steps else 0.5
        found[concept.id] = Facts(FACETS.index(concept.facet) if concept.facet in FACETS else -1, place)
    return found


def _bucket(text: str) -> int:
    return zlib.crc32(text.encode()) % BUCKETS


@lru_cache(maxsize=100_000)
def _word(text: str) -> tuple[int, tuple[int, ...]]:
    edged = f"<{text}>"
    pieces = [edged[at : at + size] for size in (3, 4) for at in range(max(1, len(edged) - size + 1))]
    return _bucket("w" + text), tuple(_bucket("p" + piece) + 1 for piece in pieces[:PIECES])


def features(
    tokens: Tokens,
    hits: Sequence[Hit],
    numbers: Mapping[str, int],
    rareness: Sequence[float],
    facts: Mapping[str, Facts],
    scopes: Floats,
) -> Features:
    """Describe tokens for the reader.

    `numbers` gives each concept's number in the reader; concepts that it has not learned are told by the plain flags
    alone. `rareness` is that of each token in ordinary English, from 0 (common) to 1; `scopes` those of assertion cues.
    """
    count = len(tokens)
    words = np.zeros(count, np.int64)
    pieces = np.zeros((count, PIECES), np.int64)
    for index, text in enumerate(tokens.texts):
        words[index], found = _word(text)
        pieces[index, : len(found)] = found
    plain = np.zeros((count, PLAIN), np.float32)
    rows: tuple[list[tuple[int, int, float]], ...] = tuple([] for _ in CHANNELS)
    bag = np.zeros(len(numbers), np.float32)
    for hit in hits:
        channel = CHANNEL_OF[hit.kind]
        weight = 1.0 - hit.distance / NEAR * 0.7
        reach = slice(hit.first, hit.last)
        plain[reach, channel] = np.maximum(plain[reach, channel], weight)
        plain[hit.first, len(CHANNELS) + channel] = 1.0
        number = numbers.get(hit.concept)
        if number is None:
            continue
        if channel == 0:
            bag[number] += 1
        rows[channel].extend((token, number, weight) for token in range(hit.first, hit.last))
    _fill_plain(plain, tokens, rareness)
    _fill_facts(plain[:, len(CHANNELS) * 2 + 13 :], hits, facts)
    plain[:, PUNCTUATION - 10 : PUNCTUATION] = scopes
    _fill_breaks(plain[:, PUNCTUATION:], tokens)
    return Features(words, pieces, meanings(tokens.texts), plain, tuple(_columns(row) for row in rows), np.log1p(bag))


def _columns(rows: list[tuple[int, int, float]]) -> tuple[Ints, Ints, Floats]:
    tokens, concepts, weights = zip(*rows, strict=True) if rows else ((), (), ())
    return np.array(tokens, np.int64), np.array(concepts, np.int64), np.array(weights, np.float32)


def _fill_plain(plain: Floats, tokens: Tokens, rareness: Sequence[float]) -> None:
    start = 2 * len(CHANNELS)
    starts, ends = np.array(tokens.starts_ms, np.float64), np.array(tokens.ends_ms, np.float64)
    if not len(starts):
        return
    pause = np.zeros(len(starts))
    pause[1:] = np.maximum(0.0, starts[1:] - ends[:-1]) / 1000
    plain[:, start] = np.log1p(pause)
    plain[:, start + 1] = np.roll(plain[:, start], -1)
    plain[:, start + 2] = [text[0].isdigit() for text in tokens.texts]
    plain[:, start + 3] = rareness
    plain[:, start + 4] = [min(len(text), 12) / 12 for text in tokens.texts]
    place = np.linspace(0.0, 1.0, len(starts))
    for number in range(4):
        plain[:, start + 5 + number] = np.sin(np.pi * (number + 1) * place)
        plain[:, start + 9 + number] = np.cos(np.pi * (number + 1) * place)


def _fill_breaks(columns: Floats, tokens: Tokens) -> None:
    """For each break a column before the token and one behind; those of no break say whether any are written."""
    kinds = np.array([BREAKS.index(written) for written in tokens.breaks], np.int64)
    for kind in range(1, len(BREAKS)):
        columns[1:, kind] = kinds[:-1] == kind
        columns[:, len(BREAKS) + kind] = kinds == kind
    if len(kinds):
        columns[0, BREAKS.index(".")] = 1
        columns[:, 0] = min(1.0, 8 * float((kinds > 0).mean()))


def _fill_facts(columns: Floats, hits: Sequence[Hit], facts: Mapping[str, Facts]) -> None:
    """What is known of the likeliest concept at each token: facet, named before, how often, usual place and how far off."""
    named = Counter(hit.concept for hit in hits if hit.kind <= Kind.HEARD_AS)
    so_far: Counter[str] = Counter()
    surest: dict[int, tuple[Kind, int]] = {}
    for hit in hits:
        if hit.kind is Kind.CUE or hit.concept not in facts:
            continue
        fact = facts[hit.concept]
        for token in range(hit.first, hit.last):
            rank = (hit.kind, hit.first - hit.last)
            if token in surest and surest[token] <= rank:
                continue
            surest[token] = rank
            columns[token, : len(FACETS) + 4] = 0
            if fact.facet >= 0:
                columns[token, fact.facet] = 1
            columns[token, len(FACETS)] = np.log1p(so_far[hit.concept])
            columns[token, len(FACETS) + 1] = np.log1p(named[hit.concept])
            columns[token, len(FACETS) + 2] = fact.place
            columns[token, len(FACETS) + 3] = fact.place - token / max(1, len(columns))
        if hit.kind <= Kind.HEARD_AS:
            so_far[hit.concept] += 1
