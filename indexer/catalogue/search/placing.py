"""Where in a passage the answer is: the stretch of its words that holds most of what is asked."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from indexer.catalogue.search.weighing import Scales
from indexer.catalogue.wordlist import stems

STRETCH_MS = 12_000
"""How much is heard before one decides whether this is it; what comes later in it counts less, to a half at its end."""
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
    """The best stretch: where it begins to be heard, what it counts, and what is said in it."""

    at_ms: int
    value: float
    held: frozenset[str]


def hits(scales: Scales, key: int, spoken: Spoken) -> list[Hit]:
    """All moments in a passage at which something asked for is named or said, in order of time."""
    found = []
    for term in scales.asked.terms:
        held = scales.holding.terms[term.concept]
        # Where the whole passage is it, no single naming within it says more.
        for naming in () if key in held.steps else held.said.get(key, ()):
            value = scales.tells(term) * scales.said_strength(term, naming)
            found.append(Hit(naming.at_ms, term.concept, value))
    typed = {near: stem for stem, alike in scales.holding.alike.items() for near in alike}
    for text, at_ms, _ in spoken:
        for each in stems(text):
            stem = typed.get(each, each)
            if stem in scales.values:
                found.append(Hit(at_ms, stem, scales.values[stem]))
            for word in scales.akin_of.get(stem, ()):
                found.append(Hit(at_ms, stem, scales.akin[word]))
    return sorted(found, key=lambda hit: hit.at_ms)


def place(found: Sequence[Hit], end_ms: int) -> Place | None:
    """The stretch that holds most, beginning before `end_ms`, each thing counted once; the earliest of equals."""
    best: Place | None = None
    for first, hit in enumerate(found):
        if hit.at_ms >= end_ms:
            break
        most: dict[str, float] = {}
        for other in found[first:]:
            later = other.at_ms - hit.at_ms
            if later >= STRETCH_MS:
                break
            most[other.what] = max(most.get(other.what, 0.0), other.value * (1 - later / STRETCH_MS / 2))
        value = sum(most.values())
        if best is None or value > best.value + 1e-9:
            best = Place(hit.at_ms, value, frozenset(most))
    return best


def said_from(at_ms: int, *spoken: Spoken) -> frozenset[str]:
    """The stems of all that is said in the stretch that begins there."""
    heard = (text for words in spoken for text, start, _ in words if at_ms <= start < at_ms + STRETCH_MS)
    return frozenset(stem for text in heard for stem in stems(text))


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
