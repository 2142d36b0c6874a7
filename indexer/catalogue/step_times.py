"""Times of steps as the catalogue keeps them: people see their own operations, the owner all of them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Connection, Row, and_, case, exists, false, func, select, true
from sqlalchemy.sql.selectable import FromClause

from indexer.catalogue.tables import cases, findings, mentions, persons, recordings, segments
from indexer.consent import Viewer
from indexer.models import AssertionKind, Kind, Standing
from indexer.models.timing import Stay, TimedOperation, TimesAsked
from indexer.vocabulary.vocabulary import Vocabulary

REAL = (Kind.WHOLE, Kind.LOGGED)
"""Kinds whose times are those of the operation."""


class _Told(NamedTuple):
    """What holds of cases or recordings: all concepts, and those that are only proposed."""

    all: frozenset[str]
    proposed: frozenset[str]


NOTHING = _Told(frozenset(), frozenset())


def read(connection: Connection, viewer: Viewer, asked: TimesAsked, vocabulary: Vocabulary) -> list[TimedOperation]:
    """One entry for each operation, oldest first; of two whole recordings of a case, the one with more confirmed time."""
    events = [concept.id for concept in vocabulary.of_facet("event")]
    holds = _holds(viewer, asked, vocabulary)
    stays = _stays(connection, holds)
    done = _done(connection, holds, [*events, *asked.used, *asked.told], vocabulary)
    found = _findings(connection, holds)
    known = frozenset(events)
    best: dict[str, TimedOperation] = {}
    for row in connection.execute(_recordings(holds)):
        made = _operation(row, stays.get(row.id, ()), found.get(row.case_id, NOTHING), done.get(row.id, NOTHING), known)
        other = best.get(row.case_id)
        if other is None or _confirmed_ms(made) > _confirmed_ms(other):
            best[row.case_id] = made
    return sorted(best.values(), key=lambda each: (each.day, each.case_id))


def own(viewer: Viewer) -> ColumnElement[bool]:
    """Hold for the cases whose times the viewer may see. The query has to name the table of cases."""
    if viewer.owns:
        return true()
    return cases.c.operator_id == viewer.person_id if viewer.person_id is not None else false()


def _holds(viewer: Viewer, asked: TimesAsked, vocabulary: Vocabulary) -> ColumnElement[bool]:
    """For queries over recordings joined to cases and, from outside, to persons."""
    limits = [own(viewer), recordings.c.kind.in_(REAL)]
    day = func.coalesce(cases.c.operated_on, func.date(cases.c.added_at))
    if asked.since is not None:
        limits.append(day >= asked.since)
    if asked.until is not None:
        limits.append(day <= asked.until)
    if asked.operator is not None:
        operator = select(persons.c.id).where(persons.c.pseudonym == asked.operator)
        limits.append(cases.c.operator_id.in_(operator))
    for finding in asked.findings:
        ids = _with_narrower(vocabulary, finding)
        # Aliases of their own: the query around may join the same table, and must not lend it.
        seen = findings.alias()
        kept = and_(seen.c.case_id == cases.c.id, seen.c.standing != Standing.REFUSED)
        limits.append(exists().where(kept, seen.c.concept.in_(ids)))
    for concept in asked.used:
        said = mentions.alias()
        named = and_(said.c.recording_id == recordings.c.id, *_is_done(said))
        limits.append(exists().where(named, said.c.concept.in_(_with_narrower(vocabulary, concept))))
    return and_(*limits)


def _is_done(said: FromClause) -> tuple[ColumnElement[bool], ...]:
    return said.c.assertion == AssertionKind.DONE, said.c.standing != Standing.REFUSED


def _with_narrower(vocabulary: Vocabulary, concept: str) -> list[str]:
    below = [one for narrower in vocabulary.narrower(concept) for one in _with_narrower(vocabulary, narrower)]
    return [concept, *below]


def _recordings(holds: ColumnElement[bool]) -> Any:
    columns = (recordings.c.id, recordings.c.case_id, recordings.c.kind, recordings.c.length_ms)
    of_case = (cases.c.title, cases.c.operated_on, cases.c.added_at, persons.c.pseudonym)
    joined = recordings.join(cases, cases.c.id == recordings.c.case_id)
    joined = joined.join(persons, persons.c.id == cases.c.operator_id, isouter=True)
    return select(*columns, *of_case).select_from(joined).where(holds).order_by(recordings.c.added_at, recordings.c.id)


def _stays(connection: Connection, holds: ColumnElement[bool]) -> Mapping[str, list[Stay]]:
    """For each recording what nobody refused, in order of time."""
    by_person = and_(segments.c.start_source == "person", segments.c.end_source == "person")
    confirmed = case((and_(segments.c.standing == Standing.ACCEPTED, by_person), True), else_=False)
    joined = segments.join(recordings, recordings.c.id == segments.c.recording_id)
    joined = joined.join(cases, cases.c.id == recordings.c.case_id)
    chosen = select(
        segments.c.recording_id, segments.c.step, segments.c.start_ms, segments.c.end_ms, confirmed
    ).select_from(joined)
    found: dict[str, list[Stay]] = defaultdict(list)
    for recording, step, start, end, sure in connection.execute(chosen.where(holds, _kept())):
        found[recording].append(Stay(step, start, end, bool(sure)))
    for stays in found.values():
        stays.sort(key=lambda stay: (stay.start_ms, stay.end_ms))
    return found


def _kept() -> ColumnElement[bool]:
    return segments.c.standing != Standing.REFUSED


def _findings(connection: Connection, holds: ColumnElement[bool]) -> Mapping[str, _Told]:
    joined = findings.join(cases, cases.c.id == findings.c.case_id)
    joined = joined.join(recordings, recordings.c.case_id == cases.c.id)
    chosen = select(findings.c.case_id, findings.c.concept, findings.c.standing).select_from(joined).distinct()
    return _told(connection.execute(chosen.where(holds, findings.c.standing != Standing.REFUSED)))


def _done(
    connection: Connection, holds: ColumnElement[bool], concepts: Iterable[str], vocabulary: Vocabulary
) -> Mapping[str, _Told]:
    """For each recording which of the concepts were done in it; a narrower one does its broader one too."""
    broader: dict[str, set[str]] = defaultdict(set)
    for concept in concepts:
        for one in _with_narrower(vocabulary, concept):
            broader[one].add(concept)
    joined = mentions.join(recordings, recordings.c.id == mentions.c.recording_id)
    joined = joined.join(cases, cases.c.id == recordings.c.case_id)
    chosen = select(mentions.c.recording_id, mentions.c.concept, mentions.c.standing).select_from(joined).distinct()
    rows = connection.execute(chosen.where(holds, *_is_done(mentions), mentions.c.concept.in_(list(broader))))
    return _told((of, each, standing) for of, concept, standing in rows for each in broader[concept])


def _told(rows: Iterable[Any]) -> Mapping[str, _Told]:
    named: dict[str, set[str]] = defaultdict(set)
    accepted: dict[str, set[str]] = defaultdict(set)
    for of, concept, standing in rows:
        named[of].add(concept)
        if standing == Standing.ACCEPTED:
            accepted[of].add(concept)
    return {of: _Told(frozenset(named[of]), frozenset(named[of] - accepted[of])) for of in named}


def _operation(
    row: Row[Any], stays: Iterable[Stay], found: _Told, done: _Told, events: frozenset[str]
) -> TimedOperation:
    return TimedOperation(
        case_id=row.case_id,
        recording_id=row.id,
        title=row.title,
        operator=row.pseudonym,
        day=row.operated_on or row.added_at.date(),
        dated=row.operated_on is not None,
        kind=Kind(row.kind),
        length_ms=row.length_ms,
        stays=tuple(stays),
        findings=found.all,
        done=done.all,
        events=done.all & events,
        unconfirmed=found.proposed | done.proposed,
    )


def _confirmed_ms(operation: TimedOperation) -> int:
    return sum(stay.end_ms - stay.start_ms for stay in operation.stays if stay.confirmed)
