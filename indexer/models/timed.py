"""Timed text: words, cues, transcripts. All times are integer milliseconds from the start of the recording."""

from __future__ import annotations

from typing import Literal

from indexer.models.frozen import Frozen


class Word(Frozen):
    """One word as it stands in the transcript, with its punctuation, and when it was spoken."""

    text: str
    start_ms: int
    end_ms: int
    cue: int
    """Index of the cue that it stands in."""
    timing: Literal["given", "inline", "spread"] = "spread"
    """`given` by a recogniser, read from an `inline` stamp, or `spread` over its cue by spoken length."""


class Cue(Frozen):
    """One timed piece of text as the file has it, repeats of rolling captions taken out."""

    start_ms: int
    end_ms: int
    text: str


class LeftOut(Frozen):
    """Something of a transcript that could not be used, and why."""

    line: int
    reason: str


class Transcript(Frozen):
    """Timed text of a recording, every word with a start and an end, in order of time."""

    format: Literal["webvtt", "subrip", "sbv", "text", "json"]
    language: str | None = None
    """As the file declares it (BCP 47), or None."""
    cues: tuple[Cue, ...]
    words: tuple[Word, ...]
    left_out: tuple[LeftOut, ...] = ()
