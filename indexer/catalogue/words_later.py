"""Words for a recording that was added without any: narrated, or captioned, on another day."""

from __future__ import annotations

from sqlalchemy import Connection, insert, select

from indexer.catalogue import writing
from indexer.catalogue.rows import packed_words
from indexer.catalogue.tables import cues, parts, recordings, transcripts
from indexer.errors import Conflict, NotFound
from indexer.models import Tagging, Transcript


def unworded(connection: Connection, content_hash: str) -> str | None:
    """The id of a recording that begins with a file of this content and has no transcript, or None."""
    found: str | None = connection.scalar(
        select(parts.c.recording_id)
        .join(transcripts, transcripts.c.recording_id == parts.c.recording_id, isouter=True)
        .where(parts.c.content_hash == content_hash, parts.c.place == 0, transcripts.c.recording_id.is_(None))
        .limit(1)
    )
    return found


def put(
    connection: Connection, recording_id: str, transcript: Transcript, name: str, original: bytes, tagging: Tagging
) -> None:
    """Give a recording its transcript and what it was found to say. Raises NotFound; Conflict where it has one."""
    if connection.scalar(select(recordings.c.id).where(recordings.c.id == recording_id)) is None:
        raise NotFound(f"recording {recording_id!r}")
    if connection.scalar(select(transcripts.c.recording_id).where(transcripts.c.recording_id == recording_id)):
        raise Conflict(f"The transcript of recording {recording_id}", "it has one by now")
    connection.execute(
        insert(transcripts).values(
            recording_id=recording_id,
            format=transcript.format,
            language=transcript.language,
            name=name,
            original=original,
            offset_ms=0,
            words=packed_words(transcript.words),
            left_out=[each.model_dump(mode="json") for each in transcript.left_out],
        )
    )
    kept = [{"recording_id": recording_id, "place": n, **cue.model_dump()} for n, cue in enumerate(transcript.cues)]
    connection.execute(insert(cues), kept)
    writing.retag(connection, recording_id, tagging)
