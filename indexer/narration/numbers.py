"""Spoken and written numbers: "five to five and a half", "two point eight", "two-eighty", "400", "80 to 90".

A stretch of words may be read in more than one way ("two four" is 2.4 of a keratome and, elsewhere, two and then four);
a Number carries its readings, the most literal first, and the measure that it belongs to settles which one is meant.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

UNITS = {
    word: value
    for value, words in enumerate(
        ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
    )
    for word in words.split()
} | {"oh": 0, "nought": 0, "nil": 0}  # fmt: skip
TENS = {word: 10 * value for value, word in enumerate(["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"], 2)} | {"fourty": 40}
POINTS = ("point", "comma", "dot")
PARTS = {"half": 0.5, "quarter": 0.25}
BETWEEN = frozenset(["to", "or", "maybe", "perhaps", "even", "until", "say", "about", "around", "almost", "up", "nearly", "and"])
"""Words that may stand between the two ends of a range."""
MOST_BETWEEN = 3


class Number(NamedTuple):
    """Words `first` up to, not including, `last` say a number; each reading is (low, high), alike for a single number."""

    first: int
    last: int
    readings: tuple[tuple[float, float], ...]


class _One(NamedTuple):
    last: int
    values: tuple[float, ...]
    """Ways to read it, the most literal first."""


def numbers(texts: Sequence[str], joins: frozenset[str] = frozenset()) -> list[Number]:
    """Every number of a text, in order. `joins` are words (of units) that may stand inside a range."""
    singles = list(_singles(texts))
    found: list[Number] = []
    index = 0
    while index < len(singles):
        first, one = singles[index]
        taken = index + 1
        if taken < len(singles):
            after, other = singles[taken]
            between = texts[one.last : after]
            if len(between) <= MOST_BETWEEN and all(word in BETWEEN or word in joins for word in between):
                ends = _range(one, other, close=not between or between[0] != "and")
                if ends is not None:
                    found.append(Number(first, other.last, (ends,)))
                    index = taken + 1
                    continue
        found.append(Number(first, one.last, tuple((value, value) for value in one.values)))
        index = taken
    return found


def _range(low: _One, high: _One, *, close: bool) -> tuple[float, float] | None:
    """The two ends of a range, where they lie near enough to each other to be one."""
    for first in low.values:
        for second in high.values:
            ends = min(first, second), max(first, second)
            if close and 0 < ends[1] - ends[0] <= max(1.0, 0.35 * ends[1]):
                return ends
    return None


def _singles(texts: Sequence[str]) -> Iterator[tuple[int, _One]]:
    index = 0
    while index < len(texts):
        one = _single(texts, index)
        if one is None:
            index += 1
            continue
        yield index, one
        index = one.last


def _single(texts: Sequence[str], at: int) -> _One | None:
    """The number that begins at a word, with its fraction."""
    if texts[at][0].isdigit():
        value = _written(texts[at])
        if value is None:
            return None
        return _with_fraction(texts, at + 1, (value,))
    if texts[at] == "point" and at + 1 < len(texts) and texts[at + 1] in UNITS:
        decimals, last = _decimals(texts, at + 1)
        return _One(last, (float(f"0.{decimals}"),))
    whole = _cardinal(texts, at)
    return None if whole is None else _with_fraction(texts, whole.last, whole.values)


def _written(text: str) -> float | None:
    """A number in digits; a comma parts thousands where three digits follow it, else it is a decimal comma."""
    if "," in text:
        head, _, tail = text.partition(",")
        text = head + tail if len(tail) == 3 and head != "0" else f"{head}.{tail}"
    try:
        return float(text)
    except ValueError:
        return None


def _cardinal(texts: Sequence[str], at: int) -> _One | None:
    """A whole number in words, and what else the same words may say: "two eighty" is 280, "two four" may be 2.4."""
    value, last = _below_hundred(texts, at)
    if value is None:
        return None
    word = texts[last] if last < len(texts) else ""
    if word in ("hundred", "thousand"):
        total = value * (100 if word == "hundred" else 1000)
        last += 1
        while last < len(texts):
            skip = 1 if texts[last] == "and" else 0
            more, end = _below_hundred(texts, last + skip)
            if more is None:
                break
            scale = texts[end] if end < len(texts) else ""
            if scale == "hundred" and word == "thousand":
                total, last = total + more * 100, end + 1
                continue
            if (skip and end < len(texts) and texts[end] in PARTS) or more in (0,):
                break
            return _One(end, (float(total + more),))
        return _One(last, (float(total),))
    follows, end = _below_hundred(texts, last)
    if follows is None or texts[last - 1] in TENS:
        return _One(last, (float(value),))
    if value < 10 and follows >= 10:
        return _One(end, (float(value * 100 + follows), float(f"{value}.{follows}")))
    if value < 40 and follows < 10 and texts[last] != "one":
        return _One(end, (float(f"{value}.{follows}"),)) if texts[last] == "oh" else _One(last, (float(value),))
    return _One(last, (float(value),))


def _below_hundred(texts: Sequence[str], at: int) -> tuple[int | None, int]:
    if at >= len(texts):
        return None, at
    if texts[at] in TENS:
        value = TENS[texts[at]]
        if at + 1 < len(texts) and 0 < UNITS.get(texts[at + 1], 0) < 10:
            return value + UNITS[texts[at + 1]], at + 2
        return value, at + 1
    if texts[at] in UNITS and texts[at] not in ("oh", "nil"):
        return UNITS[texts[at]], at + 1
    if texts[at] == "a" and at + 1 < len(texts) and texts[at + 1] in ("hundred", "thousand"):
        return 1, at + 1
    return None, at


def _with_fraction(texts: Sequence[str], last: int, values: tuple[float, ...]) -> _One:
    """Add "point eight", "and a half", "and three quarters" to a number that ends before `last`."""
    rest = list(texts[last : last + 4])
    if len(rest) > 1 and rest[0] in POINTS and (rest[1] in UNITS or rest[1] in TENS or rest[1].isdigit()):
        decimals, end = _decimals(texts, last + 1)
        if values[0] == int(values[0]):
            return _One(end, (float(f"{int(values[0])}.{decimals}"),))
    for phrase in (("and", "a"), ("and",), ("and", "one"), ("a",)):
        size = len(phrase)
        if tuple(rest[:size]) == phrase and len(rest) > size and rest[size] in PARTS:
            return _One(last + size + 1, tuple(value + PARTS[rest[size]] for value in values))
    if rest[:3] == ["and", "three", "quarters"]:
        return _One(last + 3, tuple(value + 0.75 for value in values))
    if _single_digit(texts, last, values):
        follows = texts[last]
        digit = UNITS[follows] if follows in UNITS else int(follows)
        return _One(last, values) if digit == 1 else _One(last + 1, (float(f"{int(values[0])}.{digit}"), values[0] * 10 + digit))
    return _One(last, values)


def _single_digit(texts: Sequence[str], at: int, values: tuple[float, ...]) -> bool:
    """Whether a lone digit follows a lone digit, as in "two four": no range that rises by one is meant."""
    if len(values) != 1 or not 0 < values[0] < 10 or values[0] != int(values[0]) or at >= len(texts):
        return False
    follows = texts[at]
    if not (follows in UNITS and UNITS[follows] < 10) and not (follows.isdigit() and len(follows) == 1):
        return False
    digit = UNITS[follows] if follows in UNITS else int(follows)
    # "five, four and a half" are two numbers.
    return digit != values[0] + 1 and tuple(texts[at + 1 : at + 2]) != ("and",)


def _decimals(texts: Sequence[str], at: int) -> tuple[str, int]:
    """Digits behind a decimal point, spoken singly or as a number below a hundred."""
    if texts[at].isdigit():
        return texts[at], at + 1
    value, last = _below_hundred(texts, at)
    if value is None:
        value, last = UNITS[texts[at]], at + 1
    digits = str(value)
    while len(digits) < 3 and value < 10 and last < len(texts) and 0 <= UNITS.get(texts[last], -1) < 10:
        digits += str(UNITS[texts[last]])
        last += 1
    return digits, last
