"""A narration around its amounts: which step goes on, what is named nearby, which words stand to each side."""

from __future__ import annotations

import math
import sys
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from indexer.models.timed import Word
from indexer.narration.quantities import Quantity
from indexer.narration.tokens import Tokens

BEFORE, AFTER = 10, 7
"""Words to each side that are looked at."""
PAUSE_MS = 4000
AGAIN_MS = 15_000
CLOSE = 3
"""Words to each side of which the very place counts, less one."""


class Seen(NamedTuple):
    """A measure found before."""

    measure: int
    low: float
    high: float
    at: int
    start_ms: int


class Surroundings(NamedTuple):
    """A narration as the clues see it."""

    tokens: Tokens
    words: Sequence[Word]
    amounts: Sequence[Quantity]
    steps: Sequence[str | None]
    """Step of each amount."""
    named: Sequence[tuple[int, int, str]]
    """Mentions as first token, last token, concept."""
    all_steps: frozenset[str]
    """Steps of the whole case."""


def reach(tokens: Tokens, amount: Quantity) -> tuple[int, int]:
    """Where the neighbourhood of an amount begins and ends: some words to each side, no long pause between."""
    low, high = amount.first, amount.last
    while low > 0 and amount.first - low < BEFORE and tokens.starts_ms[low] - tokens.ends_ms[low - 1] < PAUSE_MS:
        low -= 1
    while (
        high < len(tokens)
        and high - amount.last < AFTER
        and tokens.starts_ms[high] - tokens.ends_ms[high - 1] < PAUSE_MS
    ):
        high += 1
    return low, high


def near(named: Sequence[tuple[int, int, str]], low: int, high: int) -> set[str]:
    """What is named within the neighbourhood."""
    first = bisect_right(named, (low - 5, 0, ""))
    found = set()
    for start, end, concept in named[first:]:
        if start >= high:
            break
        if end > low:
            found.add(concept)
    return found


def holding(named: Sequence[tuple[int, int, str]], amount: Quantity) -> list[str]:
    """What is named by words that the amount is among."""
    first = bisect_right(named, (amount.first, sys.maxsize, ""))
    return [concept for start, end, concept in named[max(0, first - 3) : first] if start <= amount.first < end]


def context(
    around: Surroundings, index: int, before: Sequence[Seen], names: Sequence[str]
) -> Iterator[tuple[str, float]]:
    """The words around an amount, what is named there, the step, what was found before: clues whose meaning is learned."""
    amount, texts = around.amounts[index], around.tokens.texts
    low, high = reach(around.tokens, amount)
    yield "always", 1.0
    yield f"step {around.steps[index]}", 1.0
    sides = (
        ("-", [(amount.first - at, at) for at in range(low, amount.first)]),
        ("+", [(at - amount.last + 1, at) for at in range(amount.last, high)]),
    )
    for side, places in sides:
        for away, at in places:
            yield (f"{side}{away} {texts[at]}", 1.0) if away < CLOSE else (f"{side} {texts[at]}", 1.2 - 0.1 * away)
    for concept in near(around.named, low, high):
        yield f"named {concept}", 1.0
    if holding(around.named, amount):
        yield "in a name", 1.0
    if before and around.tokens.starts_ms[amount.first] - before[-1].start_ms < AGAIN_MS:
        yield f"after {names[before[-1].measure]}", 1.0
    for seen in {seen.measure for seen in before if (seen.low, seen.high) == amount.readings[0]}:
        yield f"alike {names[seen]}", 1.0
    yield from _shape(around, amount)


def _shape(around: Surroundings, amount: Quantity) -> Iterator[tuple[str, float]]:
    """How the amount itself looks."""
    value = amount.readings[0][0]
    yield f"size {min(12, int(2 * math.log(1 + abs(value))))}", 1.0
    yield ("whole" if value == int(value) else "not whole"), 1.0
    yield amount.kind, 1.0
    if amount.readings[0][0] < amount.readings[0][1]:
        yield "from to", 1.0
    for sign in ",.%+":
        if sign in amount.behind or (sign in "+" and around.words[around.tokens.words[amount.first]].text[:1] == sign):
            yield f"written {sign}", 1.0
