"""Numbers with a meaning: which measure a number belongs to, by its unit, the words around it, and the step going on.

What speaks for a measure is data of the vocabulary: its unit's spoken forms, its range, the words that it is said with.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple
from weakref import WeakKeyDictionary

from indexer.models.tagged import Measure, Mention, Segment
from indexer.models.timed import Word
from indexer.narration.lexicon import form_words
from indexer.narration.numbers import Number, numbers
from indexer.narration.tokens import Tokens
from indexer.vocabulary.concepts import Concept
from indexer.vocabulary.vocabulary import Vocabulary

BELIEVED = 2.2
"""Log odds from which a number is taken as a measure."""
UNIT_SAID = 2.6
NAMED = 3.0
SAID_WITH = 2.4
FADES = 4.0
"""Words over which a neighbour's word fades by 1/e."""
REACH = 9
STEP_FITS = 0.8
USUAL = 0.6
PAUSE_MS = 2500
WHOLE_ONLY = ("vacuum", "patient-age", "bottle-height", "flow-rate", "hook-count", "endothelial-count", "cut-rate", "toric-axis")
DAYS = {"day": 1, "days": 1, "morning": 1, "week": 7, "weeks": 7, "fortnight": 14, "month": 30, "months": 30, "year": 365, "years": 365}
ORDINALS = {word: value for value, word in enumerate(["first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"], 1)}
SECONDS = {"minute": 60, "minutes": 60}


class _Heard(NamedTuple):
    """A vocabulary's measures made ready: their words, and for each word how many measures claim it."""

    measures: tuple[Concept, ...]
    units: dict[str, tuple[tuple[str, ...], ...]]
    names: dict[str, tuple[tuple[str, ...], ...]]
    company: dict[str, tuple[tuple[str, ...], ...]]
    claims: Counter[tuple[str, ...]]
    joins: frozenset[str]


_READY: WeakKeyDictionary[Vocabulary, _Heard] = WeakKeyDictionary()


def _ready(vocabulary: Vocabulary) -> _Heard:
    if vocabulary not in _READY:
        measures = tuple(vocabulary.of_facet("measure"))
        units = {m.id: tuple(form_words(form) for form in m.spoken_units) for m in measures}
        names = {m.id: tuple(form_words(form) for form in m.spoken) for m in measures}
        company = {m.id: tuple(form_words(form) for form in m.said_with) for m in measures}
        claims = Counter(words for many in company.values() for words in set(many))
        joins = frozenset(word for many in units.values() for words in many for word in words if len(words) == 1)
        _READY[vocabulary] = _Heard(measures, units, names, company, claims, joins)
    return _READY[vocabulary]


def measures_of(
    tokens: Tokens, words: Sequence[Word], vocabulary: Vocabulary, segments: Sequence[Segment], mentions: Sequence[Mention]
) -> list[Measure]:
    """The measures of a narration, in order."""
    heard = _ready(vocabulary)
    if not heard.measures:
        return []
    starts = [segment.start_ms for segment in segments]
    inside = {index for mention in mentions for index in range(mention.first_word, mention.last_word) if _is_thing(mention, vocabulary)}
    found = []
    for number in _candidates(tokens, heard):
        if tokens.words[number.first] in inside or _is_clock(tokens.texts, number):
            continue
        at = bisect_right(starts, tokens.starts_ms[number.first]) - 1
        step = segments[at].step if at >= 0 else None
        best = max(_judged(number, tokens, heard, step), default=None, key=lambda judged: judged[0])
        if best is not None and best[0] >= BELIEVED:
            found.append(_written(number, best, tokens, words))
    return found


def _is_thing(mention: Mention, vocabulary: Vocabulary) -> bool:
    """Whether a number inside this mention is part of a name ("ten-nought nylon", "fifteen degree blade")."""
    return vocabulary[mention.concept].facet in ("device", "agent")


def _is_clock(texts: Sequence[str], number: Number) -> bool:
    """Whether a number is a place on the clock face."""
    after = tuple(texts[number.last : number.last + 2])
    return after[:1] == ("oclock",) or after == ("o", "clock")


def _candidates(tokens: Tokens, heard: _Heard) -> Iterator[Number]:
    """All numbers, and the ways to tell a day without one ("next morning", "a fortnight", "third month")."""
    texts = tokens.texts
    taken: set[int] = set()
    for number in numbers(texts, heard.joins):
        taken.update(range(number.first, number.last))
        yield number
    for index, word in enumerate(texts[:-1]):
        if index in taken or index + 1 in taken:
            continue
        after = texts[index + 1]
        if (word in ORDINALS and after in DAYS) or (word == "next" and after in ("day", "morning")) or (word in ("a", "one") and after in DAYS):
            count = float(ORDINALS.get(word, 1))
            yield Number(index, index + 1, ((count, count),))


def _judged(number: Number, tokens: Tokens, heard: _Heard, step: str | None) -> Iterator[tuple[float, Concept, tuple[float, float]]]:
    """Log odds for each measure that the number may be, with the reading that fits it."""
    unit_size = {m.id: _unit_after(tokens.texts, number, heard.units[m.id]) for m in heard.measures}
    any_unit = max(unit_size.values(), default=0)
    for measure in heard.measures:
        if any_unit and not unit_size[measure.id]:
            continue
        scale = _scale(tokens.texts, number, measure)
        if scale is None:
            continue
        reading = _fitting(number, measure, scale)
        if reading is None:
            continue
        score = -0.4 + (UNIT_SAID if unit_size[measure.id] else 0.0) + _around(number, tokens, heard, measure.id)
        score += STEP_FITS if step in measure.steps else 0.0
        if measure.usual and measure.usual[0] <= reading[0] and reading[1] <= measure.usual[1]:
            score += USUAL
        yield score, measure, reading


def _unit_after(texts: Sequence[str], number: Number, units: Sequence[tuple[str, ...]]) -> int:
    """Words of the longest spoken unit that stands right behind the number, 0 for none."""
    sizes = [len(unit) for unit in units if unit and tuple(texts[number.last : number.last + len(unit)]) == unit]
    return max(sizes, default=0)


def _scale(texts: Sequence[str], number: Number, measure: Concept) -> float | None:
    """What a reading is multiplied by to be in the measure's unit, or None where the number cannot be this measure."""
    after = texts[number.last] if number.last < len(texts) else ""
    before = texts[number.first - 1] if number.first else ""
    if measure.unit == "d":
        unit = after if after in DAYS else before if before in DAYS else None
        return None if unit is None else float(DAYS[unit])
    if after in DAYS and after not in ("year", "years") and measure.unit != "a":
        return None
    if measure.unit == "s":
        return float(SECONDS.get(after, 1))
    return 1.0


def _fitting(number: Number, measure: Concept, scale: float) -> tuple[float, float] | None:
    """The first reading that is plausible for a measure; what is usual goes before what is merely possible."""
    low, high = measure.range or (-math.inf, math.inf)
    possible = [(a * scale, b * scale) for a, b in number.readings if low <= a * scale and b * scale <= high]
    if measure.id in WHOLE_ONLY:
        possible = [(a, b) for a, b in possible if a == int(a) and b == int(b)]
    if not possible:
        return None
    usual = measure.usual
    return next((r for r in possible if usual and usual[0] <= r[0] and r[1] <= usual[1]), possible[0])


def _around(number: Number, tokens: Tokens, heard: _Heard, measure: str) -> float:
    """What the neighbouring words say: the best of the measure's words on each side, the nearer the louder."""
    texts = tokens.texts
    low, high = _clause(tokens, number)
    best = {True: 0.0, False: 0.0}
    for weight, forms in ((NAMED, heard.names[measure]), (SAID_WITH, heard.company[measure])):
        for form in forms:
            size = len(form)
            if not size:
                continue
            rare = weight * (1.0 if weight == NAMED else heard.claims[form] ** -0.5) * (1.15 if size > 1 else 1.0)
            for at in range(low, high - size + 1):
                if texts[at] == form[0] and tuple(texts[at : at + size]) == form and not number.first <= at < number.last:
                    before = at < number.first
                    away = number.first - (at + size) if before else at - number.last + 1
                    best[before] = max(best[before], rare * math.exp(-max(0, away) / FADES))
    return max(best.values()) + 0.5 * min(best.values())


def _clause(tokens: Tokens, number: Number) -> tuple[int, int]:
    """Where the neighbourhood of a number begins and ends: some words to each side, no long pause between."""
    low = number.first
    while low > 0 and number.first - low < REACH and tokens.starts_ms[low] - tokens.ends_ms[low - 1] < PAUSE_MS:
        low -= 1
    high = number.last
    while high < len(tokens) and high - number.last < REACH - 3 and tokens.starts_ms[high] - tokens.ends_ms[high - 1] < PAUSE_MS:
        high += 1
    return low, high


def _written(number: Number, best: tuple[float, Concept, tuple[float, float]], tokens: Tokens, words: Sequence[Word]) -> Measure:
    score, measure, (low, high) = best
    first, last = tokens.words[number.first], tokens.words[number.last - 1] + 1
    return Measure(
        measure=measure.id,
        low=round(low, 3),
        high=round(high, 3),
        unit=measure.unit or "1",
        start_ms=tokens.starts_ms[number.first],
        end_ms=tokens.ends_ms[number.last - 1],
        first_word=first,
        last_word=last,
        heard=" ".join(word.text for word in words[first:last]),
        confidence=round(1 / (1 + math.exp(-(score - BELIEVED + 0.5))), 4),
    )
