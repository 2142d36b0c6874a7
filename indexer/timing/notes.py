"""What has to be known to read the figures, and the words of caution that go with all of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from indexer import cautions as words
from indexer.models.timing import OperationTimes, TimesAsked
from indexer.vocabulary.vocabulary import Vocabulary

PROPOSED = (
    "These figures count steps that the machine proposed and nobody confirmed. Look at the film before you rely on one."
)


def cautions() -> tuple[str, ...]:
    """The cautions of every page and report about times."""
    faster = next(text for heading, text in words.FULL if heading == "Faster is not better")
    return f"Faster is not better. {faster}", words.SHORT


def notes(counted: Sequence[OperationTimes], asked: TimesAsked, vocabulary: Vocabulary) -> Iterator[str]:
    """Plain sentences about what was counted and what was not."""
    if asked.proposals:
        yield PROPOSED
    left_out = Counter(step for each in counted for step in each.left_out)
    if left_out:
        told = ", ".join(f"{_label(step, vocabulary)} in {many}" for step, many in left_out.most_common(5))
        yield f"Not counted, because a visit is not confirmed by a person: {told}. Confirm both edges of a step and it counts."
    undated = sum(not each.operation.dated for each in counted)
    if undated:
        yield f"{undated} of {len(counted)} have no date of operation; they stand at the day on which they were added."
    marked = sum(bool(each.operation.events) for each in counted)
    if marked:
        yield f"{marked} of {len(counted)} had an event out of the ordinary; they are marked, and counted like the others."
    unsure = Counter(
        concept
        for each in counted
        for concept in each.operation.unconfirmed & {*asked.used, *asked.findings, *asked.told, *each.operation.events}
    )
    for concept, many in unsure.most_common(3):
        yield f"{_label(concept, vocabulary)} was only proposed by the machine in {many} of these operations."


def _label(concept: str, vocabulary: Vocabulary) -> str:
    known = vocabulary.concepts.get(concept)
    return known.label if known else concept
