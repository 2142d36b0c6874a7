"""Spoken numbers. What they mean is the plain grammar of English numbers (common practice, no source)."""

from __future__ import annotations

import pytest

from indexer.models.timed import Word
from indexer.narration.numbers import numbers
from indexer.narration.quantities import Quantity, quantities
from indexer.narration.tokens import tokens_of

UNIT_WORDS = frozenset(
    ["mm", "millimetres", "seconds", "percent", "dioptres", "weeks", "days", "months", "minutes", "hook"]
)


def amounts(text: str) -> list[Quantity]:
    words = [Word(text=word, start_ms=n * 300, end_ms=n * 300 + 250, cue=0) for n, word in enumerate(text.split())]
    return quantities(tokens_of(words), words, UNIT_WORDS)


def literal(text: str) -> list[tuple[float, float]]:
    return [amount.readings[0] for amount in amounts(text)]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("seven", 7),
        ("fourteen", 14),
        ("twenty-one", 21),
        ("ninety nine", 99),
        ("a hundred", 100),
        ("hundred and fifty", 150),
        ("a hundred and ten", 110),
        ("four hundred", 400),
        ("one hundred seventy-seven", 177),
        ("two-eighty", 280),
        ("one ten", 110),
        ("one oh five", 105),
        ("one thousand nine hundred", 1900),
        ("twenty-two hundred", 2200),
        ("two thousand four hundred and fifty", 2450),
        ("1,900", 1900),
        ("1 900", 1900),
        ("400", 400),
        ("two point eight", 2.8),
        ("two point seven five", 2.75),
        ("point eight", 0.8),
        ("zero point six", 0.6),
        ("nineteen comma five", 19.5),
        ("19,5", 19.5),
        ("19 ,5", 19.5),
        ("2 .75", 2.75),
        ("two and a half", 2.5),
        ("twenty-one and half", 21.5),
        ("five and a quarter", 5.25),
        ("two and three quarters", 2.75),
        ("5 1/2", 5.5),
        ("22 and 1/2", 22.5),
        ("five seconds and a half", 5.5),
        ("six seconds and four tenths", 6.4),
        ("one minute ten", 70),
        ("two minutes and five seconds", 125),
        ("five-ish", 5),
        ("free hundred", 300),
        ("for point eight", 4.8),
    ],
)
def test_a_number_is_read(text: str, value: float) -> None:
    assert literal(text) == [pytest.approx((value, value))]


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("five to five and a half", 5, 5.5),
        ("five five and a half", 5, 5.5),
        ("five, maybe six", 5, 6),
        ("seven or eight", 7, 8),
        ("eighty, ninety", 80, 90),
        ("80 to 90", 80, 90),
        ("5-6", 5, 6),
        ("three millimetres, three and a half", 3, 3.5),
        ("four point eight, five", 4.8, 5),
        ("between five and six", 5, 6),
        ("six, five and a half", 5.5, 6),
        ("five by six", 5, 6),
        ("five, no bigger than five and a half", 5, 5.5),
    ],
)
def test_a_range_is_one_amount(text: str, low: float, high: float) -> None:
    assert literal(text) == [(low, high)]


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("five and six", [5, 6]),
        ("forty and four hundred", [40, 400]),
        ("vacuum 400, flow 35", [400, 35]),
        ("2.2 three planes", [2.2, 3]),
        ("four weeks, five days", [4, 5]),
        ("hook two, hook three", [2, 3]),
        ("day one six by nine", [1, 7.5]),
    ],
)
def test_numbers_that_are_no_range_stay_apart(text: str, values: list[float]) -> None:
    assert [sum(ends) / 2 for ends in literal(text)] == values


def test_what_is_taken_back_is_dropped() -> None:
    assert literal("bottle eighty, no, eighty-five") == [(85, 85)]


def test_counting_aloud_is_no_range_and_its_end_is_marked() -> None:
    counted = amounts("one, two, three, and the fourth")
    assert [(one.readings[0][0], one.counted) for one in counted] == [(1, False), (2, False), (3, False), (4, True)]


@pytest.mark.parametrize(
    ("text", "other"),
    [("two four", 2.4), ("2 4", 2.4), ("2-8", 2.8), ("one eighty", 1.8), ("7 8", 78), ("7 to 1", 71)],
)
def test_words_may_be_read_in_another_way(text: str, other: float) -> None:
    (amount,) = amounts(text)
    assert pytest.approx((other, other)) in amount.readings


@pytest.mark.parametrize("text", ["20/25", "6/9", "come to me for a while", "a point of honour", "the other one's own"])
def test_sight_and_small_words_are_no_numbers(text: str) -> None:
    assert [one for one in literal(text) if one != (1, 1)] == []


@pytest.mark.parametrize(
    ("text", "count"), [("next morning", 1), ("a fortnight later", 1), ("month later", 1), ("the following day", 1)]
)
def test_days_are_told_without_a_number(text: str, count: float) -> None:
    assert literal(text) == [(count, count)]


def test_ordinals_and_parts_are_told_from_counts() -> None:
    kinds = [
        (one.kind, round(one.readings[0][0], 2))
        for one in numbers(["the", "third", "month", "three", "quarters", "of", "it"])
    ]
    assert kinds == [("order", 3), ("part", 0.75)]


@pytest.mark.parametrize(
    "text",
    ["", "and", "hundred", "point", "to", "five and", "one two three four five six seven", "9" * 40, "half half half"],
)
def test_no_text_breaks_the_reading(text: str) -> None:
    for amount in amounts(text):
        assert amount.first < amount.last <= len(text.split())
        assert all(low <= high for low, high in amount.readings)
