"""From what the catalogue answers to what the API says."""

from __future__ import annotations

from flask import url_for

from indexer.models.cases import Answer, CaseDetail, Passage, RecordingDetail
from web.api.models import (
    CaseOut,
    Count,
    FindAnswer,
    FoundPassage,
    MeasureOut,
    MentionOut,
    Piece,
    RecordingOut,
    StepOut,
    Understood,
)
from web.pages.find import passage_address
from web.terms import Terms


def answer_out(answer: Answer) -> FindAnswer:
    """An answer with its passages and counts."""
    return FindAnswer(
        total=answer.total,
        understood=tuple(Understood(**read.model_dump()) for read in answer.understood),
        words=answer.words,
        unmatched=answer.unmatched,
        passages=tuple(map(passage_out, answer.passages)),
        counts=tuple(Count(**count.model_dump()) for count in answer.facets),
        nearest=tuple(
            Count(facet=one.facet, id=one.concept, label=one.label, count=one.count) for one in answer.nearest
        ),
    )


def passage_out(passage: Passage) -> FoundPassage:
    """One passage with the addresses of its page and picture."""
    still = passage.still
    return FoundPassage(
        **passage.model_dump(include=set(FoundPassage.model_fields) - {"excerpt", "still", "page", "standing"}),
        standing=passage.standing.value,
        excerpt=tuple(Piece(text=text, matched=matched) for text, matched in passage.excerpt),
        page=passage_address(passage),
        still=url_for("media.still", recording_id=passage.recording_id, at_ms=still.at_ms) if still else None,
    )


def case_out(case: CaseDetail, terms: Terms) -> CaseOut:
    """A case with its recordings; paths of files and private dates stay here."""
    return CaseOut(
        **case.model_dump(include={"id", "title", "eye", "operator", "release", "findings"}),
        recordings=tuple(recording_out(recording, terms) for recording in case.recordings),
    )


def recording_out(recording: RecordingDetail, terms: Terms) -> RecordingOut:
    """One recording with its steps, mentions and measures."""
    return RecordingOut(
        **recording.model_dump(include={"id", "film_there", "length_ms", "frame_rate"}),
        kind=recording.kind.value,
        film=url_for("media.film", recording_id=recording.id),
        captions=url_for("media.captions", recording_id=recording.id),
        steps=tuple(
            StepOut(
                **segment.model_dump(include={"id", "step", "confidence", "used"}),
                label=terms.label(segment.step),
                number=terms.place(segment.step),
                start_ms=segment.start_ms,
                end_ms=segment.end_ms,
                start_from=segment.start.source,
                start_spread_ms=segment.start.spread_ms,
                standing=segment.standing.value,
            )
            for segment in recording.segments
        ),
        mentions=tuple(
            MentionOut(
                **mention.model_dump(include=set(MentionOut.model_fields) - {"assertion"}),
                assertion=mention.assertion.value,
            )
            for mention in recording.mentions
        ),
        measures=tuple(
            MeasureOut(**measure.model_dump(include=set(MeasureOut.model_fields))) for measure in recording.measures
        ),
    )
