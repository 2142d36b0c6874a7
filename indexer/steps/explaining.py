"""Why a segment is proposed: the words that decided, the neighbours, the length, in a line that a person can read."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from indexer.models.tagged import Evidence
from indexer.models.timed import Word
from indexer.narration.lexicon import Hit, Kind
from indexer.narration.tokens import Tokens
from indexer.steps.flow import Flow
from indexer.steps.segmenting import Decided
from indexer.vocabulary.vocabulary import Vocabulary

Floats = npt.NDArray[np.float64]

MOST_WORDS = 3
"""Stretches of words that are quoted."""
QUOTED = 6
"""Words of one quotation."""


def explain(
    decided: Sequence[Decided],
    evidence: Floats,
    tokens: Tokens,
    words: Sequence[Word],
    hits: Sequence[Hit],
    flow: Flow,
    vocabulary: Vocabulary,
) -> list[tuple[Evidence, ...]]:
    """For each segment its reasons, the weightiest first."""
    changes = flow.log_changes()
    known = {(hit.first, hit.concept): hit for hit in hits if hit.kind is Kind.CUE or hit.concept in flow.steps}
    reasons = []
    for index, segment in enumerate(decided):
        found = _quotations(segment, evidence, tokens, words, known, flow)
        before = decided[index - 1].step if index else len(flow.steps)
        usual = float(changes[before, segment.step] - math.log(1 / len(flow.steps)))
        if usual > 0.5:
            name = vocabulary[flow.steps[before]].label if index else None
            text = f"often comes after {name}" if name else "often comes first"
            found.append(Evidence(kind="order", text=text, weight=round(usual, 2)))
        reasons.append(tuple(sorted(found, key=lambda one: -one.weight)))
    return reasons


def _quotations(
    segment: Decided,
    evidence: Floats,
    tokens: Tokens,
    words: Sequence[Word],
    known: dict[tuple[int, str], Hit],
    flow: Flow,
) -> list[Evidence]:
    """The words of the segment at which its step stands out most from the next best one."""
    inside = evidence[segment.first : segment.last]
    others = np.delete(inside, segment.step, axis=1)
    lead = inside[:, segment.step] - others.max(axis=1) if others.shape[1] else inside[:, segment.step]
    taken = np.zeros(len(lead), bool)
    found: list[Evidence] = []
    for at in np.argsort(-lead, kind="stable"):
        if len(found) == MOST_WORDS or lead[at] <= 0:
            break
        token = segment.first + int(at)
        hit = next(
            (
                known[start, flow.steps[segment.step]]
                for start in range(token, token - 4, -1)
                if (start, flow.steps[segment.step]) in known
            ),
            None,
        )
        first, last = (hit.first, hit.last) if hit else (token - QUOTED // 2, token + QUOTED // 2)
        first, last = max(segment.first, first), min(segment.last, max(last, first + 1))
        if last <= first or taken[first - segment.first : last - segment.first].any():
            continue
        taken[max(0, first - segment.first - QUOTED) : last - segment.first + QUOTED] = True
        text = " ".join(word.text for word in words[tokens.words[first] : tokens.words[last - 1] + 1])
        found.append(
            Evidence(kind="word", text=text, start_ms=tokens.starts_ms[first], weight=round(float(lead[at]), 2))
        )
    return found
