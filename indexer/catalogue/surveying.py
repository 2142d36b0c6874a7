"""What a survey found, kept beside its recording: put there at intake or later, read by the site and the tagger."""

from __future__ import annotations

from sqlalchemy import Connection, delete, insert, select, update

from indexer.catalogue.survey_tables import cuts, surveys
from indexer.catalogue.tables import recordings
from indexer.errors import NotFound
from indexer.models import Cut, KindGuess, OverlayBox, Stretch, Survey


def put(connection: Connection, recording_id: str, survey: Survey) -> None:
    """Keep a survey; one that was kept before goes. Raises NotFound for an unknown recording."""
    if connection.scalar(select(recordings.c.id).where(recordings.c.id == recording_id)) is None:
        raise NotFound(f"recording {recording_id!r}")
    for table in (cuts, surveys):
        connection.execute(delete(table).where(table.c.recording_id == recording_id))
    connection.execute(
        insert(surveys).values(
            recording_id=recording_id,
            frames=survey.frames,
            missing_frames=survey.missing_frames,
            kind=survey.guess.kind,
            confidence=survey.guess.confidence,
            reasons=list(survey.guess.reasons),
            stretches=[[each.kind, each.start_ms, each.end_ms] for each in survey.stretches],
            overlays=[[each.left, each.top, each.width, each.height] for each in survey.overlays],
        )
    )
    if survey.cuts:
        rows = [{"recording_id": recording_id, "place": n, **cut.model_dump()} for n, cut in enumerate(survey.cuts)]
        connection.execute(insert(cuts), rows)


def put_later(
    connection: Connection, recording_id: str, survey: Survey, stills_ms: tuple[int, ...], remarks: tuple[str, ...]
) -> None:
    """Keep a survey that is made after the intake, with the stills that there are now and what it remarks."""
    put(connection, recording_id, survey)
    row = connection.execute(select(recordings.c.remarks).where(recordings.c.id == recording_id)).one()
    said = [*row.remarks, *(remark for remark in remarks if remark not in row.remarks)]
    changed = {"stills_ms": sorted(stills_ms), "remarks": said}
    connection.execute(update(recordings).where(recordings.c.id == recording_id).values(changed))


def survey_of(connection: Connection, recording_id: str, length_ms: int) -> Survey | None:
    """What the catalogue keeps of a survey, without its series; None where none was made.

    Asked for only after the recording was seen.
    """
    row = connection.execute(select(surveys).where(surveys.c.recording_id == recording_id)).first()
    if row is None:
        return None
    return Survey(
        frames=row.frames,
        length_ms=length_ms,
        cuts=cuts_of(connection, recording_id),
        stretches=tuple(Stretch(kind=kind, start_ms=start, end_ms=end) for kind, start, end in row.stretches),
        overlays=tuple(OverlayBox(left=a, top=b, width=c, height=d) for a, b, c, d in row.overlays),
        missing_frames=row.missing_frames,
        guess=KindGuess(kind=row.kind, confidence=row.confidence, reasons=tuple(row.reasons)),
    )


def cuts_of(connection: Connection, recording_id: str) -> tuple[Cut, ...]:
    """The cuts of a recording in order; none where it was not surveyed."""
    rows = connection.execute(select(cuts).where(cuts.c.recording_id == recording_id).order_by(cuts.c.place))
    return tuple(
        Cut(at_ms=row.at_ms, frame=row.frame, kind=row.kind, strength=row.strength, spread_ms=row.spread_ms)
        for row in rows
    )
