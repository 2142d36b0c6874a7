"""Other numbers that a written one may have been: "sixteen" for sixty, "275" for 2.75, "to 80" for two eighty."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from indexer.narration.numbers import SOUNDS_LIKE
from indexer.narration.quantities import Quantity

TEENS = {10.0 + ones: 10.0 * ones for ones in range(3, 10)}
OTHER = TEENS | {tens: teen for teen, tens in TEENS.items()}
POINT_LOST, TEEN_OR_TY, WORD_WAS_DIGIT = "point lost", "teen or ty", "word was a digit"


def misheard(amount: Quantity, texts: Sequence[str]) -> Iterator[tuple[float, float, str]]:
    """Other values of a single amount, as (low, high, how it was misheard)."""
    low, high = amount.readings[0]
    if low != high or amount.kind != "count":
        return
    word = texts[amount.first]
    if amount.last - amount.first == 1 and word.isdigit() and 10 < low < 1000:
        value = low / (10 if low < 100 else 100)
        yield value, value, POINT_LOST
    whole = float(int(low))
    if whole in OTHER:
        value = OTHER[whole] + low - whole
        yield value, value, TEEN_OR_TY
    digit = SOUNDS_LIKE.get(texts[amount.first - 1]) if amount.first else None
    if digit is not None:
        yield from _with_digit(digit, low)


def _with_digit(digit: int, value: float) -> Iterator[tuple[float, float, str]]:
    """Small words taken for digits: "for 100" may be four hundred, "to 80" two eighty, "to 0.4" two point four."""
    if value < 1:
        yield value + digit, value + digit, WORD_WAS_DIGIT
    elif value == 100:
        yield 100.0 * digit, 100.0 * digit, WORD_WAS_DIGIT
    elif 10 <= value < 100 and value == int(value):
        yield 100.0 * digit + value, 100.0 * digit + value, WORD_WAS_DIGIT
