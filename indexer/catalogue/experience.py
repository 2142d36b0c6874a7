"""What accepted cases teach the tagger: the surgeon's own order and lengths of steps, and misheard forms of terms."""

from __future__ import annotations

from collections import defaultdict

from sqlalchemy import Connection, select

from indexer.catalogue.surveying import cuts_of
from indexer.catalogue.tables import cases, mentions, recordings, segments
from indexer.models import Given, HeardForm, Standing, Visit

FEWEST_STEPS = 3
"""A recording with fewer accepted steps tells nothing of the order."""


def with_experience(connection: Connection, recording_id: str, given: Given) -> Given:
    """What was decided about a recording, its cuts, and what accepted marks of all recordings by its operator teach.

    Where nobody is named as the operator, the recordings without one count together.
    """
    operator = select(cases.c.operator_id).join(recordings, recordings.c.case_id == cases.c.id)
    operator_id = connection.scalar(operator.where(recordings.c.id == recording_id))
    by_operator = cases.c.operator_id.is_(None) if operator_id is None else cases.c.operator_id == operator_id
    of_operator = select(recordings.c.id).join(cases, cases.c.id == recordings.c.case_id).where(by_operator)
    return given.model_copy(
        update={
            "operations": _operations(connection, of_operator, recording_id),
            "heard": _heard(connection, of_operator),
            "cuts_ms": tuple(cut.at_ms for cut in cuts_of(connection, recording_id)),
        }
    )


def _operations(connection: Connection, of_operator: object, but: str) -> tuple[tuple[Visit, ...], ...]:
    """Accepted steps in their order, for each other recording: its own are given to the tagger as they are."""
    chosen = (
        select(segments.c.recording_id, segments.c.step, segments.c.start_ms, segments.c.end_ms)
        .where(segments.c.recording_id.in_(of_operator), segments.c.standing == Standing.ACCEPTED)  # type: ignore[arg-type]
        .where(segments.c.recording_id != but)
        .order_by(segments.c.recording_id, segments.c.start_ms)
    )
    found: dict[str, list[Visit]] = defaultdict(list)
    for row in connection.execute(chosen):
        found[row.recording_id].append(Visit(step=row.step, length_ms=row.end_ms - row.start_ms))
    return tuple(tuple(visits) for visits in found.values() if len(visits) >= FEWEST_STEPS)


def _heard(connection: Connection, of_operator: object) -> tuple[HeardForm, ...]:
    """The words of every mention that a person accepted, once for each concept."""
    chosen = (
        select(mentions.c.heard, mentions.c.concept)
        .where(mentions.c.recording_id.in_(of_operator), mentions.c.standing == Standing.ACCEPTED)  # type: ignore[arg-type]
        .distinct()
        .order_by(mentions.c.concept, mentions.c.heard)
    )
    return tuple(HeardForm(heard=row.heard, concept=row.concept) for row in connection.execute(chosen) if row.heard)
