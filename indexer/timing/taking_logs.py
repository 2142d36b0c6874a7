"""A step log becomes cases of the library."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import NamedTuple

from indexer.catalogue.library import Library
from indexer.catalogue.naming import id_of
from indexer.errors import BadInput
from indexer.models import (
    AssertionKind,
    Boundary,
    CaseContent,
    CaseDraft,
    Evidence,
    Mention,
    Segment,
    Standing,
    Tagging,
)
from indexer.models.frozen import Frozen
from indexer.models.timing import LoggedOperation, Stay

USED = ("technique", "device", "agent", "event")


class LogDetails(Frozen):
    """What a person says of all operations of a log."""

    title: str = ""
    """Stands before the name of each operation."""
    operator: str | None = None
    eye: str | None = None
    day: date | None = None
    """Where the log does not say it."""
    findings: tuple[str, ...] = ()
    used: tuple[str, ...] = ()
    """Techniques, devices, agents and events of these operations."""


class Taken(NamedTuple):
    """What became of the operations of a log."""

    added: tuple[str, ...]
    """Ids of the new cases."""
    known: tuple[str, ...]
    """Names of operations that are here already."""


def take(library: Library, operations: Sequence[LoggedOperation], details: LogDetails) -> Taken:
    """Make a case of each operation; one that came in before is not made again. Raises NotFound, BadInput."""
    for finding in details.findings:
        if library.vocabulary[finding].facet != "finding":
            raise BadInput(f"{library.vocabulary[finding].label} is no finding.")
    for concept in details.used:
        if library.vocabulary[concept].facet not in USED:
            raise BadInput(f"{library.vocabulary[concept].label} is no technique, device, agent or event.")
    added, known = [], []
    for operation in operations:
        made = library.publish_log(_draft(operation, details), _content(operation, details.used), _id(operation))
        if made is None:
            known.append(operation.name)
        else:
            added.append(made)
    return Taken(tuple(added), tuple(known))


def _id(operation: LoggedOperation) -> str:
    return id_of(operation.model_dump_json())


def _draft(operation: LoggedOperation, details: LogDetails) -> CaseDraft:
    title = " ".join(f"{details.title} {operation.name}".split())[:300]
    return CaseDraft.model_validate(
        {
            "title": title,
            "sources": (),
            "eye": details.eye,
            "findings": details.findings,
            "operator": details.operator,
            "operated_on": operation.day or details.day,
        }
    )


def _content(operation: LoggedOperation, used: Sequence[str]) -> CaseContent:
    return CaseContent(
        parts=(),
        film=None,
        length_ms=max(operation.length_ms, max(stay.end_ms for stay in operation.stays)),
        frame_rate=0.0,
        width=0,
        height=0,
        has_sound=False,
        tagging=Tagging(
            language="und",
            segments=tuple(_segment(stay) for stay in operation.stays),
            mentions=tuple(_stated(concept) for concept in used),
        ),
        remarks=("This operation came in as a log of its steps. There is no film of it here.",),
    )


def _segment(stay: Stay) -> Segment:
    """Written down by a person, unless the line after it was lost: then its end is a guess."""
    if stay.confirmed:
        start, end = (Boundary(at_ms=at, source="person", spread_ms=0) for at in (stay.start_ms, stay.end_ms))
        why = Evidence(kind="person", text="written in a step log")
        return Segment(
            step=stay.step, start=start, end=end, confidence=1.0, standing=Standing.ACCEPTED, evidence=(why,)
        )
    return Segment(
        step=stay.step,
        start=Boundary(at_ms=stay.start_ms, source="person", spread_ms=0),
        end=Boundary(at_ms=stay.end_ms, source="order", spread_ms=(stay.end_ms - stay.start_ms) // 2),
        confidence=0.5,
        evidence=(Evidence(kind="order", text="the line of the step log that ends it could not be read"),),
    )


def _stated(concept: str) -> Mention:
    return Mention(
        concept=concept,
        assertion=AssertionKind.DONE,
        start_ms=0,
        end_ms=0,
        first_word=0,
        last_word=0,
        heard="",
        confidence=1.0,
        standing=Standing.ACCEPTED,
        evidence=(Evidence(kind="person", text="stated with the step log"),),
    )
