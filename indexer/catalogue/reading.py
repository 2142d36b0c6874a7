"""Cases and recordings as a viewer may see them. Every query holds the Viewer's predicate."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Row, Select, and_, func, select

from indexer.catalogue import consents, patients
from indexer.catalogue.rows import (
    end_of,
    evidence_of,
    finding_of,
    measure_of,
    mention_of,
    start_of,
    unpacked_words,
)
from indexer.catalogue.tables import (
    cases,
    cues,
    findings,
    measures,
    mentions,
    parts,
    persons,
    recordings,
    segments,
    transcripts,
)
from indexer.catalogue.visibility import visible
from indexer.consent import Viewer
from indexer.errors import NotFound
from indexer.models import (
    AssertionKind,
    CaseDetail,
    CaseSummary,
    Cue,
    Kind,
    MentionView,
    PartFile,
    RecordingDetail,
    SegmentView,
    Standing,
    Still,
    Word,
)
from indexer.vocabulary.vocabulary import Vocabulary

USED = ("technique", "device", "agent", "event", "step")


class Reader:
    """Reads for one viewer on one day, within one transaction.

    `media` is the folder that holds a folder for each recording.
    """

    def __init__(self, connection: Connection, viewer: Viewer, vocabulary: Vocabulary, media: Path) -> None:
        self.connection, self.viewer, self.vocabulary, self.media = connection, viewer, vocabulary, media
        self.today = date.today()
        self.seen = visible(viewer, self.today)

    def summaries(self) -> list[CaseSummary]:
        """All cases, the newest first."""
        rows = self.connection.execute(self._cases().order_by(cases.c.added_at.desc(), cases.c.id)).all()
        return self._summarised(rows)

    def case(self, case_id: str) -> CaseDetail:
        """One case with its recordings. Raises NotFound."""
        # From here on nothing else is looked at.
        self.seen = and_(self.seen, cases.c.id == case_id)
        row = self.connection.execute(self._cases()).one_or_none()
        if row is None:
            raise NotFound(f"case {case_id!r}")
        (summary,) = self._summarised([row])
        inner = self.viewer.owns or (row.operator_id is not None and row.operator_id == self.viewer.person_id)
        found = self.connection.execute(self._recordings().order_by(recordings.c.added_at, recordings.c.id)).all()
        return CaseDetail(
            **{name: getattr(summary, name) for name in CaseSummary.model_fields},
            finding_views=tuple(finding_of(each) for each in self.connection.execute(self._findings(findings))),
            operated_on=row.operated_on if inner else None,
            consents=consents.history(self.connection, case_id) if inner else (),
            may_state_consent=inner,
            tied_cases=self._tied(case_id) if inner else (),
            recordings=tuple(self._detailed(each) for each in found),
        )

    def recording(self, recording_id: str) -> RecordingDetail:
        """One recording. Raises NotFound."""
        row = self.connection.execute(self._recordings().where(recordings.c.id == recording_id)).one_or_none()
        if row is None:
            raise NotFound(f"recording {recording_id!r}")
        return self._detailed(row)

    def _tied(self, case_id: str) -> tuple[tuple[str, str], ...]:
        """Other cases of the patient that this viewer may see, whatever was narrowed down to before."""
        others = patients.tied(self.connection, case_id)[1:]
        chosen = select(cases.c.id, cases.c.title).where(cases.c.id.in_(others), visible(self.viewer, self.today))
        return tuple((row.id, row.title) for row in self.connection.execute(chosen.order_by(cases.c.added_at)))

    def _cases(self) -> Select[Any]:
        chosen = select(cases, persons.c.pseudonym).join(persons, persons.c.id == cases.c.operator_id, isouter=True)
        return chosen.where(self.seen)

    def _recordings(self) -> Select[Any]:
        return select(recordings).join(cases, cases.c.id == recordings.c.case_id).where(self.seen)

    def _summarised(self, rows: Sequence[Row[Any]]) -> list[CaseSummary]:
        found = self._finding_ids()
        films: dict[str, list[Row[Any]]] = defaultdict(list)
        for film in self.connection.execute(self._recordings().order_by(recordings.c.added_at, recordings.c.id)):
            films[film.case_id].append(film)
        marks = self._marks()
        return [self._summary(row, found[row.id], films[row.id], marks.get(row.id, {})) for row in rows]

    def _marks(self) -> dict[str, dict[str, int]]:
        """For each case how many segments have each standing."""
        counted = select(segments.c.case_id, segments.c.standing, func.count().label("many")).join(
            cases, cases.c.id == segments.c.case_id
        )
        marks: dict[str, dict[str, int]] = defaultdict(dict)
        grouped = counted.where(self.seen).group_by(segments.c.case_id, segments.c.standing)
        for row in self.connection.execute(grouped):
            marks[row.case_id][row.standing] = row.many
        return marks

    def _summary(self, row: Row[Any], found: list[str], films: list[Row[Any]], marks: dict[str, int]) -> CaseSummary:
        stills = [(film, at) for film in films for at in film.stills_ms]
        return CaseSummary(
            id=row.id,
            title=row.title,
            eye=row.eye,
            operator=row.pseudonym,
            release=consents.holds_on(row.release_rank, row.release_until, self.today).value,
            findings=tuple(found),
            kinds=tuple(Kind(film.kind) for film in films),
            length_ms=sum(film.length_ms for film in films),
            segments=sum(many for standing, many in marks.items() if standing != Standing.REFUSED),
            decided=marks.get(Standing.ACCEPTED, 0),
            added_at=row.added_at,
            # The middle of an operation says more of it than its beginning.
            still=self._still(*stills[len(stills) // 2]) if stills else None,
        )

    def _finding_ids(self) -> dict[str, list[str]]:
        """The findings of every case, stated ones first."""
        ids: dict[str, list[str]] = defaultdict(list)
        columns = (findings.c.case_id, findings.c.concept)
        for row in self.connection.execute(self._findings(*columns)):
            ids[row.case_id].append(row.concept)
        return ids

    def _findings(self, *columns: Any) -> Select[Any]:
        chosen = select(*columns).join(cases, cases.c.id == findings.c.case_id)
        chosen = chosen.where(self.seen, findings.c.standing != Standing.REFUSED)
        return chosen.order_by(findings.c.standing, findings.c.confidence.desc(), findings.c.concept)

    def _still(self, row: Row[Any], at_ms: int) -> Still:
        return Still(at_ms=at_ms, path=self.media / row.id / "stills" / f"{at_ms}.jpg")

    def _stills(self, row: Row[Any]) -> list[Still]:
        return [self._still(row, at) for at in row.stills_ms]

    def _detailed(self, row: Row[Any]) -> RecordingDetail:
        files = self._parts(row.id)
        # A log has neither a film nor files: its film is one that is never there.
        film = self.media / row.id / (row.film or "film.mp4") if row.film or not files else files[0].path
        stills = self._stills(row)
        where = self._segments(row.id)
        ids = {segment.key: segment.id for segment in where}
        said = self._mentions(row.id, ids)
        numbers = self.connection.execute(self._marks_of(measures, row.id)).all()
        offset, words = self._words(row.id)
        return RecordingDetail(
            **{name: getattr(row, name) for name in ("id", "case_id", "length_ms", "frame_rate", "width", "height")},
            kind=Kind(row.kind),
            parts=tuple(files),
            film=film,
            film_there=film.is_file(),
            film_is_copy=row.film is not None,
            film_reasons=tuple(row.film_reasons),
            has_sound=row.has_sound,
            language=row.language,
            cues=self._cues(row.id),
            words=words,
            offset_ms=offset,
            segments=tuple(self._segment_view(each, said, stills) for each in where),
            mentions=tuple(said),
            measures=tuple(measure_of(each, ids.get(each.segment_key)) for each in numbers),
            stills=tuple(stills),
            remarks=tuple(row.remarks),
        )

    def _parts(self, recording_id: str) -> list[PartFile]:
        chosen = select(parts).where(parts.c.recording_id == recording_id).order_by(parts.c.place)
        return [
            PartFile(
                path=Path(row.path),
                content_hash=row.content_hash,
                size_bytes=row.size_bytes,
                start_ms=row.start_ms,
                duration_ms=row.probe["duration_ms"],
                there=Path(row.path).is_file(),
            )
            for row in self.connection.execute(chosen)
        ]

    def _segments(self, recording_id: str) -> list[Row[Any]]:
        return list(self.connection.execute(self._marks_of(segments, recording_id)))

    def _mentions(self, recording_id: str, ids: dict[int, str]) -> list[MentionView]:
        rows = self.connection.execute(self._marks_of(mentions, recording_id))
        return [mention_of(row, ids.get(row.segment_key)) for row in rows]

    def _marks_of(self, table: Any, recording_id: str) -> Select[Any]:
        """All marks of a recording that nobody refused; asked for only after the recording was seen."""
        chosen = select(table).where(table.c.recording_id == recording_id, table.c.standing != Standing.REFUSED)
        return chosen.order_by(table.c.start_ms, table.c.key)

    def _cues(self, recording_id: str) -> tuple[Cue, ...]:
        chosen = select(cues).where(cues.c.recording_id == recording_id).order_by(cues.c.place)
        return tuple(
            Cue(start_ms=row.start_ms, end_ms=row.end_ms, text=row.text) for row in self.connection.execute(chosen)
        )

    def _words(self, recording_id: str) -> tuple[int, tuple[Word, ...]]:
        chosen = select(transcripts.c.offset_ms, transcripts.c.words)
        row = self.connection.execute(chosen.where(transcripts.c.recording_id == recording_id)).one_or_none()
        return (row.offset_ms, unpacked_words(row.words)) if row else (0, ())

    def _segment_view(self, row: Row[Any], said: list[MentionView], stills: list[Still]) -> SegmentView:
        times = [still.at_ms for still in stills]
        return SegmentView(
            id=row.id,
            version=row.version,
            step=row.step,
            start=start_of(row),
            end=end_of(row),
            confidence=row.confidence,
            standing=Standing(row.standing),
            evidence=evidence_of(row.evidence),
            used=self._used(mention for mention in said if mention.segment_id == row.id),
            stills=tuple(stills[bisect_left(times, row.start_ms) : bisect_left(times, row.end_ms)]),
        )

    def _used(self, said: Iterable[MentionView]) -> tuple[str, ...]:
        done = (mention.concept for mention in said if mention.assertion is AssertionKind.DONE)
        known = self.vocabulary.concepts
        return tuple(dict.fromkeys(each for each in done if each in known and known[each].facet in USED))
