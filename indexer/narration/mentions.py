"""From hits and the reader's word on them to mentions: which concept is named where, and how it is meant."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from indexer.models.tagged import AssertionKind, Evidence, GivenMention, Mention, Standing
from indexer.models.timed import Word
from indexer.narration.lexicon import Hit, Kind
from indexer.narration.rareness import rareness
from indexer.narration.reader import ASSERTIONS, Reader, Reading
from indexer.narration.tokens import Tokens

Flags = npt.NDArray[np.bool_]
Odds = npt.NDArray[np.float32]

BELIEVED = {Kind.SPOKEN: -1.0, Kind.VERB: -1.0, Kind.LOOSE: -0.4, Kind.HEARD_AS: -0.8, Kind.SOUND: -0.5}
UNHEARD = 0.0
"""Log odds from which a run of tokens is taken as a naming, by the surest hit of the vocabulary under it, or with none."""
MODEST_SCALE, MODEST_SHIFT = 0.61, 1.18
"""The reader is too modest: log odds so corrected are as often right as they say, measured on narrations left out of its
learning (`tests/learning/reliability.py`)."""
EDGE = 0.7
"""Tokens at the ends of a run that lie so far below what is believed are cut off."""
BEGINS = 3.5
"""Log odds from which a token begins a naming of its own within a run."""
SURE = {Kind.SPOKEN: 0.85, Kind.VERB: 0.75, Kind.HEARD_AS: 0.55, Kind.SOUND: 0.5, Kind.LOOSE: 0.4}
"""How often a hit is a true naming where no reader has been taught: common practice, no source."""
ARTICLES = frozenset(("the", "a", "an"))
ASSIGNED = 0.95
"""How sure a form is that a person assigned."""
SOUND_ALONE = 0.16
"""Largest distance at which a sound is believed without a reader."""
ORDINARY = 0.5
"""Rareness up to which words are believed, without a reader, to be what they are."""


class Named(NamedTuple):
    """Tokens `first` up to, not including, `last` name a concept."""

    first: int
    last: int
    concept: str
    confidence: float


def read_namings(reading: Reading, reader: Reader, taggable: Sequence[bool], hits: Sequence[Hit]) -> list[Named]:
    """The namings that the reader believes in; `taggable` says which of its concepts may be mentioned at all."""
    surest: dict[tuple[str, int], Kind] = {}
    for hit in hits:
        if hit.kind is not Kind.CUE:
            for token in range(hit.first, hit.last):
                key = (hit.concept, token)
                surest[key] = min(hit.kind, surest.get(key, Kind.CUE))
    lowest = min(*BELIEVED.values(), UNHEARD)
    found = []
    for number in np.nonzero((reading.concepts > lowest).any(0))[0]:
        if not taggable[int(number)]:
            continue
        odds, concept = reading.concepts[:, number], reader.concepts[int(number)]
        for first, last in _runs(odds > lowest, reading.begins > BEGINS):
            kind = min(surest.get((concept, token), Kind.CUE) for token in range(first, last))
            believed = BELIEVED.get(kind, UNHEARD)
            if odds[first:last].max() > believed:
                first, last = _trimmed(odds, first, last, believed - EDGE)
                found.append(Named(first, last, concept, _chance(float(odds[first:last].mean()))))
    return sorted(found)


def _chance(odds: float) -> float:
    """How often a naming is true that the reader gives these log odds."""
    return 1 / (1 + math.exp(-(MODEST_SCALE * odds + MODEST_SHIFT)))


def _trimmed(odds: Odds, first: int, last: int, least: float) -> tuple[int, int]:
    """A run without the faint tokens at its ends."""
    while first < last - 1 and odds[first] <= least:
        first += 1
    while last - 1 > first and odds[last - 1] <= least:
        last -= 1
    return first, last


def _runs(believed: Flags, begins: Flags) -> Iterator[tuple[int, int]]:
    """Stretches of believed tokens, cut where a new naming begins."""
    first = None
    for index, on in enumerate(believed):
        if on and first is None:
            first = index
        elif first is not None and (not on or begins[index]):
            yield first, index
            first = index if on else None
    if first is not None:
        yield first, len(believed)


def plain_namings(hits: Iterable[Hit], learned: Callable[[str], bool], texts: Sequence[str]) -> list[Named]:
    """Namings by the vocabulary alone, for concepts that no reader has learned: the longest hit wins, the surer of two alike.

    What is found as it is written goes before what only sounds alike. Loose forms count where a surer form of the same
    concept was found earlier.
    """
    candidates = [
        hit
        for hit in hits
        if hit.kind is not Kind.CUE
        and not learned(hit.concept)
        and (hit.kind is not Kind.SOUND or _sounds_enough(hit, texts))
    ]
    candidates.sort(
        key=lambda hit: (hit.kind is Kind.SOUND, -(hit.last - hit.first), hit.kind, hit.distance, hit.first)
    )
    named_at: dict[str, int] = {}
    for hit in candidates:
        if hit.kind in (Kind.SPOKEN, Kind.VERB, Kind.HEARD_AS):
            named_at[hit.concept] = min(hit.first, named_at.get(hit.concept, hit.first))
    taken: set[int] = set()
    found = []
    for hit in candidates:
        if taken.isdisjoint(range(hit.first, hit.last)):
            if hit.kind is Kind.LOOSE and named_at.get(hit.concept, math.inf) > hit.first:
                continue
            taken.update(range(hit.first, hit.last))
            found.append(Named(hit.first, hit.last, hit.concept, SURE[hit.kind] * (1 - hit.distance)))
    return sorted(found)


def _sounds_enough(hit: Hit, texts: Sequence[str]) -> bool:
    """Whether words are near enough to a term, and odd enough as they stand, to be that term misheard."""
    return hit.distance <= SOUND_ALONE and max(map(rareness, texts[hit.first : hit.last])) > ORDINARY


def assign(namings: Sequence[Named], assigned: Sequence[Hit]) -> list[Named]:
    """Namings with those that a person's assigned forms make, which take the place of what was read on the same words."""
    kept = [
        one
        for one in namings
        if not any(hit.first < one.last and one.first < hit.last and hit.concept == one.concept for hit in assigned)
    ]
    return sorted([*kept, *(Named(hit.first, hit.last, hit.concept, ASSIGNED) for hit in assigned)])


def mentions_of(
    namings: Sequence[Named],
    tokens: Tokens,
    words: Sequence[Word],
    hits: Sequence[Hit],
    assertion: Callable[[Named], tuple[AssertionKind, float]],
) -> list[Mention]:
    """Write namings down as mentions, with the words as they were heard and what led to them."""
    by_place: dict[str, list[Hit]] = {}
    for hit in hits:
        by_place.setdefault(hit.concept, []).append(hit)
    found = []
    for naming in (_without_article(one, tokens) for one in namings):
        first, last = tokens.words[naming.first], tokens.words[naming.last - 1] + 1
        heard = " ".join(word.text for word in words[first:last])
        kind, sure = assertion(naming)
        found.append(
            Mention(
                concept=naming.concept,
                assertion=kind,
                start_ms=tokens.starts_ms[naming.first],
                end_ms=tokens.ends_ms[naming.last - 1],
                first_word=first,
                last_word=last,
                heard=heard,
                confidence=round(naming.confidence, 4),
                assertion_confidence=round(sure, 4),
                evidence=(_evidence(naming, heard, by_place.get(naming.concept, []), tokens),),
            )
        )
    return sorted(found, key=lambda mention: (mention.start_ms, mention.end_ms, mention.concept))


def _without_article(naming: Named, tokens: Tokens) -> Named:
    """The naming without an article before its first word."""
    first = naming.first
    while first < naming.last - 1 and tokens.texts[first] in ARTICLES:
        first += 1
    return naming._replace(first=first)


def _evidence(naming: Named, heard: str, hits: Sequence[Hit], tokens: Tokens) -> Evidence:
    """The surest hit under a naming: by its words, or by their sound."""
    under = [hit for hit in hits if hit.kind is not Kind.CUE and hit.first < naming.last and hit.last > naming.first]
    best = min(under, key=lambda hit: (hit.kind, hit.distance), default=None)
    weight = math.log(max(naming.confidence, 1e-3) / max(1 - naming.confidence, 1e-3))
    sounds = best is None or best.kind in (Kind.SOUND, Kind.HEARD_AS)
    return Evidence(
        kind="sound" if sounds else "word", text=heard, start_ms=tokens.starts_ms[naming.first], weight=round(weight, 2)
    )


def read_assertion(naming: Named, reading: Reading) -> tuple[AssertionKind, float]:
    """How the reader takes a naming: the assertion that its tokens agree on best."""
    mean = reading.assertions[naming.first : naming.last].mean(0)
    best = int(mean.argmax())
    return ASSERTIONS[best], float(np.exp(mean[best]) / np.exp(mean).sum())


def with_given(mentions: Sequence[Mention], given: Sequence[GivenMention], words: Sequence[Word]) -> list[Mention]:
    """Put what people decided in the place of what was heard there.

    A decision on a stretch of words takes away every proposal of the same concept that lies on them, one that accepts
    also what else was read from the very same words, and one that says that the words name nothing every proposal at all.
    """
    kept = [
        mention
        for mention in mentions
        if not any(
            one.start_ms < mention.end_ms
            and mention.start_ms < one.end_ms
            and (
                one.concept is None
                or one.concept == mention.concept
                or (one.heard == mention.heard and not one.refused)
            )
            for one in given
        )
    ]
    for one in given:
        inside = [
            index for index, word in enumerate(words) if word.start_ms < one.end_ms and one.start_ms < word.end_ms
        ]
        if one.concept is not None and not one.refused and inside:
            kept.append(
                Mention(
                    concept=one.concept,
                    assertion=one.assertion or AssertionKind.DONE,
                    start_ms=one.start_ms,
                    end_ms=one.end_ms,
                    first_word=inside[0],
                    last_word=inside[-1] + 1,
                    heard=one.heard,
                    confidence=1.0,
                    evidence=(Evidence(kind="person", text=one.heard or "decided by a person", start_ms=one.start_ms),),
                    standing=Standing.ACCEPTED,
                )
            )
    return sorted(kept, key=lambda mention: (mention.start_ms, mention.end_ms, mention.concept))
