"""SubRip, read by webvtt-py.

Ours, because webvtt-py drops, without a word, what players show: cues whose number is missing, files that do not begin
with the number of a cue, times without hours (`01:02,500`) or with a sign (`-00:00:00,200`, read as zero). The time
lines are therefore written anew, in the one way that webvtt-py reads, before it reads the file.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from indexer.errors import TranscriptUnreadable
from indexer.models.timed import LeftOut
from indexer.timespan import parse_clock, webvtt_clock
from indexer.transcripts.captions import LINE_END, TimeLine, lay_beside, time_line
from indexer.transcripts.pieces import Sheet

CLOCK = r"(-?)\s*([0-9]+(?::[0-9]+){1,2}(?:[.,][0-9]+)?)"
TIMES = re.compile(rf"\s*{CLOCK}\s*-{{1,3}}>\s*{CLOCK}")
EXPECTED = "expected a time line such as 00:01:02,500 --> 00:01:05,000"


def read(text: str, name: str) -> Sheet:
    """Read SubRip. Raises TranscriptUnreadable where it has no time line that can be read."""
    import webvtt

    lines = LINE_END.split(text)
    times = [time for number, line in enumerate(lines, 1) for time in _time_line(number, line)]
    good = [time.line for time in times if time.fault is None]
    if not good:
        raise TranscriptUnreadable(name, times[0].line if times else 1, EXPECTED + ".")
    captions = webvtt.from_buffer(iter(_rewritten(lines, times)), format="srt").captions
    pieces, left_out = lay_beside(captions, times)
    return Sheet(tuple(pieces), tuple(_before(lines[: times[0].line - 1]) + left_out))


def _time_line(number: int, line: str) -> Iterator[TimeLine]:
    match = TIMES.match(line) if "->" in line else None
    if match is not None:
        start_ms, end_ms = parse_clock(match[2]), parse_clock(match[4])
        start_ms = 0 if match[1] and start_ms is not None else start_ms
        end_ms = 0 if match[3] and end_ms is not None else end_ms
        yield time_line(number, start_ms, end_ms, EXPECTED)
    elif "-->" in line:
        yield TimeLine(number, None, None, EXPECTED)


def _rewritten(lines: Sequence[str], times: Sequence[TimeLine]) -> list[str]:
    """The lines from the first time line on; each cue opens with an empty line, a number and its times."""
    at = {time.line: time for time in times}
    rewritten: list[str] = []
    for number in range(times[0].line, len(lines) + 1):
        time, line = at.get(number), lines[number - 1]
        if time is None:
            rewritten.append(line)
            continue
        if rewritten and rewritten[-1].strip().isdigit():
            rewritten.pop()
        rewritten += ["", "1", "-->" if time.fault else _canonical(time)]
    return [*rewritten[1:], "", ""]  # webvtt-py takes nothing below three lines for SubRip


def _canonical(time: TimeLine) -> str:
    return f"{webvtt_clock(time.start_ms or 0)} --> {webvtt_clock(time.end_ms or 0)}"


def _before(lines: Sequence[str]) -> list[LeftOut]:
    """What stands before the first time line, but for its number."""
    spoken = [number for number, line in enumerate(lines, 1) if line.strip() and not line.strip().isdigit()]
    return [LeftOut(line=spoken[0], reason="text without a time line")] if spoken else []
