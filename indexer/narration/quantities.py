"""Numbers as they are meant together: ranges, corrections, counting, times of two parts, and days told without a number."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from indexer.models.timed import Word
from indexer.narration.numbers import ORDINALS, Kind, Number, may_begin, numbers
from indexer.narration.tokens import Tokens
from indexer.vocabulary.words import WORD

LINKS = "to or by maybe perhaps even until till say about around almost up nearly and plus let me lets then"
BETWEEN = frozenset(LINKS.split())
"""Words that may stand between the two ends of a range; "not more than" may as well."""
MOST_BETWEEN = 5
MENDED = frozenset(
    tuple(said.split())
    for said in ("no", "sorry", "no sorry", "sorry no", "i mean", "no wait", "or rather", "rather", "er no")
)
"""What a speaker says who takes back a number and gives another one."""
DAYS = {"day": 1, "morning": 1, "week": 7, "fortnight": 14, "month": 30, "year": 365}
DAYS |= {f"{word}s": days for word, days in DAYS.items() if word != "morning"}
MINUTES = ("minute", "minutes", "min")
AFTERWARDS = ("later", "on", "after", "afterwards", "since", "postop", "postoperatively")
LIKE_DAY = ("may", "nay", "dae")
"""Written for "day" before a number."""
NEXT = ("next", "following")


class Quantity(NamedTuple):
    """Words `first` up to, not including, `last` say an amount; each reading is (low, high)."""

    first: int
    last: int
    readings: tuple[tuple[float, float], ...]
    kind: Kind
    units_at: tuple[int, ...]
    """Where the words of its unit may begin."""
    seconds: bool = False
    """Whether minutes and seconds have been added up."""
    counted: bool = False
    """Whether it ends a count aloud: "one, two, three"."""
    behind: str = ""
    """What the transcript writes right behind it: "%", ",", "."."""


def quantities(tokens: Tokens, words: Sequence[Word], unit_words: frozenset[str]) -> list[Quantity]:
    """Every amount of a narration, in order. `unit_words` are the single words of units."""
    texts = tokens.texts
    gaps = gaps_of(tokens, words)
    found = [_plain(number) for number in numbers(texts, gaps)]
    found = _two_parts(found, texts, unit_words)
    found = _joined(found, texts, gaps, unit_words)
    found = [one._replace(behind=gaps.get(one.last - 1, "")) for one in found]
    taken = {index for one in found for index in range(one.first, one.last)}
    return sorted([*found, *_days(texts, taken)], key=lambda one: one.first)


def gaps_of(tokens: Tokens, words: Sequence[Word]) -> dict[int, str]:
    """What the transcript writes behind the words that may be numbers, up to the next word: "/", "-", ",", "%"."""
    gaps: dict[int, str] = {}
    for index, text in enumerate(tokens.texts):
        if not may_begin(text):
            continue
        origin = tokens.words[index]
        own = words[origin].text
        pieces = list(WORD.finditer(own.casefold()))
        first = index
        while first and tokens.words[first - 1] == origin:
            first -= 1
        place = index - first
        if place >= len(pieces):
            continue
        if place + 1 < len(pieces):
            gaps[index] = own[pieces[place].end() : pieces[place + 1].start()]
        else:
            gaps[index] = own[pieces[place].end() :] + _until(tokens, words, index)
    return gaps


def _until(tokens: Tokens, words: Sequence[Word], index: int) -> str:
    """What the transcript writes between the word of a token and that of the next: a space, stray signs, leading signs."""
    if index + 1 >= len(tokens):
        return "".join(" " + word.text for word in words[tokens.words[index] + 1 :][:2])
    origin, coming = tokens.words[index], tokens.words[index + 1]
    stray = "".join(" " + word.text for word in words[origin + 1 : coming])
    first = WORD.search(words[coming].text)
    return stray + " " + words[coming].text[: first.start() if first else 0]


def _plain(number: Number) -> Quantity:
    return Quantity(number.first, number.last, number.readings, number.kind, (number.last,))


def _two_parts(found: Sequence[Quantity], texts: Sequence[str], unit_words: frozenset[str]) -> list[Quantity]:
    """Join "five seconds and a half", "one minute ten", "two minutes and five seconds"."""
    joined: list[Quantity] = []
    for one in found:
        before = joined[-1] if joined else None
        between = list(texts[before.last : one.first]) if before else []
        if before is None or before.kind != "count" or len(between) not in (1, 2) or before.seconds:
            joined.append(one)
        elif one.kind == "part" and between[-1] == "and" and between[0] in unit_words and len(between) == 2:
            readings = tuple((low + one.readings[0][0], high + one.readings[0][1]) for low, high in before.readings)
            joined[-1] = before._replace(last=one.last, readings=readings)
        elif between[0] in MINUTES and between[1:] in ([], ["and"]) and one.kind == "count" and one.readings[0][1] < 60:
            total = before.readings[0][0] * 60 + one.readings[0][0]
            joined[-1] = Quantity(before.first, one.last, ((total, total),), "count", (one.last,), seconds=True)
        else:
            joined.append(one)
    return joined


def _joined(
    found: Sequence[Quantity], texts: Sequence[str], gaps: Mapping[int, str], unit_words: frozenset[str]
) -> list[Quantity]:
    """Make ranges of pairs, drop what is taken back, and mark what ends a count aloud."""
    joined: list[Quantity] = []
    index = 0
    while index < len(found):
        size = _counting(found, texts, index)
        if size:
            joined += [*found[index : index + size - 1], found[index + size - 1]._replace(counted=True)]
            index += size
            continue
        one, other = found[index], found[index + 1] if index + 1 < len(found) else None
        if other is not None and tuple(texts[one.last : other.first]) in MENDED and _near(one, other, 0.6):
            index += 1  # taken back
            continue
        pair = None if other is None else _range(one, other, texts, gaps, unit_words)
        joined.append(pair or one)
        index += 2 if pair else 1
    return joined


def _counting(found: Sequence[Quantity], texts: Sequence[str], at: int) -> int:
    """How many amounts, from this one on, count up by one, each close behind the other; 0 for fewer than three."""
    size = 1
    while at + size < len(found):
        one, other = found[at + size - 1], found[at + size]
        if not any(low + 1 == after for low, _ in one.readings for after, _ in other.readings):
            break
        if other.first - one.last > (MOST_BETWEEN if size > 1 or one.readings[0][0] == 1 else 1):
            break
        if one.kind == "part":
            break
        size += 1
    return size if size > 2 else 0


def _near(one: Quantity, other: Quantity, share: float) -> bool:
    low, high = sorted((one.readings[0][0], other.readings[0][0]))
    return low < high and high - low <= max(1.0, share * high)


def _range(
    one: Quantity, other: Quantity, texts: Sequence[str], gaps: Mapping[int, str], unit_words: frozenset[str]
) -> Quantity | None:
    """The two ends of a range as one amount, where they lie near enough to each other and nothing parts them."""
    between = list(texts[one.last : other.first])
    limit = between[-1:] == ["than"] and bool({"no", "not"}.intersection(between))
    if len(between) > MOST_BETWEEN or not (limit or all(word in BETWEEN or word in unit_words for word in between)):
        return None
    if (one.kind == "order") != (other.kind == "order") or other.seconds or "." in gaps.get(one.last - 1, ""):
        return None
    if "and" in between and texts[one.first - 1 : one.first] != ["between"]:
        return None
    unit = next((word for word in between if word in unit_words), None)
    behind = texts[other.last] if other.last < len(texts) else ""
    unit = "percent" if unit is None and "%" in gaps.get(one.last - 1, "") else unit
    if unit is not None and one.first and texts[one.first - 1] == unit:
        return None  # "hook two, hook three"
    if unit != "percent" and unit is not None and behind in unit_words and behind.rstrip("s") != unit.rstrip("s"):
        return None
    alone = not between and one.last - one.first == 1 and other.last - other.first == 1
    for low, _ in one.readings:
        for high, _ in other.readings:
            ends = min(low, high), max(low, high)
            if 0 < ends[1] - ends[0] <= _widest(ends, bare=not between, unit=unit is not None) and not (
                alone and low == 1
            ):
                return one._replace(
                    last=other.last,
                    readings=(ends, *_run_together(one, other, texts)),
                    units_at=(other.last, one.last),
                )
    together = _run_together(one, other, texts) if between == ["to"] else ()
    return one._replace(last=other.last, readings=together, units_at=(other.last,)) if together else None


def _widest(ends: tuple[float, float], *, bare: bool, unit: bool) -> float:
    """How far apart the ends of a range may lie; "2.2 three" without a word between is hardly one."""
    if bare and ends[0] != int(ends[0]):
        return 0.5
    return max(1.0, (0.5 if unit else 0.35) * ends[1])


def _run_together(one: Quantity, other: Quantity, texts: Sequence[str]) -> tuple[tuple[float, float], ...]:
    """The other ways to read digits side by side: "7 8" and "7 to 8" for seventy-eight, "7 8" for 7.8, "70 80" for 78."""
    if not (texts[one.first].isdigit() and texts[other.first].isdigit()) or other.last - other.first > 1:
        return ()
    tens, ones, between = one.readings[0][0], other.readings[0][0], texts[one.last : other.first]
    if between not in ([], ["to"]):
        return ()
    if tens < 10 and ones < 10:
        return ((tens * 10 + ones,) * 2, *([] if between else [(tens + ones / 10,) * 2]))
    return ((tens + ones / 10,) * 2,) if not between and tens % 10 == 0 == ones % 10 and 20 <= tens < ones < 100 else ()


def _days(texts: Sequence[str], taken: set[int]) -> Iterator[Quantity]:
    """Days and weeks told without a number: "next morning", "a fortnight", "month later", "tomorrow"."""
    for index, word in enumerate(texts):
        if index in taken or index - 1 in taken or (word not in DAYS and word != "tomorrow"):
            continue
        before = texts[index - 1] if index else ""
        after = texts[index + 1] if index + 1 < len(texts) else ""
        if before == "a" and texts[max(0, index - 2) : index - 1] == ["half"]:
            continue
        if before in ("a", "one", *(NEXT if DAYS.get(word) == 1 else ())) or after in AFTERWARDS or word == "tomorrow":
            if (index + 1 in taken and before not in NEXT) or before in ORDINALS:
                continue
            first = index - 1 if before in ("a", *NEXT) else index
            yield Quantity(first, index if first < index else index + 1, ((1.0, 1.0),), "count", (index,))
