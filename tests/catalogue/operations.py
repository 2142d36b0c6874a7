"""Invented operations told in a few words, and laid out as an intake would find them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from indexer.models import (
    AssertionKind,
    Boundary,
    CaseContent,
    Cue,
    FoundFinding,
    Measure,
    Mention,
    Part,
    Probe,
    Segment,
    Tagging,
    Transcript,
    Word,
)

Said = tuple[str, str, str]
"""Concept, assertion, and the words of the passage that name it."""
Told = tuple[str, str, Sequence[Said]]
"""A passage: its step, its words, what they name."""

WORD_MS = 400


def probe(content_hash: str = "0" * 64, *, duration_ms: int = 600_000) -> Probe:
    return Probe(
        size_bytes=1000,
        content_hash=content_hash,
        container="mp4",
        codec="h264",
        pixel_format="yuv420p",
        width=640,
        height=360,
        rotation=0,
        duration_ms=duration_ms,
        claimed_ms=None,
        frames=duration_ms // 40,
        frame_rate=25.0,
        constant_rate=True,
        key_frame_gap_ms=1000,
        interlaced=False,
        audio_codec=None,
    )


def told(passages: Sequence[Told]) -> tuple[Transcript, list[Segment], list[Mention]]:
    """Lay passages end to end, a word each 400 ms, a cue for each passage."""
    words: list[Word] = []
    cues, segments, mentions = [], [], []
    for number, (step, text, said) in enumerate(passages):
        first = len(words)
        for word in text.split():
            at = len(words) * WORD_MS
            words.append(Word(text=word, start_ms=at, end_ms=at + WORD_MS, cue=number, timing="given"))
        start_ms, end_ms = first * WORD_MS, len(words) * WORD_MS
        cues.append(Cue(start_ms=start_ms, end_ms=end_ms, text=text))
        segments.append(
            Segment(step=step, start=boundary(start_ms), end=boundary(end_ms), confidence=0.8),
        )
        for concept, assertion, heard in said:
            at = first + len(text[: text.index(heard)].split())
            last = at + len(heard.split())
            mentions.append(
                Mention(
                    concept=concept,
                    assertion=AssertionKind(assertion),
                    start_ms=at * WORD_MS,
                    end_ms=last * WORD_MS,
                    first_word=at,
                    last_word=last,
                    heard=heard,
                    confidence=0.9,
                )
            )
    return Transcript(format="webvtt", cues=tuple(cues), words=tuple(words)), segments, mentions


def boundary(at_ms: int) -> Boundary:
    return Boundary(at_ms=at_ms, source="word", spread_ms=500)


def content(
    passages: Sequence[Told],
    *,
    findings: Sequence[str] = (),
    measures: Sequence[Measure] = (),
    content_hash: str = "0" * 64,
    path: Path = Path("/recordings/one.mp4"),
) -> CaseContent:
    transcript, segments, mentions = told(passages)
    return CaseContent(
        parts=(Part(path=path, probe=probe(content_hash), start_ms=0),),
        film=None,
        length_ms=600_000,
        frame_rate=25.0,
        width=640,
        height=360,
        has_sound=False,
        stills_ms=(0, 5_000, 10_000),
        transcript=transcript,
        transcript_name="one.vtt",
        transcript_bytes=b"WEBVTT",
        tagging=Tagging(
            language="en",
            segments=tuple(segments),
            mentions=tuple(mentions),
            measures=tuple(measures),
            findings=tuple(FoundFinding(concept=finding, confidence=0.9) for finding in findings),
        ),
    )
