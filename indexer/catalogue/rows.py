"""Values as rows and rows as values, one place for both directions."""

from __future__ import annotations

import json
import zlib
from collections.abc import Sequence
from typing import Any

from sqlalchemy import Row

from indexer.catalogue.naming import new_id
from indexer.models import (
    AssertionKind,
    Boundary,
    Evidence,
    FindingView,
    FoundFinding,
    Measure,
    MeasureView,
    Mention,
    MentionView,
    Segment,
    Standing,
    Word,
)


def evidence_json(evidence: Sequence[Evidence]) -> list[dict[str, Any]]:
    """Evidence for a JSON column."""
    return [piece.model_dump(mode="json") for piece in evidence]


def evidence_of(kept: list[dict[str, Any]]) -> tuple[Evidence, ...]:
    """Evidence from a JSON column."""
    return tuple(Evidence.model_validate(piece) for piece in kept)


def packed_words(words: Sequence[Word]) -> bytes:
    """All words of a transcript as one small blob."""
    rows = [[word.text, word.start_ms, word.end_ms, word.cue, word.timing] for word in words]
    return zlib.compress(json.dumps(rows, ensure_ascii=False, separators=(",", ":")).encode("utf-8", "surrogatepass"))


def unpacked_words(blob: bytes) -> tuple[Word, ...]:
    """What `packed_words` packed."""
    rows = json.loads(zlib.decompress(blob).decode("utf-8", "surrogatepass"))
    return tuple(
        Word(text=text, start_ms=start, end_ms=end, cue=cue, timing=timing) for text, start, end, cue, timing in rows
    )


def segment_row(segment: Segment, case_id: str, recording_id: str) -> dict[str, Any]:
    """A new row of the table of segments."""
    return {
        "id": new_id(),
        "case_id": case_id,
        "recording_id": recording_id,
        "step": segment.step,
        "start_ms": segment.start.at_ms,
        "start_source": segment.start.source,
        "start_spread_ms": segment.start.spread_ms,
        "end_ms": segment.end.at_ms,
        "end_source": segment.end.source,
        "end_spread_ms": segment.end.spread_ms,
        "confidence": segment.confidence,
        "evidence": evidence_json(segment.evidence),
        "standing": segment.standing,
        "version": 1,
    }


def start_of(row: Row[Any]) -> Boundary:
    """The first edge of a segment's row."""
    return Boundary(at_ms=row.start_ms, source=row.start_source, spread_ms=row.start_spread_ms)


def end_of(row: Row[Any]) -> Boundary:
    """The last edge of a segment's row."""
    return Boundary(at_ms=row.end_ms, source=row.end_source, spread_ms=row.end_spread_ms)


def mention_row(mention: Mention, recording_id: str, segment_key: int | None) -> dict[str, Any]:
    """A new row of the table of mentions."""
    return {
        "id": new_id(),
        "recording_id": recording_id,
        "segment_key": segment_key,
        **mention.model_dump(mode="json", include=_MENTION),
        "evidence": evidence_json(mention.evidence),
        "version": 1,
    }


def mention_of(row: Row[Any], segment_id: str | None) -> MentionView:
    """A mention from its row."""
    return MentionView(
        **{name: getattr(row, name) for name in _MENTION - {"assertion", "standing"}},
        id=row.id,
        version=row.version,
        segment_id=segment_id,
        assertion=AssertionKind(row.assertion),
        standing=Standing(row.standing),
        evidence=evidence_of(row.evidence),
    )


def measure_row(measure: Measure, recording_id: str, segment_key: int | None) -> dict[str, Any]:
    """A new row of the table of measures."""
    kept = measure.model_dump(mode="json", include=_MEASURE)
    return {"id": new_id(), "recording_id": recording_id, "segment_key": segment_key, **kept, "version": 1}


def measure_of(row: Row[Any], segment_id: str | None) -> MeasureView:
    """A measure from its row."""
    kept = {name: getattr(row, name) for name in _MEASURE - {"standing"}}
    return MeasureView(**kept, id=row.id, version=row.version, segment_id=segment_id, standing=Standing(row.standing))


def finding_row(finding: FoundFinding, case_id: str) -> dict[str, Any]:
    """A new row of the table of findings."""
    return {
        "id": new_id(),
        "case_id": case_id,
        "concept": finding.concept,
        "confidence": finding.confidence,
        "evidence": evidence_json(finding.evidence),
        "standing": finding.standing,
        "version": 1,
    }


def finding_of(row: Row[Any]) -> FindingView:
    """A finding from its row."""
    return FindingView(
        id=row.id,
        version=row.version,
        concept=row.concept,
        confidence=row.confidence,
        evidence=evidence_of(row.evidence),
        standing=Standing(row.standing),
    )


_MENTION = set(Mention.model_fields) - {"evidence"}
_MEASURE = set(Measure.model_fields)
