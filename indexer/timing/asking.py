"""What the console and the pages both do: look up names, read the operations, make two groups of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from indexer.catalogue.library import Library
from indexer.consent import Viewer
from indexer.errors import BadInput
from indexer.models.timing import OperationTimes, TimesAsked
from indexer.timing.counting import count_all
from indexer.vocabulary.asking import read_query
from indexer.vocabulary.vocabulary import Vocabulary

USED = ("technique", "device", "agent", "event")


def counted(library: Library, viewer: Viewer, asked: TimesAsked) -> list[OperationTimes]:
    """The operations that were asked for, counted, oldest first."""
    return count_all(library.step_times(viewer, asked), library.vocabulary, proposals=asked.proposals)


def concept_of(name: str, facets: Sequence[str], vocabulary: Vocabulary) -> str:
    """The id of a concept by its id or its name. Raises BadInput where it is not clear which is meant."""
    if name in vocabulary and vocabulary[name].facet in facets:
        return name
    found = {each.concept for each in read_query(vocabulary, name).concepts if each.facet in facets}
    if len(found) == 1:
        return found.pop()
    kinds = " or ".join(facets)
    if not found:
        raise BadInput(f"There is no {kinds} {name!r} in the vocabulary.")
    raise BadInput(f"{name!r} may mean {', '.join(sorted(found))}. Name one of them.")


def concepts_of(names: Iterable[str], facets: Sequence[str], vocabulary: Vocabulary) -> tuple[str, ...]:
    """The ids of several."""
    return tuple(concept_of(name, facets, vocabulary) for name in names)


def day_of(said: str) -> date | None:
    """A day as 2026-03-31, None for what is none."""
    try:
        return date.fromisoformat(said)
    except ValueError:
        return None


Group = tuple[str, list[OperationTimes]]


def two_groups(counted: Iterable[OperationTimes], beside: str, vocabulary: Vocabulary) -> tuple[Group, Group]:
    """The operations without and with a concept, or before and since a day (`beside` as `told` of what was asked)."""
    day = day_of(beside)
    without, having = list[OperationTimes](), list[OperationTimes]()
    for each in counted:
        operation = each.operation
        has = operation.day >= day if day else beside in operation.findings or beside in operation.done
        (having if has else without).append(each)
    if day:
        return (f"before {day:%Y-%m-%d}", without), (f"since {day:%Y-%m-%d}", having)
    label = vocabulary[beside].label
    return (f"without {label}", without), (f"with {label}", having)
