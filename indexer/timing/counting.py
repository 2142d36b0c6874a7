"""From the stays of an operation to the time of each of its steps."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from indexer.models.timing import OperationTimes, Stay, StepTime, TimedOperation
from indexer.vocabulary.vocabulary import Vocabulary


def count(operation: TimedOperation, vocabulary: Vocabulary, *, proposals: bool) -> OperationTimes:
    """Count one operation. Without `proposals`, a step with a visit that nobody confirmed is left out altogether.

    A visit is a stay without anything else between: stretches of one step that touch are one visit, and a broader
    step is not left by going from one of its narrower steps to the next.
    """
    counting: dict[str, list[Stay]] = {}
    left_out: dict[str, None] = {}
    for stay in operation.stays:
        for step in lineage(stay.step, vocabulary):
            counting.setdefault(step, []).append(stay)
            if not (stay.confirmed or proposals):
                left_out[step] = None
    covered = _union_ms(operation.stays, operation.length_ms)
    unsure = [] if proposals else [stay for stay in operation.stays if not stay.confirmed]
    return OperationTimes(
        operation=operation,
        steps=tuple(_time(step, stays) for step, stays in counting.items() if step not in left_out),
        no_step_ms=operation.length_ms - covered,
        unconfirmed_ms=_union_ms(unsure, operation.length_ms),
        left_out=tuple(left_out),
    )


def count_all(operations: Iterable[TimedOperation], vocabulary: Vocabulary, *, proposals: bool) -> list[OperationTimes]:
    """Count every operation in which anything counts."""
    counted = (count(each, vocabulary, proposals=proposals) for each in operations)
    return [each for each in counted if each.steps]


def lineage(step: str, vocabulary: Vocabulary) -> tuple[str, ...]:
    """The step and all that are broader; a step that the vocabulary has lost stands for itself."""
    found = [step]
    while (concept := vocabulary.concepts.get(found[-1])) is not None and concept.broader is not None:
        found.append(concept.broader)
    return tuple(found)


def _time(step: str, stays: Sequence[Stay]) -> StepTime:
    visits, end_ms = 0, -1
    for stay in stays:
        visits += stay.start_ms > end_ms or end_ms < 0
        end_ms = max(end_ms, stay.end_ms)
    return StepTime(step, sum(stay.end_ms - stay.start_ms for stay in stays), visits, stays[0].start_ms)


def _union_ms(stays: Iterable[Stay], length_ms: int) -> int:
    """How long at least one of the stays goes on, within the recording."""
    covered, end_ms = 0, 0
    for stay in stays:
        start, end = max(stay.start_ms, end_ms), min(stay.end_ms, length_ms)
        covered += max(0, end - start)
        end_ms = max(end_ms, end)
    return covered
