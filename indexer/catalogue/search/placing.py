"""Where in a passage the answer is: the stretch of its words that holds most of what is asked."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from indexer.catalogue.search.asked import Asked
from indexer.catalogue.search.holding import Holding
from indexer.catalogue.search.weighing import TERM_WORD, WORD, Rarity, said_strength
from indexer.catalogue.wordlist import stems
from indexer.models import AssertionKind

STRETCH_MS = 15_000
"""How much is heard before one decides whether this is it."""
BREATH_MS = 1_300
"""Two words that begin so far apart have a pause between them."""
LONGEST_SENTENCE_MS = 6_000
LEAD_MS = 1_500
"""Where no sentence begins nearby, playing begins so long before the word."""

Spoken = Sequence[tuple[str, int, int]]
"""Words of a passage: text, when it is said, index of its cue."""


@dataclass(frozen=True)
class Hit:
    """Something asked for, at a moment: `what` is a concept or a stem, `value` what it counts."""

    at_ms: int
    what: str
    value: float


@dataclass(frozen=True)
class Place:
    """The best stretch: where it begins to be heard, and what it counts."""

    at_ms: int
    value: float


def hits(
    asked: Asked, holding: Holding, rarity: Rarity, key: int, spoken: Spoken, wanted: AssertionKind | None
) -> list[Hit]:
    """All moments in a passage at which something asked for is named or said, in order of time."""
    found = []
    values = {stem: WORD * rarity.words[stem] for stem in asked.words}
    for term in asked.terms:
        held = holding.terms[term.concept]
        telling = rarity.terms[term.concept] * term.certainty
        if key in held.steps:
            # The whole passage is it, so that no single naming within it says more.
            continue
        for naming in held.said.get(key, ()):
            found.append(Hit(naming.at_ms, term.concept, telling * said_strength(term, naming, wanted)))
        for stem in term.stems:
            values.setdefault(stem, TERM_WORD * telling / len(term.stems))
    typed = {near: stem for stem, alike in holding.alike.items() for near in alike}
    for text, at_ms, _ in spoken:
        for each in stems(text):
            stem = typed.get(each, each)
            if stem in values:
                found.append(Hit(at_ms, stem, values[stem]))
    return sorted(found, key=lambda hit: hit.at_ms)


def place(found: Sequence[Hit]) -> Place | None:
    """The stretch that holds most, each thing counted once; the earliest of equals. None where there is nothing."""
    best: Place | None = None
    for first, hit in enumerate(found):
        most: dict[str, float] = {}
        for other in found[first:]:
            if other.at_ms >= hit.at_ms + STRETCH_MS:
                break
            most[other.what] = max(most.get(other.what, 0.0), other.value)
        value = sum(most.values())
        if best is None or value > best.value + 1e-9:
            best = Place(hit.at_ms, value)
    return best


def sentence_start(spoken: Spoken, at_ms: int) -> int:
    """Where the sentence, cue or breath begins in which something is said at that time."""
    starts = [start for _, start, _ in spoken]
    here = bisect_right(starts, at_ms) - 1
    if here < 0:
        return at_ms
    for index in range(here, -1, -1):
        if at_ms - starts[index] > LONGEST_SENTENCE_MS:
            break
        if index == 0 or _begins(spoken, index):
            return starts[index]
    return max(starts[0], at_ms - LEAD_MS)


def _begins(spoken: Spoken, index: int) -> bool:
    before, this = spoken[index - 1], spoken[index]
    return before[0].endswith((".", "?", "!")) or this[2] != before[2] or this[1] - before[1] > BREATH_MS
