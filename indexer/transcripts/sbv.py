"""SBV, read by webvtt-py.

Ours, because webvtt-py refuses a file whose first block is no cue, leaves marks of line ends (`[br]`) in the text, and
drops cues without saying so: the file is handed to it from its first cue with words on, and what it drops is told.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from indexer.errors import TranscriptUnreadable
from indexer.timespan import parse_clock, webvtt_clock
from indexer.transcripts.captions import LINE_END, TimeLine, lay_beside, time_line
from indexer.transcripts.pieces import Sheet

TIMES = re.compile(r"\s*([0-9]+(?::[0-9]+){1,2}(?:\.[0-9]+)?)\s*,\s*([0-9]+(?::[0-9]+){1,2}(?:\.[0-9]+)?)\s*$")
LINE_MARK = re.compile(r"\[br\]", re.IGNORECASE)
EXPECTED = "expected a time line such as 0:01:02.500,0:01:05.000"


def read(text: str, name: str) -> Sheet:
    """Read SBV. Raises TranscriptUnreadable where it has no time line that can be read."""
    import webvtt

    lines = LINE_END.split(LINE_MARK.sub(" ", text))
    times = [time for number, line in enumerate(lines, 1) for time in _time_line(number, line)]
    if all(time.fault for time in times):
        raise TranscriptUnreadable(name, times[0].line if times else 1, EXPECTED + ".")
    rewritten = _rewritten(lines, times)
    pieces, left_out = lay_beside(
        webvtt.from_buffer(iter(rewritten), format="sbv").captions if rewritten else [], times
    )
    return Sheet(tuple(pieces), tuple(left_out))


def _rewritten(lines: Sequence[str], times: Sequence[TimeLine]) -> list[str]:
    """The lines from the first cue with words on, which is what webvtt-py knows the form by."""
    at = {time.line: time for time in times}
    rewritten: list[str] = []
    for number, line in enumerate(lines, 1):
        time = at.get(number)
        if time is not None and (rewritten or (not time.fault and "".join(lines[number : number + 1]).strip())):
            rewritten += ["", "no time" if time.fault else _canonical(time)]
        elif rewritten:
            rewritten.append(line)
    return rewritten


def _time_line(number: int, line: str) -> Iterator[TimeLine]:
    match = TIMES.match(line)
    if match is not None:
        yield time_line(number, parse_clock(match[1]), parse_clock(match[2]), EXPECTED)


def _canonical(time: TimeLine) -> str:
    return f"{webvtt_clock(time.start_ms or 0)},{webvtt_clock(time.end_ms or 0)}"
