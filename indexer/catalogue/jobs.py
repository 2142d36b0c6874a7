"""Intakes: begun, noted stage by stage, taken up again. Nothing of a job is a case until it is published."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Row, insert, select, update

from indexer.catalogue.naming import new_id
from indexer.catalogue.tables import cases, jobs, parts, recordings
from indexer.errors import Conflict, NotFound
from indexer.models import CaseDraft, Job, JobState


def begin(connection: Connection, draft: CaseDraft, recording_id: str | None = None) -> Job:
    """A new job with the ids that its case and its recording will have. Raises NotFound for an unknown `case_id`."""
    if draft.case_id is not None:
        known = connection.scalar(select(cases.c.id).where(cases.c.id == draft.case_id))
        if known is None:
            raise NotFound(f"case {draft.case_id!r}")
    now = datetime.now(UTC)
    row = {
        "id": new_id(),
        "case_id": draft.case_id or new_id(),
        "recording_id": recording_id or new_id(),
        "draft": draft.model_dump(mode="json"),
        "state": JobState.RUNNING,
        "stage": "",
        "detail": {},
        "reason": "",
        "begun_at": now,
        "changed_at": now,
    }
    connection.execute(insert(jobs).values(row))
    return job(connection, str(row["id"]))


def job(connection: Connection, job_id: str) -> Job:
    """Raise NotFound where there is no such job."""
    row = connection.execute(select(jobs).where(jobs.c.id == job_id)).one_or_none()
    if row is None:
        raise NotFound(f"intake {job_id!r}")
    return _job(row)


def listed(connection: Connection, *states: JobState) -> list[Job]:
    """All jobs in one of the states, oldest first."""
    rows = connection.execute(select(jobs).where(jobs.c.state.in_(states)).order_by(jobs.c.begun_at, jobs.c.id))
    return [_job(row) for row in rows]


def note(connection: Connection, job_id: str, stage: str, detail: Mapping[str, Any]) -> Job:
    """Keep that a stage is over, and what it leaves for the next; what earlier stages left stays."""
    found = job(connection, job_id)
    if found.state is not JobState.RUNNING:
        raise Conflict(f"Intake {job_id}", f"it is {found.state} by now")
    _change(connection, job_id, stage=stage, detail={**found.detail, **detail})
    return job(connection, job_id)


def fail(connection: Connection, job_id: str, reason: str) -> None:
    """Give a job up, with the reason for a person. Raises Conflict for one that was published."""
    if job(connection, job_id).state is JobState.DONE:
        raise Conflict(f"Intake {job_id}", "it is done by now")
    _change(connection, job_id, state=JobState.FAILED, reason=reason)


def again(connection: Connection, job_id: str) -> Job:
    """Let a failed job run once more, from the stage that it had reached."""
    if job(connection, job_id).state is JobState.FAILED:
        _change(connection, job_id, state=JobState.RUNNING, reason="")
    return job(connection, job_id)


def finish(connection: Connection, job_id: str) -> None:
    """Mark a job as done; its draft and details are no longer needed, and hold paths, so they go."""
    found = job(connection, job_id)
    bare = CaseDraft(title=found.draft.title, sources=()).model_dump(mode="json")
    _change(connection, job_id, state=JobState.DONE, reason="", draft=bare, detail={})


def case_of_hash(connection: Connection, content_hash: str) -> str | None:
    """The id of a case that holds a file with this content, or None."""
    found: str | None = connection.scalar(
        select(recordings.c.case_id)
        .join(parts, parts.c.recording_id == recordings.c.id)
        .where(parts.c.content_hash == content_hash)
        .order_by(recordings.c.added_at)
        .limit(1)
    )
    return found


def _change(connection: Connection, job_id: str, **values: Any) -> None:
    connection.execute(update(jobs).where(jobs.c.id == job_id).values(changed_at=datetime.now(UTC), **values))


def _job(row: Row[Any]) -> Job:
    return Job(
        id=row.id,
        case_id=row.case_id,
        recording_id=row.recording_id,
        draft=CaseDraft.model_validate_json(_json(row.draft)),
        state=JobState(row.state),
        stage=row.stage,
        detail=row.detail,
        reason=row.reason,
        begun_at=row.begun_at,
        changed_at=row.changed_at,
    )


def _json(value: Any) -> str:
    import json

    return json.dumps(value)
