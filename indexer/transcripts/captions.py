"""What WebVTT, SubRip and SBV share: the cues that webvtt-py read, laid beside the time lines of the file.

webvtt-py tells neither the line of a cue nor what it dropped. A cue keeps the times of its time line, and cues come
in the order of the file; so the two lists are walked side by side, and a time line without a cue was dropped.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple, Protocol

from indexer.models.timed import LeftOut
from indexer.timespan import parse_clock
from indexer.transcripts.cue_text import words_of
from indexer.transcripts.pieces import LONGEST_MS, Piece

LINE_END = re.compile(r"\r\n|\n|\r")


class Caption(Protocol):
    """What we use of a caption of webvtt-py."""

    start: str
    end: str

    @property
    def raw_text(self) -> str:
        """The text with its tags."""


class TimeLine(NamedTuple):
    """The time line of a cue: its place in the file (from 1), its times, and what is wrong with it, if anything.

    The times are those that webvtt-py finds in it, also where it should not: they are how its cue is known.
    """

    line: int
    start_ms: int | None
    end_ms: int | None
    fault: str | None = None


def lay_beside(captions: Iterable[Caption], times: Sequence[TimeLine]) -> tuple[list[Piece], list[LeftOut]]:
    """Give every cue its line, and tell every time line that has a fault."""
    places: dict[tuple[int | None, int | None], list[int]] = {}
    for place in range(len(times) - 1, -1, -1):
        places.setdefault((times[place].start_ms, times[place].end_ms), []).append(place)
    pieces: list[Piece] = []
    reached = 0
    for caption in captions:
        ahead = places.get((parse_clock(caption.start), parse_clock(caption.end)), [])
        while ahead and ahead[-1] < reached:
            ahead.pop()
        if ahead:
            reached = ahead.pop()
            pieces += _piece(times[reached], caption)
            reached += 1
    return pieces, [LeftOut(line=time.line, reason=time.fault) for time in times if time.fault]


def _piece(time: TimeLine, caption: Caption) -> Iterator[Piece]:
    if time.fault is None and time.start_ms is not None:
        yield Piece(time.line, time.start_ms, time.end_ms, words_of(caption.raw_text))


def time_line(line: int, start_ms: int | None, end_ms: int | None, expected: str) -> TimeLine:
    """A time line of a file: with a fault where a time could not be read, or lies beyond every recording."""
    if start_ms is None or end_ms is None:
        return TimeLine(line, None, None, expected)
    if max(start_ms, end_ms) > LONGEST_MS:
        return TimeLine(line, start_ms, end_ms, "a time beyond 100 hours")
    return TimeLine(line, start_ms, end_ms)
