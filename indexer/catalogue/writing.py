"""Publishing what an intake found, in one transaction, and putting a new tagging in the place of an old one."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import Connection, delete, insert, select, update

from indexer.catalogue import consents, jobs, persons, revision, surveying, wordlist
from indexer.catalogue.rows import finding_row, measure_row, mention_row, packed_words, segment_row
from indexer.catalogue.tables import (
    cases,
    cues,
    findings,
    measures,
    mentions,
    parts,
    recordings,
    segments,
    transcripts,
)
from indexer.consent import Release, Viewer
from indexer.errors import Conflict, NotFound
from indexer.models import (
    CaseContent,
    Evidence,
    FoundFinding,
    Job,
    JobState,
    Measure,
    Mention,
    Segment,
    Standing,
    Tagging,
)


def publish(connection: Connection, job_id: str, content: CaseContent, by: Viewer) -> None:
    """Make a case of a job. Harmless where it was published already; Conflict where it had been given up."""
    job = jobs.job(connection, job_id)
    if job.state is JobState.DONE:
        return
    if job.state is JobState.FAILED:
        raise Conflict(f"Intake {job_id}", "it had been given up")
    if job.draft.case_id is None:
        _insert_case(connection, job, by)
    _insert_recording(connection, job, content)
    if content.survey is not None:
        surveying.put(connection, job.recording_id, content.survey)
    _insert_transcript(connection, job.recording_id, content)
    _find(connection, job.case_id, [_stated(concept) for concept in job.draft.findings])
    if content.tagging is not None:
        _insert_tagging(connection, job.case_id, job.recording_id, content.tagging)
    wordlist.renew(connection, job.recording_id)
    revision.changed(connection)
    jobs.finish(connection, job_id)


def _insert_case(connection: Connection, job: Job, by: Viewer) -> None:
    draft = job.draft
    operator = persons.person(connection, draft.operator).person_id if draft.operator else None
    values = {"id": job.case_id, "title": draft.title, "eye": draft.eye, "operated_on": draft.operated_on}
    now = datetime.now(UTC)
    connection.execute(insert(cases).values(**values, operator_id=operator, release_rank=0, added_at=now))
    release = Release(draft.release)
    if release is not Release.PRIVATE:
        consents.state(connection, job.case_id, by, release, on=date.today(), evidence=draft.consent_evidence)


def _insert_recording(connection: Connection, job: Job, content: CaseContent) -> None:
    same = ("film", "length_ms", "frame_rate", "width", "height", "has_sound")
    connection.execute(
        insert(recordings).values(
            id=job.recording_id,
            case_id=job.case_id,
            kind=job.draft.kind,
            **{name: getattr(content, name) for name in same},
            film_reasons=list(content.film_reasons),
            stills_ms=sorted(content.stills_ms),
            remarks=list(content.remarks),
            language=content.tagging.language if content.tagging else "und",
            added_at=datetime.now(UTC),
        )
    )
    for place, part in enumerate(content.parts):
        connection.execute(
            insert(parts).values(
                recording_id=job.recording_id,
                place=place,
                path=str(part.path),
                content_hash=part.probe.content_hash,
                size_bytes=part.probe.size_bytes,
                start_ms=part.start_ms,
                probe=part.probe.model_dump(mode="json"),
            )
        )


def _insert_transcript(connection: Connection, recording_id: str, content: CaseContent) -> None:
    transcript = content.transcript
    if transcript is None:
        return
    connection.execute(
        insert(transcripts).values(
            recording_id=recording_id,
            format=transcript.format,
            language=transcript.language,
            name=content.transcript_name,
            original=content.transcript_bytes,
            offset_ms=0,
            words=packed_words(transcript.words),
            left_out=[each.model_dump(mode="json") for each in transcript.left_out],
        )
    )
    kept = [
        {"recording_id": recording_id, "place": place, **cue.model_dump()} for place, cue in enumerate(transcript.cues)
    ]
    _insert_all(connection, cues, kept)


def _stated(concept: str) -> FoundFinding:
    evidence = Evidence(kind="person", text="stated when the case was added")
    return FoundFinding(concept=concept, confidence=1.0, evidence=(evidence,), standing=Standing.ACCEPTED)


def _find(connection: Connection, case_id: str, found: list[FoundFinding]) -> None:
    """Add findings to a case; one that it has stays as it is, or becomes surer."""
    rows = connection.execute(select(findings).where(findings.c.case_id == case_id))
    held: dict[str, Any] = {row.concept: row for row in rows}
    for finding in found:
        row = held.get(finding.concept)
        if row is None:
            connection.execute(insert(findings).values(finding_row(finding, case_id)))
            held[finding.concept] = finding
        elif row.standing == Standing.PROPOSED and finding.confidence > row.confidence:
            new = finding_row(finding, case_id)
            changed = {name: new[name] for name in ("confidence", "evidence", "standing")}
            connection.execute(
                update(findings)
                .where(findings.c.case_id == case_id, findings.c.concept == finding.concept)
                .values(changed)
            )


def _insert_tagging(connection: Connection, case_id: str, recording_id: str, tagging: Tagging) -> None:
    _insert_all(connection, segments, [segment_row(each, case_id, recording_id) for each in tagging.segments])
    where = SegmentKeys(connection, recording_id)
    said = [mention_row(each, recording_id, where.at(each.start_ms)) for each in tagging.mentions]
    _insert_all(connection, mentions, said)
    numbers = [measure_row(each, recording_id, where.at(each.start_ms)) for each in tagging.measures]
    _insert_all(connection, measures, numbers)
    _find(connection, case_id, list(tagging.findings))


class SegmentKeys:
    """Which segment of a recording, among those not refused, holds a moment."""

    def __init__(self, connection: Connection, recording_id: str) -> None:
        chosen = select(segments.c.key, segments.c.start_ms, segments.c.end_ms).where(
            segments.c.recording_id == recording_id, segments.c.standing != Standing.REFUSED
        )
        self.spans = [tuple(row) for row in connection.execute(chosen.order_by(segments.c.start_ms))]

    def at(self, at_ms: int) -> int | None:
        """The key of the segment that goes on at that time, None in a gap."""
        return next((key for key, start, end in self.spans if start <= at_ms < end), None)


def retag(connection: Connection, recording_id: str, tagging: Tagging) -> None:
    """Put a new tagging in the place of all that is merely proposed. What a person decided stays as it is.

    New proposals that a decided mark of the same kind answers already are left out.
    """
    case_id = connection.scalar(select(recordings.c.case_id).where(recordings.c.id == recording_id))
    if case_id is None:
        raise NotFound(f"recording {recording_id!r}")
    for table in (segments, mentions, measures):
        proposed = table.c.standing == Standing.PROPOSED
        connection.execute(delete(table).where(table.c.recording_id == recording_id, proposed))
    if _only_recording(connection, case_id):
        proposed = findings.c.standing == Standing.PROPOSED
        connection.execute(delete(findings).where(findings.c.case_id == case_id, proposed))
    _insert_tagging(connection, case_id, recording_id, _undecided(connection, recording_id, tagging))
    connection.execute(update(recordings).where(recordings.c.id == recording_id).values(language=tagging.language))
    settle_marks(connection, recording_id)


def _only_recording(connection: Connection, case_id: str) -> bool:
    return len(connection.execute(select(recordings.c.id).where(recordings.c.case_id == case_id)).all()) == 1


def _undecided(connection: Connection, recording_id: str, tagging: Tagging) -> Tagging:
    """The tagging without what people have decided about already."""
    decided = {
        table.name: connection.execute(select(table).where(table.c.recording_id == recording_id)).all()
        for table in (segments, mentions, measures)
    }

    def new_segment(segment: Segment) -> bool:
        return not any(_answers_segment(row, segment) for row in decided["segments"])

    def new_mark(mark: Mention | Measure, rows: list[Any]) -> bool:
        return not any(row.start_ms < mark.end_ms and mark.start_ms < row.end_ms for row in rows)

    return tagging.model_copy(
        update={
            "segments": tuple(each for each in tagging.segments if new_segment(each)),
            "mentions": tuple(each for each in tagging.mentions if new_mark(each, list(decided["mentions"]))),
            "measures": tuple(each for each in tagging.measures if new_mark(each, list(decided["measures"]))),
        }
    )


def _answers_segment(row: Any, segment: Segment) -> bool:
    """An accepted stretch is taken; a refused one rules out the same step on mostly the same stretch."""
    overlap = min(row.end_ms, segment.end_ms) - max(row.start_ms, segment.start_ms)
    if row.standing == Standing.ACCEPTED:
        return bool(overlap > 0)
    mostly = overlap > 0.5 * min(row.end_ms - row.start_ms, segment.end_ms - segment.start_ms)
    return bool(row.step == segment.step and mostly)


def settle_marks(connection: Connection, recording_id: str) -> None:
    """Say anew which segment holds each mark, and renew the words to look up; after any change of segments."""
    where = SegmentKeys(connection, recording_id)
    for table in (mentions, measures):
        chosen = select(table.c.key, table.c.start_ms, table.c.segment_key)
        for row in connection.execute(chosen.where(table.c.recording_id == recording_id)).all():
            holds = where.at(row.start_ms)
            if holds != row.segment_key:
                connection.execute(update(table).where(table.c.key == row.key).values(segment_key=holds))
    wordlist.renew(connection, recording_id)
    revision.changed(connection)


def _insert_all(connection: Connection, table: Any, rows: list[dict[str, Any]]) -> None:
    if rows:
        connection.execute(insert(table), rows)
