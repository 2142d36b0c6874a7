"""Values of the catalogue as the documents that the console prints."""

from __future__ import annotations

from typing import Any

from indexer.models import Passage
from indexer.timespan import seconds


def passage_json(passage: Passage) -> dict[str, Any]:
    """A passage as the console prints it: times in seconds, the excerpt as one text with what was asked for in **."""
    return {
        "title": passage.title,
        "start": seconds(passage.start_ms),
        "end": seconds(passage.end_ms),
        "step": passage.step,
        "segment_start": seconds(passage.segment_start_ms),
        "excerpt": "".join(f"**{text}**" if matched else text for text, matched in passage.excerpt),
        "why": list(passage.why),
        "missing": list(passage.missing),
        "score": passage.score,
        "case": passage.case_id,
        "recording": passage.recording_id,
        "segment": passage.segment_id,
    }
