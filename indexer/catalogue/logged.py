"""Operations that come as a log of their steps, without a film: made at once, and only once."""

from __future__ import annotations

from sqlalchemy import Connection, select

from indexer.catalogue import jobs, writing
from indexer.catalogue.tables import recordings
from indexer.consent import Viewer
from indexer.models import CaseContent, CaseDraft, Kind


def publish(connection: Connection, draft: CaseDraft, content: CaseContent, log_id: str, by: Viewer) -> str | None:
    """Make the case and return its id; None where a log of this id made one before. There is nothing to go on with:
    begun and published in one transaction, it is whole or not there."""
    if connection.scalar(select(recordings.c.id).where(recordings.c.id == log_id)) is not None:
        return None
    job = jobs.begin(connection, draft.model_copy(update={"kind": Kind.LOGGED}), recording_id=log_id)
    writing.publish(connection, job.id, content, by)
    return job.case_id
