"""The passages that a query may answer with: what the viewer may see and the filters allow, as one predicate."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, exists, or_, select
from sqlalchemy.sql.selectable import FromClause

from indexer.catalogue.search.asked import below
from indexer.catalogue.tables import cases, findings, measures, mentions, recordings, segments
from indexer.catalogue.visibility import visible
from indexer.consent import Viewer
from indexer.errors import QueryUnreadable
from indexer.models import AssertionKind, Kind, MeasureRange, Query, Standing
from indexer.vocabulary.concepts import FACETS
from indexer.vocabulary.vocabulary import Vocabulary


@dataclass(frozen=True)
class Scope:
    """Passages that can answer at all; `source` joins segments to their cases."""

    holds: ColumnElement[bool]
    source: FromClause

    def chosen(self, *columns: ColumnElement[Any]) -> Select[Any]:
        """Select columns of the segments (and cases) in scope."""
        return select(*columns).select_from(self.source).where(self.holds)


def scope(viewer: Viewer, query: Query, vocabulary: Vocabulary, today: date) -> Scope:
    """Raise QueryUnreadable for a filter that the vocabulary does not know."""
    limits = [visible(viewer, today), segments.c.standing != Standing.REFUSED, ~_logged()]
    if query.case_id is not None:
        limits.append(cases.c.id == query.case_id)
    for facet, ids in query.filters.items():
        if ids:
            limits.append(_filter(facet, _known(query, facet, ids, vocabulary), query.assertion))
    for wanted in query.measures:
        _known(query, "measure", [wanted.measure], vocabulary)
        limits.append(_measured(wanted, vocabulary))
    return Scope(and_(*limits), segments.join(cases, cases.c.id == segments.c.case_id))


def _logged() -> ColumnElement[bool]:
    """Steps of a log: there is nothing in them to see or hear."""
    recording = recordings.alias()
    return segments.c.recording_id.in_(select(recording.c.id).where(recording.c.kind == Kind.LOGGED))


def _known(query: Query, facet: str, ids: Iterable[str], vocabulary: Vocabulary) -> list[str]:
    """The ids with all that are narrower."""
    if facet not in FACETS:
        raise QueryUnreadable(query.text, f"There is no facet {facet!r}; there are {', '.join(FACETS)}.")
    found: list[str] = []
    for concept in ids:
        if concept not in vocabulary or vocabulary[concept].facet != facet:
            raise QueryUnreadable(query.text, f"There is no {facet} {concept!r} in the vocabulary.")
        found += below(vocabulary, concept)
    return found


def _filter(facet: str, ids: list[str], assertion: AssertionKind | None) -> ColumnElement[bool]:
    if facet in ("step", "part"):
        return segments.c.step.in_(ids)
    if facet == "finding":
        return _of_eye(ids)
    if facet == "measure":
        number = measures.alias()
        return exists().where(number.c.segment_key == segments.c.key, number.c.measure.in_(ids), _kept(number))
    return meant(ids, assertion or AssertionKind.DONE)


def _of_eye(ids: list[str]) -> ColumnElement[bool]:
    finding = findings.alias()
    return exists().where(finding.c.case_id == cases.c.id, finding.c.concept.in_(ids), _kept(finding))


def _kept(table: FromClause) -> ColumnElement[bool]:
    return table.c.standing != Standing.REFUSED


def meant(ids: list[str] | None, assertion: AssertionKind) -> ColumnElement[bool]:
    """A thing is meant so in the passage; what is done in it counts as done, whatever else is said of it."""
    # Aliases of their own: the query around may join the same table, and must not lend it.
    naming, other = mentions.alias(), mentions.alias()
    found = and_(naming.c.segment_key == segments.c.key, naming.c.assertion == assertion, _kept(naming))
    if ids is not None:
        found = and_(found, naming.c.concept.in_(ids))
    if assertion is AssertionKind.DONE:
        return exists().where(found)
    done = exists().where(
        other.c.segment_key == naming.c.segment_key,
        other.c.concept == naming.c.concept,
        other.c.assertion == AssertionKind.DONE,
        _kept(other),
    )
    return exists().where(found, ~done)


def _measured(wanted: MeasureRange, vocabulary: Vocabulary) -> ColumnElement[bool]:
    """A measure that reaches into the range: of the passage, or of the eye where it is no act's measure."""
    number, said = measures.alias(), segments.alias()
    limits = [number.c.measure.in_(below(vocabulary, wanted.measure)), _kept(number)]
    if wanted.low is not None:
        limits.append(number.c.high >= wanted.low)
    if wanted.high is not None:
        limits.append(number.c.low <= wanted.high)
    here = exists().where(number.c.segment_key == segments.c.key, *limits)
    if any(vocabulary[step].facet == "step" for step in vocabulary[wanted.measure].steps):
        return here
    of_eye = exists().where(said.c.key == number.c.segment_key, said.c.case_id == segments.c.case_id, *limits)
    return or_(here, of_eye)
