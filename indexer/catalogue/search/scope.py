"""The passages that a query may answer with: what the viewer may see and the filters allow, as one predicate."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, exists, or_, select
from sqlalchemy.sql.selectable import FromClause

from indexer.catalogue.search.asked import below
from indexer.catalogue.tables import cases, findings, measures, mentions, segments
from indexer.catalogue.visibility import visible
from indexer.consent import Viewer
from indexer.errors import QueryUnreadable
from indexer.models import AssertionKind, MeasureRange, Query, Standing
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
    limits = [visible(viewer, today), segments.c.standing != Standing.REFUSED]
    if query.case_id is not None:
        limits.append(cases.c.id == query.case_id)
    for facet, ids in query.filters.items():
        if ids:
            limits.append(_filter(facet, _known(query, facet, ids, vocabulary), query.assertion))
    limits += [_measured(wanted, vocabulary) for wanted in query.measures]
    return Scope(and_(*limits), segments.join(cases, cases.c.id == segments.c.case_id))


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
        return exists().where(
            findings.c.case_id == cases.c.id, findings.c.concept.in_(ids), findings.c.standing != Standing.REFUSED
        )
    if facet == "measure":
        return exists().where(measures.c.segment_key == segments.c.key, measures.c.measure.in_(ids), _kept_measure)
    return meant(ids, assertion or AssertionKind.DONE)


def meant(ids: list[str] | None, assertion: AssertionKind) -> ColumnElement[bool]:
    """A thing is meant so in the passage; what is done in it counts as done, whatever else is said of it."""
    others = mentions.alias("others")
    found = and_(
        mentions.c.segment_key == segments.c.key,
        mentions.c.assertion == assertion,
        mentions.c.standing != Standing.REFUSED,
    )
    if ids is not None:
        found = and_(found, mentions.c.concept.in_(ids))
    if assertion is AssertionKind.DONE:
        return exists().where(found)
    done = exists().where(
        others.c.segment_key == segments.c.key,
        others.c.concept == mentions.c.concept,
        others.c.assertion == AssertionKind.DONE,
        others.c.standing != Standing.REFUSED,
    )
    return exists().where(found, ~done)


_kept_measure = measures.c.standing != Standing.REFUSED


def _measured(wanted: MeasureRange, vocabulary: Vocabulary) -> ColumnElement[bool]:
    """A measure that reaches into the range: of the passage, or of the eye where it is no act's measure."""
    said = segments.alias("said")
    limits = [measures.c.measure.in_(below(vocabulary, wanted.measure)), _kept_measure]
    if wanted.low is not None:
        limits.append(measures.c.high >= wanted.low)
    if wanted.high is not None:
        limits.append(measures.c.low <= wanted.high)
    here = exists().where(measures.c.segment_key == segments.c.key, *limits)
    if any(vocabulary[step].facet == "step" for step in vocabulary[wanted.measure].steps):
        return here
    of_eye = exists().where(said.c.key == measures.c.segment_key, said.c.case_id == segments.c.case_id, *limits)
    return or_(here, of_eye)
