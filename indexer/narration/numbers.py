"""Spoken and written numbers: "five to five and a half", "two point eight", "two-eighty", "400", "80 to 90", "3 1/2".

A stretch of words may be read in more than one way ("two four" is 2.4 of a keratome and, elsewhere, two and then four);
a Number carries its readings, the most literal first, and the measure that it belongs to settles which one is meant.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal, NamedTuple

SMALL = """zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen
eighteen nineteen"""
UNITS = {word: value for value, word in enumerate(SMALL.split())} | {"oh": 0, "nought": 0, "nil": 0}
TENS = {
    word: 10 * value
    for value, word in enumerate(["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"], 2)
}
TENS |= {"fourty": 40, "fordy": 40, "wenty": 20, "whenty": 20, "twenny": 20}  # as they are often written down
IN_ORDER = "first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth"
ORDINALS = {word: value for value, word in enumerate(IN_ORDER.split(), 1)}
ENDINGS = ("st", "nd", "rd", "th")
SCALES = {"hundred": 100, "thousand": 1000}
POINTS = ("point", "comma", "dot")
PARTS = {"half": 0.5, "quarter": 0.25, "third": 1 / 3}
MANY_PARTS = {"quarters": 0.25, "thirds": 1 / 3, "tenths": 0.1, "halves": 0.5}
AFTER_FREE = frozenset([*SCALES, *TENS, *MANY_PARTS])
BEFORE_PART = (("and", "a"), ("and",), ("and", "one"), ("and", "1"), ("a",), ("in", "a"), ("end", "a"), ("an", "a"))
"""What stands before the part of "five and a half", as said and as misheard."""
SOUNDS_LIKE = {"to": 2, "too": 2, "for": 4, "fore": 4, "ate": 8, "won": 1, "free": 3, "tree": 3}
"""Small words that a recogniser writes for a number; they are one only before a decimal point."""
FREE = ("free", "tree")
"""Written for "three" often enough to be one before "hundred" and a number of tens as well, perhaps even alone."""
ISH = "ish"

Kind = Literal["count", "order", "part", "sound"]


class Number(NamedTuple):
    """Words `first` up to, not including, `last` say a number; each reading is (low, high), alike for a single number."""

    first: int
    last: int
    readings: tuple[tuple[float, float], ...]
    """The most literal first."""
    kind: Kind = "count"
    """`order` for "third", `part` for "three quarters", `sound` for a word that may be no number at all."""


class _Read(NamedTuple):
    last: int
    values: tuple[float, ...]
    kind: Kind = "count"


def numbers(texts: Sequence[str], gaps: Mapping[int, str] | None = None) -> list[Number]:
    """Every single number of a text, in order.

    `gaps` holds, for the index of a word, what the transcript writes between it and the next one; where a recogniser wrote
    "1/2" or "2-8" the words alone do not tell.
    """
    gaps = gaps or {}
    found: list[Number] = []
    index = 0
    while index < len(texts):
        if not may_begin(texts[index]):
            index += 1
            continue
        if gaps.get(index) == "/" and texts[index].isdigit() and not _is_part(texts, index):
            index += 2  # "20/25" is sight
            continue
        read = _single(texts, index, gaps)
        if read is None:
            index += 1
            continue
        found.append(Number(index, read.last, tuple((value, value) for value in read.values), read.kind))
        index = read.last
    return found


def may_begin(word: str) -> bool:
    """Whether a number may begin with this word."""
    return word in _BEGIN or word[0].isdigit() or word.endswith(ISH)


_BEGIN = frozenset([*UNITS, *TENS, *ORDINALS, *PARTS, *SOUNDS_LIKE, "a", "point", "hundred"])


def _single(texts: Sequence[str], at: int, gaps: Mapping[int, str]) -> _Read | None:
    """The number that begins at a word, with its fraction."""
    word = texts[at]
    follows = texts[at + 1] if at + 1 < len(texts) else ""
    if gaps.get(at) == "/" and _is_part(texts, at):
        return _Read(at + 2, (int(word) / int(follows),), "part")
    if word[0].isdigit() and follows in ENDINGS and gaps.get(at) == "":
        return _Read(at + 2, (float(int(word)),), "order") if word.isdigit() else None
    if word == "point":
        return _after_point(texts, at, gaps)
    if word in FREE and (follows in AFTER_FREE or (len(follows) == 2 and follows.isdigit())):
        three = "3" if follows.isdigit() else "three"
        return _single([*texts[:at], three, *texts[at + 1 : at + 6]], at, gaps)
    if word in SOUNDS_LIKE:
        sounded = _sounded(texts, at, gaps)
        return _Read(at + 1, (3.0,), "sound") if sounded is None and word in FREE else sounded
    if word in ORDINALS and (word not in PARTS or texts[at - 1 : at] != ["a"]):
        return _Read(at + 1, (float(ORDINALS[word]),), "order")
    share = _share(texts, at)
    if share is not None:
        return share
    if word.endswith(ISH) and word not in UNITS:
        stem = word[: -len(ISH)]
        about = UNITS.get(stem) or UNITS.get(stem + "e") or TENS.get(stem + "y")
        return None if about is None else _Read(at + 1, (float(about),))
    if word[0].isdigit() and not word.isdigit():
        value = written(word)
        return None if value is None else _with_fraction(texts, at + 1, (value,), gaps)
    whole = _cardinal(texts, at, gaps)
    return None if whole is None else _with_fraction(texts, whole.last, whole.values, gaps)


def _is_part(texts: Sequence[str], at: int) -> bool:
    """Whether two words that a stroke joins are a proper fraction, as in "1/2"."""
    above, below = texts[at], texts[at + 1] if at + 1 < len(texts) else ""
    return above.isdigit() and below in ("2", "3", "4", "8", "10") and 0 < int(above) < int(below)


def _after_point(texts: Sequence[str], at: int, gaps: Mapping[int, str]) -> _Read | None:
    if at + 1 >= len(texts) or not _is_digit(texts[at + 1]):
        return None
    decimals, last = _decimals(texts, at + 1, gaps)
    return _Read(last, (float(f"0.{decimals}"),))


def _sounded(texts: Sequence[str], at: int, gaps: Mapping[int, str]) -> _Read | None:
    """Numbers that sound like other words: "for point eight" is 4.8, "to point eight" 2.8 or 0.8."""
    if texts[at + 1 : at + 2] != ["point"]:
        return None
    rest = _after_point(texts, at + 1, gaps)
    return None if rest is None else _Read(rest.last, (rest.values[0] + SOUNDS_LIKE[texts[at]], rest.values[0]))


def _share(texts: Sequence[str], at: int) -> _Read | None:
    """Parts said by themselves: "half", "a quarter", "three quarters", "two thirds"."""
    word = texts[at]
    follows = texts[at + 1] if at + 1 < len(texts) else ""
    if word in PARTS:
        return _Read(at + 1, (PARTS[word],), "part")
    if word in ("a", "one") and follows in PARTS:
        return _Read(at + 2, (PARTS[follows],), "part")
    if follows in MANY_PARTS and (word in UNITS or word.isdigit()):
        return _Read(at + 2, (round((UNITS[word] if word in UNITS else int(word)) * MANY_PARTS[follows], 4),), "part")
    return None


def written(text: str) -> float | None:
    """A number in digits; a comma parts thousands where three digits follow it, else it is a decimal comma."""
    if "," in text:
        head, _, tail = text.partition(",")
        text = head + tail if len(tail) == 3 and head != "0" else f"{head}.{tail}"
    try:
        return float(text)
    except ValueError:
        return None


def _cardinal(texts: Sequence[str], at: int, gaps: Mapping[int, str]) -> _Read | None:
    """A whole number, and what else the same words may say: "two eighty" is 280, "two four" may be 2.4."""
    value, last = _small(texts, at)
    if value is None:
        return None
    word = texts[last] if last < len(texts) else ""
    if texts[at] == "hundred":
        return _scaled(texts, 100, last, thousands=False)
    if word == "and" and texts[at].isdigit() and value % 100 == 0 < value <= 1000:
        more, end = _small(texts, last + 1)
        if more and 10 <= more < 100 and (end >= len(texts) or texts[end] not in PARTS):
            return _Read(end, (float(value + more), float(value)))
    if word in SCALES:
        return _scaled(texts, value * SCALES[word], last + 1, thousands=word == "thousand")
    if word.isdigit() and len(word) == 3 and value < 10 and texts[at].isdigit():
        return _Read(last + 1, (float(value * 1000 + int(word)), float(value)))
    follows, end = _small(texts, last)
    if (
        follows is None
        or texts[last - 1] in TENS
        or follows > 99
        or gaps.get(last - 1, "").strip(" -")
        or gaps.get(end - 1) == "/"
    ):
        return _Read(last, (float(value),))
    alike = texts[at].isdigit() == texts[last].isdigit()  # a recogniser that writes digits writes "120"
    if 0 < value < 10 and follows >= 10 and alike:
        return _Read(end, (float(value * 100 + follows), float(f"{value}.{follows}")))
    if texts[last] in ("oh", "zero") and end < len(texts) and 0 < UNITS.get(texts[end], 0) < 10 and value < 10:
        return _Read(end + 1, (float(value * 100 + UNITS[texts[end]]), float(f"{value}.0{UNITS[texts[end]]}")))
    if texts[last] == "oh":
        return _Read(end, (float(value),))
    return _Read(last, (float(value),))


def _scaled(texts: Sequence[str], total: int, last: int, *, thousands: bool) -> _Read:
    """What follows "hundred" or "thousand": "and fifty", "five hundred"."""
    while last < len(texts):
        skip = 1 if texts[last] == "and" else 0
        more, end = _small(texts, last + skip)
        scale = texts[end] if end < len(texts) else ""
        if not more or (skip and scale in PARTS) or more > 99:
            break
        if scale == "hundred":
            if not thousands:
                break
            total, last, thousands = total + more * 100, end + 1, False
            continue
        if scale == "thousand":
            break
        return _Read(end, (float(total + more),))
    return _Read(last, (float(total),))


def _small(texts: Sequence[str], at: int) -> tuple[int | None, int]:
    """A number below a hundred in words, or any whole number in digits; with the place behind it."""
    if at >= len(texts):
        return None, at
    word = texts[at]
    if word in TENS:
        if at + 1 < len(texts) and 0 < UNITS.get(texts[at + 1], 0) < 10:
            return TENS[word] + UNITS[texts[at + 1]], at + 2
        return TENS[word], at + 1
    if word in UNITS and word != "nil":
        return UNITS[word], at + 1
    if word == "a" and texts[at + 1 : at + 2] and texts[at + 1] in SCALES:
        return 1, at + 1
    if word == "hundred" and texts[at - 1 : at] != ["a"]:
        return 100, at + 1
    if word.isdigit() and len(word) < 7:
        return int(word), at + 1
    return None, at


def _with_fraction(texts: Sequence[str], last: int, values: tuple[float, ...], gaps: Mapping[int, str]) -> _Read:
    """Add "point eight", "and a half", "1/2" to a number that ends before `last`."""
    rest = list(texts[last : last + 4])
    whole = values[0] == int(values[0])
    if whole and rest and rest[0].isdigit() and gaps.get(last - 1, "") in (" .", " ,"):
        return _Read(last + 1, (float(f"{int(values[0])}.{rest[0]}"),))
    if len(rest) > 1 and rest[0] in POINTS and whole and _is_digit(rest[1]):
        decimals, end = _decimals(texts, last + 1, gaps)
        return _Read(end, (float(f"{int(values[0])}.{decimals}"),))
    skip = 1 if rest[:1] == ["and"] else 0
    if whole and gaps.get(last + skip) == "/" and _is_part(texts, last + skip):
        return _Read(last + skip + 2, tuple(value + int(rest[skip]) / int(rest[skip + 1]) for value in values))
    for phrase in BEFORE_PART:
        size = len(phrase)
        if whole and tuple(rest[:size]) == phrase and len(rest) > size and rest[size] in PARTS:
            return _Read(last + size + 1, tuple(value + PARTS[rest[size]] for value in values))
    if whole and skip and len(rest) > 2 and rest[2] in MANY_PARTS and rest[1] in UNITS:
        return _Read(last + 3, tuple(value + UNITS[rest[1]] * MANY_PARTS[rest[2]] for value in values))
    if _lone_digit(texts, last, values, gaps):
        follows = texts[last]
        digit = UNITS[follows] if follows in UNITS else int(follows)
        return _Read(last + 1, (float(f"{int(values[0])}.{digit}"), values[0] * 10 + digit))
    return _Read(last, values)


def _lone_digit(texts: Sequence[str], at: int, values: tuple[float, ...], gaps: Mapping[int, str]) -> bool:
    """Whether a digit follows a lone digit, as in "two four"; what rises or falls by one is a range or a count."""
    if at >= len(texts) or len(values) != 1 or not 0 < values[0] < 10 or values[0] != int(values[0]):
        return False
    if gaps.get(at - 1, "").strip(" -") or gaps.get(at) == "/" or not _is_digit(texts[at]):
        return False
    digit = UNITS[texts[at]] if texts[at] in UNITS else int(texts[at])
    tail = tuple(texts[at + 1 : at + 3])
    # "Five, four and a half" and "five five point two" are two numbers.
    if tail[:1] in (("by",), ("over",)) or (at > 1 and texts[at - 2] in ("day", "week", "month")):
        return False  # "day one, six by nine"
    fraction = tail[:1] == ("point",) or tail in (("and", "a"), ("and", "half"), ("and", "quarter"))
    if digit > 9 or fraction:
        return False
    return digit != values[0] + 1 and (digit != 1 or texts[at].isdigit())


def _is_digit(word: str) -> bool:
    return word.isdigit() or word in UNITS or word in TENS


def _decimals(texts: Sequence[str], at: int, gaps: Mapping[int, str]) -> tuple[str, int]:
    """Digits behind a decimal point, spoken singly or as a number below a hundred."""
    if texts[at].isdigit():
        return texts[at], at + 1
    value, last = _small(texts, at)
    if value is None:
        value, last = UNITS[texts[at]], at + 1
    digits = str(value)
    while len(digits) < 3 and value < 10 and last < len(texts) and 0 <= UNITS.get(texts[last], -1) < 10:
        if gaps.get(last - 1, "").strip(" -"):
            break
        digits += str(UNITS[texts[last]])
        last += 1
    return digits, last
