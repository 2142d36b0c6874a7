"""Which findings this eye has, from how they are spoken of."""

from __future__ import annotations

import math
from collections.abc import Sequence

from indexer.models.tagged import AssertionKind, Evidence, FoundFinding, Mention
from indexer.vocabulary.vocabulary import Vocabulary

BELIEVED = 0.5


def findings_of(mentions: Sequence[Mention], vocabulary: Vocabulary) -> list[FoundFinding]:
    """The findings that some mention says this eye has; a narrower one brings its broader one along.

    The chance that none of the mentions is both a true naming and meant of this eye is the chance that it has it not.
    """
    missed: dict[str, float] = {}
    best: dict[str, Mention] = {}
    for mention in mentions:
        if mention.concept not in vocabulary or vocabulary[mention.concept].facet != "finding":
            continue
        if mention.assertion is not AssertionKind.DONE:
            continue
        chance = mention.confidence * mention.assertion_confidence
        for concept in _with_broader(mention.concept, vocabulary):
            missed[concept] = missed.get(concept, 1.0) * (1 - chance)
            if concept not in best or chance > best[concept].confidence * best[concept].assertion_confidence:
                best[concept] = mention
    return [
        FoundFinding(concept=concept, confidence=round(1 - missed[concept], 4), evidence=(_because(best[concept]),))
        for concept in sorted(missed)
        if 1 - missed[concept] >= BELIEVED
    ]


def _with_broader(concept: str, vocabulary: Vocabulary) -> list[str]:
    found = [concept]
    while (broader := vocabulary[found[-1]].broader) is not None:
        found.append(broader)
    return found


def _because(mention: Mention) -> Evidence:
    odds = mention.confidence / max(1e-3, 1 - mention.confidence)
    return Evidence(kind="word", text=mention.heard, start_ms=mention.start_ms, weight=round(math.log(max(odds, 1e-3)), 2))
