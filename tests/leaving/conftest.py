"""A library with one case whose recording has words burnt in, a voice, and names in its transcript."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np
import pytest
from operated import LENGTH_MS, NAME, NUMBER, RATE, SAID, Operated

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.footage.probing import probe
from indexer.models.cases import CaseContent, CaseDraft
from indexer.models.footage import Part
from indexer.models.identifying import KnownName
from indexer.models.timed import Cue, Transcript, Word
from indexer.vocabulary.vocabulary import Vocabulary
from tests.privacy.planted_overlays import background


@pytest.fixture(scope="session")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three seconds with a number burnt in from beginning to end, a tone, and a time and a name in the container."""
    path = tmp_path_factory.mktemp("films") / "burnt.mp4"
    with av.open(str(path), "w") as container:
        container.metadata["title"] = NAME
        container.metadata["creation_time"] = "2024-03-14T09:26:53Z"
        video = container.add_stream("libx264", rate=RATE, options={"preset": "veryfast", "g": "25"})
        video.width, video.height, video.pix_fmt = 854, 480, "yuv420p"
        sound = container.add_stream("aac", rate=48000, layout="mono")
        for number, picture in enumerate(background(4)):
            if number >= LENGTH_MS * RATE // 1000:
                break
            cv2.putText(picture, NUMBER, (30, 450), cv2.FONT_HERSHEY_SIMPLEX, 0.8, (230, 230, 230), 2, cv2.LINE_AA)
            container.mux(video.encode(av.VideoFrame.from_ndarray(picture, format="bgr24")))
        for frame in _tone():
            container.mux(sound.encode(frame))
        container.mux(video.encode(None))
        container.mux(sound.encode(None))
    return path


def _tone() -> Iterator[av.AudioFrame]:
    count = 48 * LENGTH_MS
    wave = (0.3 * np.sin(2 * np.pi * 440 * np.arange(count) / 48000)).astype(np.float32)
    for start in range(0, count, 1024):
        frame = av.AudioFrame.from_ndarray(wave[None, start : start + 1024], format="fltp", layout="mono")
        frame.sample_rate, frame.pts, frame.time_base = 48000, start, Fraction(1, 48000)
        yield frame


@pytest.fixture
def operated(tmp_path: Path, film: Path, vocabulary: Vocabulary) -> Iterator[Operated]:
    settings = Settings(library=tmp_path / "library")
    with Library.open(settings.library, vocabulary=vocabulary) as library:
        job = library.begin_case(CaseDraft(title="Small pupil", sources=(film,)))
        known = probe(film, settings)
        library.publish(
            job.id,
            CaseContent(
                parts=(Part(path=film, probe=known, start_ms=0),),
                film=None,
                length_ms=known.duration_ms,
                frame_rate=known.frame_rate,
                width=known.width,
                height=known.height,
                has_sound=True,
                transcript=_transcript(),
                transcript_name="burnt.vtt",
                transcript_bytes=b"WEBVTT",
            ),
        )
        library.add_name(library.owner, KnownName(text=NAME), case_id=job.case_id)
        yield Operated(library, job.case_id, job.recording_id, film, settings)


def _transcript() -> Transcript:
    words: list[Word] = []
    for cue, (text, start) in enumerate(SAID):
        for place, word in enumerate(text.split()):
            at = start + 150 * place
            words.append(Word(text=word, start_ms=at, end_ms=at + 130, cue=cue, timing="given"))
    cues = tuple(Cue(start_ms=start, end_ms=start + 900, text=text) for text, start in SAID)
    return Transcript(format="webvtt", cues=cues, words=tuple(words))


@pytest.fixture(scope="session")
def vocabulary() -> Vocabulary:
    return Vocabulary([])
