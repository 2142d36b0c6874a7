"""Which findings this eye has, from how they are spoken of and from what was measured.

A finding told as a state of this eye counts, and so does one of its history ("he had a vitrectomy"). One that is only
weighed, compared or denied does not, unless it is doubtful that this was meant. A measure may show a finding without its
name ("axial length thirty-one"); which values show what is data, with how often that was right.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from importlib import resources
from typing import NamedTuple

from indexer.models.tagged import AssertionKind, Evidence, FoundFinding, Measure, Mention
from indexer.vocabulary.vocabulary import Vocabulary

BELIEVED = 0.55
"""Probability from which a finding is proposed: a person can strike a false one sooner than find a missing one."""
HISTORY = 0.8
"""Chance that what is told as earlier is true of the eye still."""
MEANT_AFTER_ALL = 0.5
"""Of the chance that an assertion was misread, the share in which the finding is there."""


class Shown(NamedTuple):
    """Values of a measure that show a finding."""

    measure: str
    finding: str
    low: float
    high: float
    chance: float


class _Reason(NamedTuple):
    finding: str
    chance: float
    text: str
    start_ms: int


def findings_of(
    mentions: Sequence[Mention], vocabulary: Vocabulary, measures: Sequence[Measure] = ()
) -> list[FoundFinding]:
    """The findings that this eye is said or measured to have; a narrower one brings its broader one along.

    The chance that none of the reasons holds is the chance that the eye has it not.
    """
    reasons = [*_named(mentions, vocabulary), *_measured(measures, vocabulary)]
    missed: dict[str, float] = {}
    best: dict[str, _Reason] = {}
    for reason in reasons:
        for concept in _with_broader(reason.finding, vocabulary):
            missed[concept] = missed.get(concept, 1.0) * (1 - reason.chance)
            if concept not in best or reason.chance > best[concept].chance:
                best[concept] = reason
    sure = {concept: 1 - chance for concept, chance in missed.items() if 1 - chance >= BELIEVED}
    return [
        FoundFinding(concept=concept, confidence=round(sure[concept], 4), evidence=(_because(best[concept]),))
        for concept in sorted(sure)
        if not _outdone(concept, sure, vocabulary)
    ]


def _named(mentions: Sequence[Mention], vocabulary: Vocabulary) -> Iterator[_Reason]:
    for mention in mentions:
        if mention.concept in vocabulary and vocabulary[mention.concept].facet == "finding":
            chance = mention.confidence * _meant(mention)
            yield _Reason(mention.concept, chance, mention.heard, mention.start_ms)


def _meant(mention: Mention) -> float:
    """The chance that a finding named so is there."""
    sure = mention.assertion_confidence
    if mention.assertion is AssertionKind.DONE:
        return sure
    if mention.assertion is AssertionKind.EARLIER:
        return sure * HISTORY
    return (1 - sure) * MEANT_AFTER_ALL


def _measured(measures: Sequence[Measure], vocabulary: Vocabulary) -> Iterator[_Reason]:
    """What the first value of each measure shows; later ones may be of another eye or another time."""
    first: dict[str, Measure] = {}
    for measure in measures:
        first.setdefault(measure.measure, measure)
    for shown in (one for field in vocabulary.fields for one in shipped_shown(field)):
        value = first.get(shown.measure)
        if value is not None and shown.finding in vocabulary and shown.low <= value.low and value.high <= shown.high:
            yield _Reason(shown.finding, shown.chance * value.confidence, value.heard, value.start_ms)


def read_shown(data: Sequence[Mapping[str, str | float]]) -> tuple[Shown, ...]:
    """Read a table of values that show findings: `from`, `to`, and how many of how many were right."""
    return tuple(
        Shown(
            str(row["measure"]),
            str(row["finding"]),
            float(row.get("from", -math.inf)),
            float(row.get("to", math.inf)),
            (float(row["right"]) + 1) / (float(row["seen"]) + 2),
        )
        for row in data
    )


@cache
def shipped_shown(field: str) -> tuple[Shown, ...]:
    """The table that ships for a field, empty where there is none."""
    source = resources.files("schemas").joinpath("learned", f"{field}-findings.json")
    return read_shown(json.loads(source.read_text(encoding="utf-8"))["shown"]) if source.is_file() else ()


def _with_broader(concept: str, vocabulary: Vocabulary) -> list[str]:
    found = [concept]
    while (broader := vocabulary[found[-1]].broader) is not None:
        found.append(broader)
    return found


def _outdone(concept: str, sure: Mapping[str, float], vocabulary: Vocabulary) -> bool:
    """Whether the eye has, more surely, something that this finding hardly goes with."""
    against = (
        other for other in sure if other in vocabulary[concept].excludes or concept in vocabulary[other].excludes
    )
    return any(sure[other] > sure[concept] for other in against)


def _because(reason: _Reason) -> Evidence:
    chance = min(max(reason.chance, 1e-3), 1 - 1e-3)
    weight = round(math.log(chance / (1 - chance)), 2)
    return Evidence(kind="word", text=reason.text, start_ms=reason.start_ms, weight=weight)
