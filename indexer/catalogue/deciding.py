"""What people decide about marks: written with its history, never over somebody else's decision."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any, Literal

from sqlalchemy import Connection, Row, Table, insert, select, update

from indexer.catalogue import revision
from indexer.catalogue.room import make_room
from indexer.catalogue.rows import segment_row
from indexer.catalogue.tables import cases, events, findings, measures, mentions, persons, recordings, segments
from indexer.catalogue.visibility import visible
from indexer.catalogue.writing import settle_marks
from indexer.consent import Role, Viewer
from indexer.errors import BadInput, Conflict, NotAllowed, NotFound
from indexer.models import (
    AssertionKind,
    Boundary,
    Decision,
    DecisionEvent,
    Evidence,
    Given,
    GivenMention,
    GivenSegment,
    MarkKind,
    Segment,
    Standing,
)
from indexer.vocabulary.vocabulary import Vocabulary

TABLES: dict[MarkKind, Table] = {
    "segment": segments,
    "mention": mentions,
    "measure": measures,
    "finding": findings,
}
NAMED: dict[MarkKind, str] = {"segment": "step", "mention": "concept", "measure": "measure", "finding": "concept"}
FACETS: dict[MarkKind, tuple[str, ...]] = {
    "segment": ("step", "part"),
    "mention": ("step", "technique", "device", "agent", "finding", "event"),
    "measure": ("measure",),
    "finding": ("finding",),
}
DECIDERS = frozenset({Role.OWNER, Role.SURGEON, Role.NARRATOR, Role.EDUCATOR})


def decide(connection: Connection, viewer: Viewer, decision: Decision, vocabulary: Vocabulary) -> int:
    """Keep a decision and its event, and return the mark's new version.

    Raises NotAllowed, NotFound (also for what the viewer may not see), Conflict where the mark is no longer the
    version that was looked at, BadInput for a concept or times that do not fit.
    """
    table = TABLES[decision.mark]
    row, case_id = _mark(connection, viewer, decision)
    _may_decide(viewer)
    if row.version != decision.version:
        raise Conflict(f"This {decision.mark}", who_changed(connection, decision.id))
    values = _values(decision, row, vocabulary)
    if decision.mark == "segment" and decision.standing is Standing.ACCEPTED:
        edges = values.get("start_ms", row.start_ms), values.get("end_ms", row.end_ms)
        make_room(connection, row.recording_id, *edges, but=row.id)
    changed = update(table).where(table.c.id == decision.id, table.c.version == decision.version)
    if connection.execute(changed.values(**values, version=row.version + 1)).rowcount != 1:
        raise Conflict(f"This {decision.mark}", who_changed(connection, decision.id))
    before = {name: getattr(row, name) for name in values}
    keep_event(connection, viewer, case_id, decision.mark, decision.id, before, values)
    revision.changed(connection)
    if decision.mark == "segment":
        settle_marks(connection, row.recording_id)
    return int(row.version) + 1


def mark_segment(
    connection: Connection, viewer: Viewer, recording_id: str, segment: Segment, vocabulary: Vocabulary
) -> str:
    """Add a segment that a person marked, and return its id; its edges are a person's and it is accepted.

    Raises NotAllowed, NotFound, BadInput; Conflict where it overlaps an accepted one.
    """
    seen = select(recordings).join(cases, cases.c.id == recordings.c.case_id).where(visible(viewer, date.today()))
    recording = connection.execute(seen.where(recordings.c.id == recording_id)).one_or_none()
    if recording is None:
        raise NotFound(f"recording {recording_id!r}")
    _may_decide(viewer)
    fits("segment", segment.step, vocabulary)
    _in_order(segment.start_ms, segment.end_ms)
    make_room(connection, recording_id, segment.start_ms, segment.end_ms, but=None)
    by_hand = Segment(
        step=segment.step,
        start=Boundary(at_ms=segment.start_ms, source="person", spread_ms=segment.start.spread_ms),
        end=Boundary(at_ms=segment.end_ms, source="person", spread_ms=segment.end.spread_ms),
        confidence=1.0,
        standing=Standing.ACCEPTED,
        evidence=(Evidence(kind="person", text=f"marked by {viewer.pseudonym}"),),
    )
    row = segment_row(by_hand, recording.case_id, recording_id)
    connection.execute(insert(segments).values(row))
    kept = {name: row[name] for name in ("step", "start_ms", "end_ms", "standing")}
    keep_event(connection, viewer, recording.case_id, "segment", row["id"], {}, kept)
    settle_marks(connection, recording_id)
    return str(row["id"])


def history(connection: Connection, viewer: Viewer, case_id: str) -> list[DecisionEvent]:
    """All decisions about a case, newest first. Raises NotFound."""
    seen = select(cases.c.id).where(cases.c.id == case_id, visible(viewer, date.today()))
    if connection.scalar(seen) is None:
        raise NotFound(f"case {case_id!r}")
    chosen = select(events, persons.c.pseudonym).join(persons, persons.c.id == events.c.person_id)
    rows = connection.execute(chosen.where(events.c.case_id == case_id).order_by(events.c.id.desc()))
    return [
        DecisionEvent(
            id=row.id,
            at=row.at,
            by=row.pseudonym,
            case_id=row.case_id,
            mark=row.mark,
            mark_id=row.mark_id,
            before=row.before,
            after=row.after,
        )
        for row in rows
    ]


def given(connection: Connection, recording_id: str) -> Given:
    """What people decided about a recording, as the tagger takes it."""
    decided = segments.c.standing != Standing.PROPOSED
    spans = connection.execute(select(segments).where(segments.c.recording_id == recording_id, decided)).all()
    named = mentions.c.standing != Standing.PROPOSED
    said = connection.execute(select(mentions).where(mentions.c.recording_id == recording_id, named)).all()
    return Given(
        segments=tuple(_given_segment(row) for row in spans),
        mentions=tuple(_given_mention(row) for row in said),
    )


def _given_segment(row: Row[Any]) -> GivenSegment:
    kept: Literal[Standing.ACCEPTED, Standing.REFUSED] = (
        Standing.ACCEPTED if row.standing == Standing.ACCEPTED else Standing.REFUSED
    )
    return GivenSegment(step=row.step, start_ms=row.start_ms, end_ms=row.end_ms, standing=kept)


def _given_mention(row: Row[Any]) -> GivenMention:
    kept = row.standing == Standing.ACCEPTED
    return GivenMention(
        concept=row.concept,
        assertion=AssertionKind(row.assertion) if kept else None,
        start_ms=row.start_ms,
        end_ms=row.end_ms,
        heard=row.heard,
        refused=not kept,
    )


def _mark(connection: Connection, viewer: Viewer, decision: Decision) -> tuple[Row[Any], str]:
    """The mark's row and its case, if the viewer may see that."""
    table = TABLES[decision.mark]
    chosen = select(table, cases.c.id.label("of_case"))
    if decision.mark == "finding":
        chosen = chosen.join(cases, cases.c.id == table.c.case_id)
    else:
        chosen = chosen.join(recordings, recordings.c.id == table.c.recording_id)
        chosen = chosen.join(cases, cases.c.id == recordings.c.case_id)
    chosen = chosen.where(table.c.id == decision.id, visible(viewer, date.today()))
    row = connection.execute(chosen).one_or_none()
    if row is None:
        raise NotFound(f"{decision.mark} {decision.id!r}")
    return row, row.of_case


def _may_decide(viewer: Viewer) -> None:
    if viewer.person_id is None or not DECIDERS & viewer.roles:
        raise NotAllowed("Deciding about marks", "it is for the owner, surgeons, narrators and educators.")


def _values(decision: Decision, row: Row[Any], vocabulary: Vocabulary) -> dict[str, Any]:
    """The columns that the decision sets."""
    values: dict[str, Any] = {"standing": decision.standing}
    if decision.concept is not None:
        fits(decision.mark, decision.concept, vocabulary)
        values[NAMED[decision.mark]] = decision.concept
    if decision.assertion is not None:
        if decision.mark != "mention":
            raise BadInput("Only a mention has an assertion.")
        values["assertion"] = decision.assertion
    if decision.start_ms is not None or decision.end_ms is not None:
        values |= _edges(decision, row)
    return values


def _edges(decision: Decision, row: Row[Any]) -> dict[str, Any]:
    if decision.mark != "segment":
        raise BadInput("Only the edges of a segment can be moved.")
    values: dict[str, Any] = {}
    if decision.start_ms is not None:
        values |= {"start_ms": decision.start_ms, "start_source": "person", "start_spread_ms": 0}
    if decision.end_ms is not None:
        values |= {"end_ms": decision.end_ms, "end_source": "person", "end_spread_ms": 0}
    _in_order(values.get("start_ms", row.start_ms), values.get("end_ms", row.end_ms))
    return values


def _in_order(start_ms: int, end_ms: int) -> None:
    if not 0 <= start_ms < end_ms:
        raise BadInput("A segment has to end after it starts.")


def fits(mark: MarkKind, concept: str, vocabulary: Vocabulary) -> None:
    """Raise BadInput where a concept cannot name such a mark, NotFound where there is none."""
    if vocabulary[concept].facet not in FACETS[mark]:
        raise BadInput(f"{vocabulary[concept].label} cannot be the name of a {mark}.")


def who_changed(connection: Connection, mark_id: str) -> str:
    """Who changed a mark last, for the sentence of a Conflict."""
    chosen = select(persons.c.pseudonym, events.c.at).join(events, events.c.person_id == persons.c.id)
    row = connection.execute(chosen.where(events.c.mark_id == mark_id).order_by(events.c.id.desc()).limit(1))
    last = row.one_or_none()
    return f"by {last.pseudonym}, {last.at:%Y-%m-%d %H:%M} UTC" if last else "by a new tagging"


def keep_event(
    connection: Connection,
    viewer: Viewer,
    case_id: str,
    mark: str,
    mark_id: str,
    before: dict[str, Any],
    after: dict[str, Any],
) -> int:
    """Write down who changed a mark from what to what; the id of the event."""
    who = {"at": datetime.now(UTC), "person_id": viewer.person_id}
    what = {"case_id": case_id, "mark": mark, "mark_id": mark_id, "before": before, "after": after}
    written = insert(events).values({**who, **what}).returning(events.c.id)
    return int(connection.execute(written).scalar_one())
