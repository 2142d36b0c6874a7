"""A transcript laid onto its film: shifted, kept within the film, and what had to be left out told."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeVar

from indexer.models import Cue, Transcript, Word
from indexer.timespan import clock

Timed = TypeVar("Timed", Cue, Word)

GRACE_MS = 3000
"""Words so little behind the end of the film were only written down late, and belong to its last moment."""


def laid_onto_film(transcript: Transcript, offset_ms: int, length_ms: int) -> Transcript | None:
    """The transcript in the film's time, without what lies outside the film; None where nothing is left."""
    kept: dict[int, int] = {}
    cues: list[Cue] = []
    for place, cue in enumerate(transcript.cues):
        if _within(cue, offset_ms, length_ms):
            kept[place] = len(cues)
            cues.append(_moved(cue, offset_ms, length_ms))
    words = [
        _moved(word, offset_ms, length_ms).model_copy(update={"cue": kept[word.cue]})
        for word in transcript.words
        if word.cue in kept and _within(word, offset_ms, length_ms)
    ]
    if not words:
        return None
    return transcript.model_copy(update={"cues": tuple(cues), "words": tuple(words)})


def _within(timed: Cue | Word, offset_ms: int, length_ms: int) -> bool:
    return timed.end_ms + offset_ms > 0 and timed.start_ms + offset_ms < length_ms + GRACE_MS


def _moved(timed: Timed, offset_ms: int, length_ms: int) -> Timed:
    start_ms = max(0, min(length_ms - 1, timed.start_ms + offset_ms))
    end_ms = min(length_ms, timed.end_ms + offset_ms)
    return timed.model_copy(update={"start_ms": start_ms, "end_ms": max(start_ms, end_ms)})


def remarks_on(original: Transcript, laid: Transcript, offset_ms: int, length_ms: int) -> Iterator[str]:
    """Sentences on what of the transcript could not be used."""
    if original.left_out:
        first = original.left_out[0]
        many = len(original.left_out)
        what = f"{many} pieces" if many > 1 else "A piece"
        yield f"{what} of the transcript could not be used; the first in line {first.line}: {first.reason}."
    outside = len(original.words) - len(laid.words)
    if outside:
        last_ms = max(word.end_ms for word in original.words) + offset_ms
        what = f"{outside} words of the transcript lie" if outside > 1 else "A word of the transcript lies"
        until = f"it speaks until {clock(last_ms)}, the film ends at {clock(length_ms)}"
        yield f"{what} outside the film and left no mark ({until})."
