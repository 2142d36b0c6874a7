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
    return _count(operation, Lineages(vocabulary), proposals)


class Lineages(dict[str, tuple[str, ...]]):
    """For each step itself and all that are broader; a step that the vocabulary has lost stands for itself."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        super().__init__()
        self._concepts = vocabulary.concepts

    def __missing__(self, step: str) -> tuple[str, ...]:
        concept = self._concepts.get(step)
        broader = self[concept.broader] if concept is not None and concept.broader is not None else ()
        self[step] = found = (step, *broader)
        return found


def _count(operation: TimedOperation, lineages: Lineages, proposals: bool) -> OperationTimes:
    counting: dict[str, list[Stay]] = {}
    left_out: dict[str, None] = {}
    for stay in operation.stays:
        for step in lineages[stay.step]:
            counting.setdefault(step, []).append(stay)
            if not (stay.confirmed or proposals):
                left_out[step] = None
    covered = _union_ms(operation.stays, operation.length_ms)
    unsure = [] if proposals else [stay for stay in operation.stays if not stay.confirmed]
    return OperationTimes(
        operation=operation,
        steps=tuple(_time(step, stays) for step, stays in counting.items() if step not in left_out),
        no_step_ms=operation.length_ms - covered,
        unconfirmed_ms=_union_ms(unsure, operation.length_ms) if unsure else 0,
        left_out=tuple(left_out),
    )


def count_all(operations: Iterable[TimedOperation], vocabulary: Vocabulary, *, proposals: bool) -> list[OperationTimes]:
    """Count every operation in which anything counts."""
    lineages = Lineages(vocabulary)
    counted = (_count(each, lineages, proposals) for each in operations)
    return [each for each in counted if each.steps]


def _time(step: str, stays: Sequence[Stay]) -> StepTime:
    if len(stays) == 1:
        return StepTime(step, stays[0].end_ms - stays[0].start_ms, 1, stays[0].start_ms)
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
