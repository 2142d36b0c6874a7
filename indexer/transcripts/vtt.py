"""WebVTT, read by webvtt-py.

Ours, because webvtt-py does otherwise than the standard's parser (W3C WebVTT, section 6):
- the signature: webvtt-py takes `WEBVTTgarbage` for one;
- the time line: webvtt-py takes `0:1.5`, which the standard refuses; such a cue is left out, and named;
and because it is silent: cues that were dropped, and text that stands without a time, are told with their line.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from indexer.errors import TranscriptUnreadable
from indexer.models.timed import LeftOut
from indexer.timespan import parse_clock
from indexer.transcripts.captions import LINE_END, TimeLine, lay_beside, time_line
from indexer.transcripts.pieces import Sheet

SIGNATURE = re.compile(r"WEBVTT(?:[ \t]|$)")
CLOCK = r"(?:[0-9]+:)?[0-5][0-9]:[0-5][0-9]\.[0-9]{3}(?![0-9])"
STANDARD = re.compile(rf"[ \t\f]*{CLOCK}[ \t\f]*-->[ \t\f]*{CLOCK}")
# What webvtt-py takes for a time line.
LENIENT = re.compile(r"\s*((?:\d+:)?\d{1,2}:\d{1,2}\.\d{1,3})\s*-->\s*((?:\d+:)?\d{1,2}:\d{1,2}\.\d{1,3})")
SPECIAL = re.compile(r"(?:NOTE(?:[ \t]|$)|STYLE[ \t]*$|REGION[ \t]*$)")
LANGUAGE = re.compile(r"language:\s*([A-Za-z]{2,3}(?:-[A-Za-z0-9]{1,8})*)\s*$", re.IGNORECASE)
EXPECTED = "expected a time line such as 00:01:02.500 --> 00:01:05.000"


def read(text: str, name: str) -> Sheet:
    """Read WebVTT. Raises TranscriptUnreadable where the first line is not that of WebVTT."""
    import webvtt

    lines = LINE_END.split(text)
    if not SIGNATURE.match(lines[0]):
        raise TranscriptUnreadable(name, 1, "expected a first line that is WEBVTT, alone or followed by a space.")
    times = [_time_line(number, line) for number, line in enumerate(lines, 1) if "-->" in line]
    pieces, left_out = lay_beside(webvtt.from_string(text).captions, times)
    left_out += _untimed(lines)
    return Sheet(tuple(pieces), tuple(sorted(left_out, key=lambda one: one.line)), _language(lines))


def _time_line(number: int, line: str) -> TimeLine:
    match = LENIENT.match(line)
    start_ms, end_ms = (parse_clock(match[1]), parse_clock(match[2])) if match else (None, None)
    time = time_line(number, start_ms, end_ms, EXPECTED)
    return time if time.fault or STANDARD.match(line) else time._replace(fault=EXPECTED)


def _untimed(lines: Sequence[str]) -> Iterator[LeftOut]:
    """Blocks behind the header that have no time line and are no comment, style or region."""
    block: list[str] = []
    first = behind = 0
    for number, line in enumerate([*lines, ""], 1):
        if line:
            first = first if block else number
            block.append(line)
            continue
        words = any(any(letter.isalnum() for letter in one) for one in block)
        if block and behind and words and not SPECIAL.match(block[0]) and not any("-->" in one for one in block):
            yield LeftOut(line=first, reason="text without a time line")
        behind += bool(block)
        block = []


def _language(lines: Sequence[str]) -> str | None:
    for line in lines[1:]:
        if not line or "-->" in line:
            return None
        match = LANGUAGE.match(line)
        if match:
            return match[1]
    return None
