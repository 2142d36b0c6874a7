"""How a named thing is meant, by rules: cue phrases before and after it, up to where the clause ends.

The phrases are data (`schemas/language/assertion.json`). The nearest cue wins; a phrase that only looks like a cue
("no doubt") hides the words it covers. It serves where no reader has been taught, and is one measure for the reader.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from functools import cache
from importlib import resources
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from indexer.models.tagged import AssertionKind
from indexer.narration.tokens import Tokens
from indexer.vocabulary.words import normalise

Floats = npt.NDArray[np.float32]

REACH = {
    AssertionKind.ABSENT: 6,
    AssertionKind.PLANNED: 12,
    AssertionKind.CONSIDERED: 10,
    AssertionKind.EARLIER: 8,
    AssertionKind.DONE: 3,
}
"""How many words off a cue still counts: a negation is near, a plan governs its whole list."""
AFTER_REACH = 4
LONGEST_PHRASE = 6
FADES = 5.0
"""Words over which the scope of a cue fades by 1/e."""
PAUSE_MS = 1200
"""A longer pause ends a clause as a conjunction does."""


class Phrases(NamedTuple):
    """Cue phrases as tuples of words."""

    before: Mapping[tuple[str, ...], AssertionKind]
    after: Mapping[tuple[str, ...], AssertionKind]
    ends: frozenset[tuple[str, ...]]
    pseudo: frozenset[tuple[str, ...]]


@cache
def shipped_phrases() -> Phrases:
    """The phrases that ship with the program."""
    data = json.loads(resources.files("schemas").joinpath("language", "assertion.json").read_text(encoding="utf-8"))
    before: dict[tuple[str, ...], AssertionKind] = {}
    after: dict[tuple[str, ...], AssertionKind] = {}
    for kind in AssertionKind:
        for side, table in (("before", before), ("after", after)):
            for phrase in data.get(kind.value, {}).get(side, ()):
                table.setdefault(tuple(normalise(phrase)), kind)
    ends, pseudo = (frozenset(tuple(normalise(phrase)) for phrase in data[key]) for key in ("ends", "pseudo"))
    return Phrases(before, after, ends, pseudo)


def parted_before(tokens: Tokens) -> list[bool]:
    """For each token whether a sentence ends before it: by what is written, or by a long pause."""
    found = [False] * len(tokens)
    for at in range(1, len(tokens)):
        pause = tokens.starts_ms[at] - tokens.ends_ms[at - 1] > PAUSE_MS
        found[at] = pause or tokens.breaks[at - 1] in (".", "?")
    return found


def _phrase_at(
    texts: Sequence[str], start: int, table: Mapping[tuple[str, ...], object] | frozenset[tuple[str, ...]], limit: int
) -> int:
    """Length of the longest phrase of a table that begins at a word and ends before `limit`; 0 for none."""
    for size in range(min(LONGEST_PHRASE, limit - start), 0, -1):
        if tuple(texts[start : start + size]) in table:
            return size
    return 0


def assertion_of(
    texts: Sequence[str], parted: Sequence[bool], first: int, last: int, phrases: Phrases
) -> tuple[AssertionKind, float]:
    """How the words `first` up to `last` are meant, and how sure that is; `done` where nothing says otherwise."""
    inside = _inside(texts, first, last, phrases)
    if inside is not None:
        return inside, 0.7
    ahead = _ahead(texts, parted, first, phrases)
    behind = _behind(texts, parted, last, phrases)
    if ahead is not None and ahead is not AssertionKind.DONE:
        return ahead, 0.75
    if behind is not None:
        return behind, 0.65
    return AssertionKind.DONE, 0.8


def cue_scopes(texts: Sequence[str], parted: Sequence[bool], phrases: Phrases) -> Floats:
    """How strongly each token stands in the scope of cues: (n, 10), for each assertion a cue before it, then one after.

    A scope begins beside the cue with 1 and fades; it ends with the clause, and phrases that only look like a cue have none.
    """
    kinds = tuple(AssertionKind)
    scopes = np.zeros((len(texts), 2 * len(kinds)), np.float32)
    index = 0
    while index < len(texts):
        hidden = _phrase_at(texts, index, phrases.pseudo, len(texts))
        before = _phrase_at(texts, index, phrases.before, len(texts))
        after = _phrase_at(texts, index, phrases.after, len(texts))
        if hidden and hidden >= max(before, after):
            index += hidden
            continue
        if before:
            kind = phrases.before[tuple(texts[index : index + before])]
            last = index + before
            for at in range(last, min(len(texts), last + REACH[kind])):
                if parted[at] or (at > last and (texts[at],) in phrases.ends):
                    break
                column = kinds.index(kind)
                scopes[at, column] = max(scopes[at, column], math.exp(-(at - last) / FADES))
        if after:
            column = len(kinds) + kinds.index(phrases.after[tuple(texts[index : index + after])])
            for at in range(index - 1, max(-1, index - 1 - AFTER_REACH), -1):
                if parted[at + 1] or (texts[at],) in phrases.ends:
                    break
                scopes[at, column] = max(scopes[at, column], math.exp(-(index - 1 - at) / FADES))
        index += 1
    return scopes


def _inside(texts: Sequence[str], first: int, last: int, phrases: Phrases) -> AssertionKind | None:
    """A denial among the words themselves, as in "nucleus was not hard"."""
    for index in range(first + 1, last - 1):
        if phrases.before.get((texts[index],)) is AssertionKind.ABSENT:
            return AssertionKind.ABSENT
    return None


def _ahead(texts: Sequence[str], parted: Sequence[bool], first: int, phrases: Phrases) -> AssertionKind | None:
    """The nearest cue before the words, in the same clause."""
    clause = first
    while clause > 0 and first - clause < max(REACH.values()):
        if parted[clause] or (clause < first and (texts[clause],) in phrases.ends):
            break
        clause -= 1
    found: AssertionKind | None = None
    index = clause
    while index < first:
        hidden = _phrase_at(texts, index, phrases.pseudo, first)
        size = _phrase_at(texts, index, phrases.before, first)
        if hidden and hidden >= size:
            index += hidden
            continue
        if size:
            kind = phrases.before[tuple(texts[index : index + size])]
            if first - (index + size) < REACH[kind]:
                found = kind
            index += size
            continue
        index += 1
    return found


def _behind(texts: Sequence[str], parted: Sequence[bool], last: int, phrases: Phrases) -> AssertionKind | None:
    """The nearest cue after the words, before the clause ends."""
    for index in range(last, min(len(texts), last + AFTER_REACH)):
        if index and parted[index]:
            return None
        if _phrase_at(texts, index, phrases.pseudo, len(texts)):
            return None
        size = _phrase_at(texts, index, phrases.after, len(texts))
        if size:
            return phrases.after[tuple(texts[index : index + size])]
        if (texts[index],) in phrases.ends:
            return None
    return None
