"""A library with the vocabulary that ships, and operations put into it in a few words."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from indexer.catalogue.library import Library
from indexer.models import Boundary, CaseContent, CaseDraft, Kind, Part, Probe, Segment, Standing, Tagging
from indexer.vocabulary.loading import load_vocabulary
from indexer.vocabulary.vocabulary import Vocabulary


@pytest.fixture(scope="session")
def vocabulary() -> Vocabulary:
    return load_vocabulary()


@pytest.fixture
def library(tmp_path: Path, vocabulary: Vocabulary) -> Iterator[Library]:
    with Library.open(tmp_path / "library", vocabulary=vocabulary) as opened:
        yield opened


Add = Callable[..., str]
Span = tuple[str, float, float, str]
"""Step, start and end in seconds, and how sure: `sure`, `edges` (accepted, edges still of the machine), `proposed`."""


@pytest.fixture
def film(library: Library) -> Add:
    """Add a filmed operation; returns the id of its case."""

    def adding(spans: Sequence[Span], *, kind: str = "whole", length_s: float = 600, case_id: str | None = None) -> str:
        draft = CaseDraft(title="Film", sources=(Path("/f.mp4"),), kind=Kind(kind), case_id=case_id, operator="one")
        job = library.begin_case(draft)
        library.publish(job.id, _content(spans, round(length_s * 1000)))
        return job.case_id

    return adding


def _content(spans: Sequence[Span], length_ms: int) -> CaseContent:
    return CaseContent(
        parts=(Part(path=Path("/f.mp4"), probe=_probe(length_ms), start_ms=0),),
        film=None,
        length_ms=length_ms,
        frame_rate=25.0,
        width=640,
        height=360,
        has_sound=False,
        tagging=Tagging(language="en", segments=tuple(_segment(*span) for span in spans)),
    )


def _segment(step: str, start_s: float, end_s: float, sure: str) -> Segment:
    source: Any = "person" if sure == "sure" else "word"
    start, end = (Boundary(at_ms=round(at * 1000), source=source, spread_ms=0) for at in (start_s, end_s))
    standing = Standing.PROPOSED if sure == "proposed" else Standing.ACCEPTED
    return Segment(step=step, start=start, end=end, confidence=0.9, standing=standing)


def _probe(length_ms: int) -> Probe:
    return Probe(
        size_bytes=1, content_hash="0" * 64, container="mp4", codec="h264", pixel_format="yuv420p", width=640,
        height=360, rotation=0, duration_ms=length_ms, claimed_ms=None, frames=length_ms // 40, frame_rate=25.0,
        constant_rate=True, key_frame_gap_ms=1000, interlaced=False, audio_codec=None,
    )  # fmt: skip


@pytest.fixture
def day() -> date:
    return date(2026, 3, 31)
