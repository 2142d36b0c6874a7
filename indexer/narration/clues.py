"""What speaks for an amount being this measure or that: its unit, the words and namings around it, the step, its size.

There are two kinds of clue. Shared ones are about how an amount fits what the vocabulary says of a measure, so that they
hold for any vocabulary. Context clues are the very words around; what they say of each measure has to be learned.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from indexer.models.tagged import Mention, Segment
from indexer.models.timed import Word
from indexer.narration.lexicon import form_words
from indexer.narration.mishearing import misheard
from indexer.narration.quantities import DAYS, LIKE_DAY, MINUTES, Quantity, quantities
from indexer.narration.surroundings import AGAIN_MS, Seen, Surroundings, holding, near, reach
from indexer.narration.tokens import Tokens
from indexer.vocabulary.concepts import Concept
from indexer.vocabulary.vocabulary import Vocabulary

FADES = 4.0
"""Words over which a neighbour fades by 1/e."""
SAID_MS = 45_000
MONTHS_YEAR = 360
"""Parts of a year are told in months of thirty days."""
HOURS = ("hour", "hours")
TWENTIES = (2015, 2020, 2025, 2030, 2040, 2050, 2060, 2070, 2080, 2100)
"""Sight in feet, its two numbers run together."""
SIGHT = ("by", "over", "x")
MINUS = ("minus", "negative")


class Form(NamedTuple):
    """Words that stand for a measure: its name, or what a number of it is said with."""

    words: tuple[str, ...]
    measure: int
    role: str
    """`name`, `short` for a word of a name that stands for it, `with` for company."""
    weight: float


class Reading(NamedTuple):
    """One thing that an amount may be: `measure` is an index, -1 for no measure at all."""

    measure: int
    low: float
    high: float
    clues: dict[str, float]


class Clues:
    """The measures of a vocabulary, made ready."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.measures: tuple[Concept, ...] = tuple(vocabulary.of_facet("measure"))
        self._units: dict[str, list[tuple[tuple[str, ...], int]]] = defaultdict(list)
        self._one_word_units: list[set[str]] = [set() for _ in self.measures]
        for index, one in enumerate(self.measures):
            for words in filter(None, map(form_words, one.spoken_units)):
                self._units[words[0]].append((words, index))
                if len(words) == 1:
                    self._one_word_units[index].add(words[0])
        self._percent = [one.unit == "%" for one in self.measures]
        self.unit_words = frozenset().union(*self._one_word_units)
        steps = Counter(step for one in self.measures for step in one.steps)
        self._special = [{step for step in one.steps if steps[step] == 1} for one in self.measures]
        self._things = frozenset(one.id for facet in ("device", "agent") for one in vocabulary.of_facet(facet))
        self._forms: dict[str, list[Form]] = defaultdict(list)
        for form in _forms(self.measures):
            self._forms[form.words[0]].append(form)

    def surroundings(
        self, tokens: Tokens, words: Sequence[Word], segments: Sequence[Segment], mentions: Sequence[Mention]
    ) -> Surroundings:
        """Find the amounts of a narration and what goes on around them."""
        amounts = quantities(tokens, words, self.unit_words)
        starts = [segment.start_ms for segment in segments]
        places = [bisect_right(starts, tokens.starts_ms[amount.first]) - 1 for amount in amounts]
        steps = [segments[place].step if place >= 0 else None for place in places]
        named = []
        for mention in mentions:
            first = bisect_right(tokens.words, mention.first_word - 1)
            named.append((first, bisect_right(tokens.words, mention.last_word - 1), mention.concept))
        return Surroundings(
            tokens, words, amounts, steps, sorted(named), frozenset(segment.step for segment in segments)
        )

    def readings(self, around: Surroundings, index: int, before: Sequence[Seen]) -> list[Reading]:
        """What an amount may be, the reading as no measure first."""
        amount, texts = around.amounts[index], around.tokens.texts
        low, high = reach(around.tokens, amount)
        company = self._company(around, index, low, high)
        named = near(around.named, low, high)
        units = self._units_after(texts, amount)
        values = _values(amount, texts)
        minus = amount.first > 0 and texts[amount.first - 1] in MINUS
        found = [Reading(-1, 0.0, 0.0, self._nothing(around, amount, max(units, default=0)))]
        for measure, concept in enumerate(self.measures):
            scale = _scale(around, index, concept)
            if scale is None:
                continue
            shared = self._unit_clues(measure, units, texts, amount)
            shared |= {name: value for (of, name), value in company.items() if of == measure}
            shared |= _context_clues(concept, around.steps[index], named)
            if around.all_steps & self._special[measure]:
                shared["its own step in the case"] = 1.0
            sign = -1 if minus and concept.range and concept.range[0] < 0 else 1
            for first, second, how in values:
                ends = (first * scale, second * scale) if sign > 0 else (-second * scale, -first * scale)
                if concept.range is None or (concept.range[0] <= ends[0] and ends[1] <= concept.range[1]):
                    own = _size_clues(concept, amount, ends, how)
                    own |= _before_clues(measure, ends, before, around.tokens.starts_ms[amount.first])
                    found.append(Reading(measure, ends[0], ends[1], shared | own))
        return found

    def _units_after(self, texts: Sequence[str], amount: Quantity) -> list[int]:
        """For each measure, words of its unit behind the amount, 0 for none; a day may be told before it as well."""
        sizes = [1 if percent and "%" in amount.behind else 0 for percent in self._percent]
        for at in amount.units_at:
            place = at + (1 if amount.kind == "part" and texts[at : at + 1] in (["a"], ["an"]) else 0)
            for words, measure in self._units.get(texts[place], ()) if place < len(texts) else ():
                if len(words) > sizes[measure] and tuple(texts[place : place + len(words)]) == words:
                    sizes[measure] = len(words)
        places = [at for at in (*amount.units_at, amount.first - 1) if 0 <= at < len(texts)]
        if any(texts[at] in DAYS for at in places):
            sizes = [size or int(one.unit == "d") for size, one in zip(sizes, self.measures, strict=True)]
        return sizes

    def _unit_clues(
        self, measure: int, units: Sequence[int], texts: Sequence[str], amount: Quantity
    ) -> dict[str, float]:
        before = texts[amount.first - 1] if amount.first else ""
        if not units[measure]:
            if before in self._one_word_units[measure]:
                return {"unit before": 1.0}
            return {"other unit": 1.0} if max(units) else {"no unit": 1.0}
        sharing = sum(1 for size in units if size == max(units)) if units[measure] == max(units) else len(units)
        return {"unit": 1.0, "unit of few": 1.0 / sharing, "longer unit elsewhere": float(units[measure] < max(units))}

    def _company(self, around: Surroundings, index: int, low: int, high: int) -> dict[tuple[int, str], float]:
        """For each measure, how loud its name and its company are on each side, the nearer the louder."""
        amount, texts = around.amounts[index], around.tokens.texts
        past = around.amounts[index - 1].last if index else 0
        coming = around.amounts[index + 1].first if index + 1 < len(around.amounts) else len(texts)
        best: dict[tuple[int, str], float] = {}
        for at in range(low, high):
            if amount.first <= at < amount.last:
                continue
            for form in self._forms.get(texts[at], ()):
                size = len(form.words)
                if at + size > high or (size > 1 and tuple(texts[at : at + size]) != form.words):
                    continue
                side = "<" if at < amount.first else ">"
                away = amount.first - at - size if side == "<" else at - amount.last
                loud = form.weight * (1.15 if size > 1 else 1.0) * math.exp(-max(0, away) / FADES)
                clear = at >= past if side == "<" else at + size <= coming
                name = f"{form.role} {side}{'' if clear else ' another between'}"
                if loud > best.get((form.measure, name), 0.0):
                    best[form.measure, name] = loud
        for side in "<>":
            clear_ones = [(measure, value) for (measure, name), value in best.items() if name.endswith(side)]
            loudest = max((value for _, value in clear_ones), default=0.0)
            best |= {(measure, f"nearest {side}"): 1.0 for measure, value in clear_ones if value >= loudest - 1e-9}
        return best

    def _nothing(self, around: Surroundings, amount: Quantity, unit: int) -> dict[str, float]:
        """What speaks for a number that is no measure."""
        texts = around.tokens.texts
        after = texts[amount.last] if amount.last < len(texts) else ""
        value = amount.readings[0][0]
        clues = {"nothing": 1.0} | _clock_clues(texts, amount, unit) | _sight_clues(texts, amount)
        if after.endswith("s") and len(after) > 3 and after not in self.unit_words and not amount.behind.strip():
            clues["things counted"] = 1.0
        if any(concept in self._things for concept in holding(around.named, amount)):
            clues["in a thing's name"] = 1.0
        if not unit and value == int(value) and value <= 12:
            clues["small count"] = 1.0
        if not unit and value == 1 and amount.last - amount.first == 1:
            clues["one"] = 1.0
        if amount.kind != "count":
            clues[f"nothing, {amount.kind}"] = 1.0
        return clues


def _clock_clues(texts: Sequence[str], amount: Quantity, unit: int) -> dict[str, float]:
    """Whether it is a place on the clock face."""
    after = tuple(texts[amount.last : amount.last + 2])
    if after[:1] == ("oclock",) or after == ("o", "clock"):
        return {"clock": 1.0}
    value = amount.readings[0][0]
    hour = not unit and value == int(value) and 0 < value <= 12
    half_past = value % 100 == 30 and 100 < value < 1300
    at = list(texts[amount.first - 1 : amount.first]) == ["at"]
    return {"clock perhaps": 1.0} if at and (hour or half_past) else {}


def _sight_clues(texts: Sequence[str], amount: Quantity) -> dict[str, float]:
    """Whether it is how well the eye sees: "six by nine", "twenty thirty"."""
    value = amount.readings[0][0]
    before = texts[max(0, amount.first - 2) : amount.first]
    clues = {}
    apart = value in (6.0, 20.0) and amount.last < len(texts) and texts[amount.last] in SIGHT
    if apart or (len(before) == 2 and before[1] in SIGHT and before[0] in ("six", "6", "twenty", "20")):
        clues["sight"] = 1.0
    ends = any(first in (6.0, 20.0) and first < second for first, second in amount.readings)
    if ends or 600 <= value <= 660 or value in TWENTIES:
        clues["sight together"] = 1.0
    return clues


def _forms(measures: Sequence[Concept]) -> Iterator[Form]:
    """What measures are called and said with. What many measures claim says less of each."""
    names = [{form_words(form) for form in (*one.spoken, *one.heard_as)} for one in measures]
    parts = [{word for form in one.spoken for word in form_words(form)} for one in measures]
    company = [{form_words(form) for form in one.said_with} for one in measures]
    claims = Counter(words for many in company for words in many)
    shares = Counter(word for many in parts for word in many)
    for index in range(len(measures)):
        for words in sorted(names[index] | company[index]):
            if not words:
                continue
            if words in names[index]:
                yield Form(words, index, "name", 1.0)
            elif len(words) == 1 and words[0] in parts[index]:
                yield Form(words, index, "short", shares[words[0]] ** -0.5)
            else:
                yield Form(words, index, "with", claims[words] ** -0.5)


def _values(amount: Quantity, texts: Sequence[str]) -> list[tuple[float, float, str]]:
    """The values that an amount may have, and how each came about; none twice."""
    heard = [(low, high, "second reading" if rank else "") for rank, (low, high) in enumerate(amount.readings)]
    found: dict[tuple[float, float], tuple[float, float, str]] = {}
    for one in (*heard, *misheard(amount, texts)):
        found.setdefault(one[:2], one)
    return list(found.values())


def _scale(around: Surroundings, index: int, measure: Concept) -> float | None:
    """What a reading is multiplied by to be in the measure's unit, or None where the amount cannot be this measure."""
    amount, texts = around.amounts[index], around.tokens.texts
    at = amount.units_at[0]
    if amount.kind == "part" and texts[at : at + 1] in (["a"], ["an"]):
        at += 1
    after = texts[at] if at < len(texts) else ""
    if measure.unit == "d":
        return _scale_in_days(around, index, after)
    if amount.seconds:
        return 1.0 if measure.unit == "s" else None
    if after in DAYS and not (measure.unit == "a" and after in ("year", "years")):
        return None
    if amount.kind == "order":
        return 1.0 if (measure.unit or "").startswith("{") and amount.counted else None
    if measure.unit == "s" and after in MINUTES:
        return 60.0
    if measure.unit == "%" and amount.kind == "part":
        return 100.0
    return 1.0


def _scale_in_days(around: Surroundings, index: int, after: str) -> float | None:
    amount, texts = around.amounts[index], around.tokens.texts
    if after == "tomorrow":
        return 1.0
    if after in DAYS:
        return float(MONTHS_YEAR if amount.kind == "part" and DAYS[after] == DAYS["year"] else DAYS[after])
    if after in HOURS and amount.readings[0][0] % 24 == 0:
        return 1 / 24
    before = texts[amount.first - 1] if amount.first else ""
    # In "first day eighteen" the day has its number already.
    free = not index or around.amounts[index - 1].units_at[0] < amount.first - 1
    if before in LIKE_DAY and free and 1 <= amount.readings[0][0] <= 10:
        return 1.0
    return float(DAYS[before]) if before in DAYS and before != "morning" and free and amount.kind == "count" else None


def _context_clues(measure: Concept, step: str | None, named: set[str]) -> dict[str, float]:
    clues = {"step": 1.0} if step in measure.steps else {"another step": 1.0} if step else {}
    if named.intersection(measure.steps):
        clues["its step named"] = 1.0
    return clues


def _size_clues(measure: Concept, amount: Quantity, ends: tuple[float, float], how: str) -> dict[str, float]:
    """How the size of the amount fits the measure."""
    clues = {how: 1.0} if how else {}
    if measure.usual is not None:
        low, high = measure.usual
        clues["usual" if low <= ends[0] and ends[1] <= high else "unusual"] = 1.0
        counted = (measure.unit or "").startswith("{") and all(end == int(end) for end in measure.range or (0.5,))
        if (counted or high - low >= 12) and ends[0] != int(ends[0]):
            clues["too fine"] = 1.0
        beyond = max(low - ends[0], ends[1] - high, 0.0) / max(high - low, 0.1 * high, 1e-6)
        clues["how unusual"] = min(beyond, 3.0)
    if amount.kind in ("part", "sound"):
        clues[amount.kind] = 1.0
    if amount.counted and (measure.unit or "").startswith("{"):
        clues["counted"] = 1.0
    if ends[0] < ends[1]:
        clues["range"] = 1.0
    return clues


def _before_clues(measure: int, ends: tuple[float, float], before: Sequence[Seen], now_ms: int) -> dict[str, float]:
    """What was found just before: the same measure again, or another one of a list."""
    clues: dict[str, float] = {}
    if before and now_ms - before[-1].start_ms < AGAIN_MS:
        clues["again" if before[-1].measure == measure else "after another"] = 1.0
    for seen in before:
        if now_ms - seen.start_ms < SAID_MS and seen.measure == measure:
            clues["said before"] = 1.0
            if (seen.low, seen.high) == ends:
                clues["said before alike"] = 1.0
    return clues
