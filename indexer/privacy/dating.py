"""Dates as they are spoken and written in words, and ages over 89. A year alone may stay."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from indexer.models.identifying import IdentifierKind as Kind
from indexer.narration.numbers import ORDINALS, SMALL, TENS, UNITS
from indexer.privacy.finding import Found
from indexer.privacy.text import Text, word_set

MONTH_NAMES = "january february march april may june july august september october november december"
MONTHS = {name: number for number, name in enumerate(MONTH_NAMES.split(), 1)}
SHORT = {name[:3]: number for name, number in MONTHS.items() if name != "may"} | {"sept": 9}
DAYS_OF_WEEK = word_set("monday tuesday wednesday thursday friday saturday sunday")
BEFORE_WEEKDAY = word_set("on last next this since until from by every")
BEFORE_MONTH = word_set("in last since next until from early late mid of this by")
FEASTS = frozenset(
    {("christmas",), ("easter",), ("christmas", "eve"), ("new", "years", "eve"), ("thanksgiving",), ("boxing", "day")}
)
MODAL = word_set(
    """
    you we i it this that one they he she there which who what and or but so patient surgeon eye lens
    """
)
ORDINARY = {"may", "march"}
TEENTH = {word + "th": value for value, word in enumerate(SMALL.split()) if value > 12} | {"twelfth": 12}
TENTH = {"twentieth": 20, "thirtieth": 30}
BIRTH = (
    ("born",), ("birth",), ("birthday",), ("dob",), ("d", "o", "b"), ("date",), ("dated",), ("admitted",), ("discharged",),
    ("deceased",), ("died",), ("borne",), ("bourn",), ("birthdate",), ("day", "of", "birth"),
)  # fmt: skip
LOOK_BACK = 6
OLDEST, YOUNGEST_OF_THE_OLD = 125, 90
UNITS_OF_MEASURE = word_set(
    """
    percent per degrees degree dioptres dioptre diopters diopter mm millimetres millimeters millimetre microns micron cc
    ml seconds second minutes minute hertz pulses mmhg millimetres milliseconds days day weeks week hours hour times
    kilos beats over by point to and dot comma d centimetres cm microlitres milligrams mg knots vacuum power bottle
    centimeters eyes cases lenses thousand hundred litres torr
    """
)
PERSONS = word_set("woman man lady gentleman female male patient she he shes hes gentlemen grandmother grandfather")
AGED = frozenset(["aged", "age", "turned", "turning"])


class Read(NamedTuple):
    """A number read from tokens up to, not including, `last`."""

    value: int
    last: int
    ordinal: bool = False


def dated(text: Text) -> Iterator[Found]:
    """Every date, or part of one that is finer than a year, that is said in words."""
    index = 0
    while index < len(text.words):
        found = _date(text, index)
        if found is None:
            index += 1
            continue
        last, certainty = found
        yield Found(text.tokens[index].start, text.tokens[last - 1].end, Kind.DATE, "pattern", certainty)
        index = last


def _date(text: Text, at: int) -> tuple[int, float] | None:
    words = text.words
    word = words[at]
    if word in DAYS_OF_WEEK and at and words[at - 1] in BEFORE_WEEKDAY:
        return at + 1, 0.6
    for feast in FEASTS:
        if at and words[at - 1] in ("on", "last") and tuple(words[at : at + len(feast)]) == feast:
            return at + len(feast), 0.6
    if word in MONTHS or word in SHORT:
        return _month_first(text, at)
    day = day_at(words, at)
    if day is None:
        return None
    month_at = day.last + 1 if words[day.last : day.last + 1] in (["of"], ["in"]) else day.last
    if month_at < len(words) and (words[month_at] in MONTHS or (words[month_at] in SHORT and not day.ordinal)):
        modal = words[month_at] in ORDINARY and month_at == day.last and not _year_follows(words, month_at + 1)
        if not (modal and not day.ordinal and words[month_at] == "may"):
            return _with_year(words, month_at + 1), 0.98
    return _by_numbers(text, at, day)


def _month_first(text: Text, at: int) -> tuple[int, float] | None:
    """ "March the third, nineteen sixty", "October 2019", "in October"."""
    words, word = text.words, text.words[at]
    start = at + 2 if words[at + 1 : at + 2] == ["the"] else at + 1
    day = day_at(words, start)
    before = words[at - 1] if at else ""
    if day is not None and not _is_year(words, start):
        said_modal = word == "may" and day.last == start + 1 and words[start] in ORDINALS and before in MODAL
        measured = word in SHORT and day.last < len(words) and words[day.last] in UNITS_OF_MEASURE
        if not said_modal and not measured and not (word in SHORT and not words[start].isdigit() and not day.ordinal):
            return _with_year(words, day.last), 0.97
    if _is_year(words, at + 1):
        return _with_year(words, at + 1), 0.95
    if word in ORDINARY or word in SHORT:
        return (at + 1, 0.6) if before in BEFORE_MONTH and word in ORDINARY and before != "this" else None
    return at + 1, 0.75


def _by_numbers(text: Text, at: int, day: Read) -> tuple[int, float] | None:
    """ "Third of the fourth nineteen sixty", "oh three oh four sixty" behind a word of birth."""
    words = text.words
    birth = announced(words, at)
    index = day.last
    if words[index : index + 2] == ["of", "the"]:
        index += 2
    month = day_at(words, index)
    if month is None or (month.value > 12 and day.value > 12):
        return None
    last = _with_year(words, month.last)
    had_year = last > month.last
    firm = index > day.last and day.ordinal and month.ordinal and (had_year or birth) and words[at - 1 : at] != ["a"]
    return (last, 0.9) if firm or (birth and had_year) else None


def announced(words: list[str], at: int) -> bool:
    """Whether a word of birth or of a date stands shortly before a token."""
    before = words[max(0, at - LOOK_BACK) : at]
    return any(tuple(before[i : i + len(c)]) == c for c in BIRTH for i in range(len(before)))


def day_at(words: list[str], at: int) -> Read | None:
    """A day of the month, 1 to 31, in words or digits."""
    word = words[at] if at < len(words) else ""
    follows = words[at + 1] if at + 1 < len(words) else ""
    if word in ("oh", "o", "zero") and 0 < UNITS.get(follows, 0) < 10:
        return Read(UNITS[follows], at + 2)
    if word.isdecimal() and len(word) <= 2 and 1 <= int(word) <= 31:
        ordinal = follows in ("st", "nd", "rd", "th")
        return Read(int(word), at + 2 if ordinal else at + 1, ordinal)
    if word in ("twenty", "thirty"):
        base = TENS[word]
        if follows in ORDINALS and base + ORDINALS[follows] <= 31 and ORDINALS[follows] < 10:
            return Read(base + ORDINALS[follows], at + 2, True)
        if 0 < UNITS.get(follows, 0) < 10 and base + UNITS[follows] <= 31:
            return Read(base + UNITS[follows], at + 2)
        return Read(base, at + 1)
    for table in (ORDINALS, TEENTH, TENTH):
        if word in table:
            return Read(table[word], at + 1, True)
    return Read(UNITS[word], at + 1) if 0 < UNITS.get(word, 0) <= 19 else None


def year_at(words: list[str], at: int) -> Read | None:
    """A year of four digits: "1960", "nineteen sixty", "two thousand and four", "twenty nineteen"."""
    word = words[at] if at < len(words) else ""
    if word.isdecimal() and len(word) == 4 and 1880 <= int(word) <= 2100:
        return Read(int(word), at + 1)
    if word in ("nineteen", "twenty", "eighteen", "19", "20"):
        century = {"eighteen": 1800, "nineteen": 1900, "twenty": 2000, "19": 1900, "20": 2000}[word]
        rest = _two_digits(words, at + 1)
        if rest is not None and (rest.value > 9 or words[at + 1] in ("oh", "o", "zero", "hundred")):
            return Read(century + rest.value, rest.last)
    if word in ("two", "2") and words[at + 1 : at + 2] == ["thousand"]:
        skip = 1 if words[at + 2 : at + 3] == ["and"] else 0
        rest = _two_digits(words, at + 2 + skip)
        return Read(2000, at + 2) if rest is None else Read(2000 + rest.value, rest.last)
    return None


def _two_digits(words: list[str], at: int) -> Read | None:
    word = words[at] if at < len(words) else ""
    follows = words[at + 1] if at + 1 < len(words) else ""
    if word.isdecimal() and len(word) <= 2:
        return Read(int(word), at + 1)
    if word in ("oh", "o", "zero") and 0 < UNITS.get(follows, 0) < 10:
        return Read(UNITS[follows], at + 2)
    if word == "hundred":
        return Read(0, at + 1)
    if word in TENS:
        unit = UNITS.get(follows, 0)
        return Read(TENS[word] + unit, at + 2) if 0 < unit < 10 else Read(TENS[word], at + 1)
    return Read(UNITS[word], at + 1) if word in UNITS else None


def _is_year(words: list[str], at: int) -> bool:
    return year_at(words, at) is not None


def _year_follows(words: list[str], at: int) -> bool:
    return _is_year(words, at + 1 if words[at : at + 1] in (["of"], ["in"]) else at)


def _with_year(words: list[str], at: int) -> int:
    """Where a date ends: behind its year, if there is one; of two digits too."""
    index = at + 1 if words[at : at + 1] in (["of"], ["in"]) else at
    year = year_at(words, index)
    if year is not None:
        return year.last
    short = _two_digits(words, at)
    if short is None or not 10 <= short.value <= 99 or words[short.last : short.last + 1] == ["percent"]:
        return at
    follows = words[short.last] if short.last < len(words) else ""
    return at if follows in UNITS_OF_MEASURE else short.last


def aged(text: Text) -> Iterator[Found]:
    """Ages over 89: with "years old", "aged", "in her nineties", or said of a woman or a man."""
    words = text.words
    for index, word in enumerate(words):
        if word in ("nonagenarian", "centenarian", "nonagenarians", "supercentenarian"):
            yield Found(text.tokens[index].start, text.tokens[index].end, Kind.AGE, "pattern", 1.0)
        if word == "nineties" and index and words[index - 1] in ("her", "his", "their", "the", "mid", "early", "late"):
            yield Found(text.tokens[index].start, text.tokens[index].end, Kind.AGE, "pattern", 0.95)
        age = _old(words, index)
        if age is None or (
            index and words[index - 1] in ("hundred", "point", "and") and words[index - 2 : index - 1] != ["woman"]
        ):
            continue
        certainty = _said_as_age(text, index, age.last)
        if certainty:
            yield Found(text.tokens[index].start, text.tokens[age.last - 1].end, Kind.AGE, "pattern", certainty)


def _old(words: list[str], at: int) -> Read | None:
    word = words[at]
    if word.isdecimal() and len(word) <= 3:
        read = Read(int(word), at + 1)
    elif word == "ninety":
        unit = UNITS.get(words[at + 1], 0) if at + 1 < len(words) else 0
        read = Read(90 + unit, at + 2) if 0 < unit < 10 else Read(90, at + 1)
    elif word in ("hundred", "a", "one") and "hundred" in words[at : at + 2]:
        index = at + 1 if word == "hundred" else at + 2
        skip = 1 if words[index : index + 1] == ["and"] else 0
        rest = _two_digits(words, index + skip)
        read = Read(100 + rest.value, rest.last) if rest is not None and rest.value <= 20 else Read(100, index)
    else:
        return None
    return read if YOUNGEST_OF_THE_OLD <= read.value <= OLDEST else None


def _said_as_age(text: Text, first: int, last: int) -> float:
    words = text.words
    behind = words[last : last + 3]
    if behind[:2] in (["year", "old"], ["years", "old"], ["year", "olds"]) or behind == ["years", "of", "age"]:
        return 1.0
    if behind[:1] in (["yo"], ["yr"], ["yrs"], ["yearold"]) or behind[:2] in (
        ["y", "o"],
        ["years", "young"],
        ["yr", "old"],
    ):
        return 0.98
    before = words[max(0, first - 3) : first]
    free = not behind or behind[0] not in UNITS_OF_MEASURE or text.ends(last - 1)
    joined = (
        text.gaps[last - 1][:1] in (".", ":") and bool(behind) and behind[0].isdigit() and text.gaps[last - 1] != ". "
    )
    if not free or joined:
        return 0.0
    if AGED.intersection(before[-2:]):
        return 0.95
    spoken_of = PERSONS.intersection(before) and not {"of", "at", "to", "with"}.intersection(before[-1:])
    of_person = before[-1:] == ["of"] and PERSONS.intersection(before[-2:-1])
    return 0.8 if spoken_of or of_person else 0.0
