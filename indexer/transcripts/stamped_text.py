"""Plain text with stamps: `[m:ss]`, `(h:mm:ss)`, or bare at the beginning of a line, as pasted from a web player.

A stamp is the start of its block, which lasts to the next stamp. No library reads this form, for it is nobody's.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field

from indexer.errors import TranscriptUnreadable
from indexer.models.timed import LeftOut
from indexer.timespan import parse_clock
from indexer.transcripts.captions import LINE_END
from indexer.transcripts.cue_text import words_of
from indexer.transcripts.pieces import LONGEST_MS, Piece, Sheet

CLOCK = r"[0-9]{1,3}:[0-9]{2}(?::[0-9]{2})?(?:[.,][0-9]{1,3})?"
TIMES = rf"({CLOCK})(?:\s*(?:-{{1,3}}>|[-–—]|to)\s*({CLOCK}))?"
BRACKETED = re.compile(rf"[\[(]\s*{TIMES}\s*[\])]\s*:?")
BARE = re.compile(rf"\s*(?:[-*•]\s+)?{TIMES}(?=\s|$|[-–—|:](?:\s|$))\s*(?:[-–—|:](?=\s|$))?")
LABELLED = re.compile(rf"\s*(?:[^\s\[(]\S*\s+){{1,3}}[\[(]?{TIMES}[\])]?\s*(?::\s*)?$")
EXPECTED = "expected a time such as [1:05] before the words"


@dataclass(slots=True)
class Block:
    """A stamp and the lines of text behind it; the first block of a file has no stamp."""

    line: int
    stamp: re.Match[str] | None
    start_ms: int | None = None
    lines: list[str] = field(default_factory=list)


def read(text: str, name: str) -> Sheet:
    """Read stamped text. Raises TranscriptUnreadable where it has no stamp that can be read."""
    lines = LINE_END.split(text)
    before, *blocks = _blocks(lines, _form(lines))
    kept = _forward([block.start_ms for block in blocks])
    if not kept:
        raise TranscriptUnreadable(name, blocks[0].line if blocks else 1, EXPECTED + ".")
    left_out = [LeftOut(line=1, reason="words before the first time")] if "".join(before.lines).strip() else []
    last = before
    for place, block in enumerate(blocks):
        if place in kept:
            last = block
        else:
            last.lines += block.lines
            left_out.append(LeftOut(line=block.line, reason=_fault(block)))
    return Sheet(tuple(_piece(blocks[place]) for place in sorted(kept)), tuple(left_out))


def _form(lines: Sequence[str]) -> re.Pattern[str]:
    """The form of stamp that opens most lines; bracketed ones may also stand inside lines."""
    forms = (BRACKETED, BARE, LABELLED)
    counts = [sum(form.match(line.lstrip()) is not None for line in lines) for form in forms]
    return forms[counts.index(max(counts))]


def _blocks(lines: Sequence[str], form: re.Pattern[str]) -> list[Block]:
    blocks = [Block(1, None)]
    for number, line in enumerate(lines, 1):
        at = 0
        for stamp in form.finditer(line) if form is BRACKETED else filter(None, [form.match(line)]):
            blocks[-1].lines.append(line[at : stamp.start()])
            blocks.append(Block(number, stamp, _in_reach(parse_clock(stamp[1]))))
            at = stamp.end()
        blocks[-1].lines.append(line[at:])
    return blocks


def _in_reach(time_ms: int | None) -> int | None:
    return time_ms if time_ms is not None and time_ms <= LONGEST_MS else None


def _forward(times_ms: Sequence[int | None]) -> set[int]:
    """The places of the longest run of times that never go back: one mistyped time must not cost the others."""
    ends: list[int] = []  # the smallest last time of a run of each length, and the place where it stands
    places: list[int] = []
    before: dict[int, int | None] = {}
    for place, time_ms in enumerate(times_ms):
        if time_ms is None:
            continue
        length = bisect_right(ends, time_ms)
        ends[length : length + 1] = [time_ms]
        places[length : length + 1] = [place]
        before[place] = places[length - 1] if length else None
    kept: set[int] = set()
    at = places[-1] if places else None
    while at is not None:
        kept.add(at)
        at = before[at]
    return kept


def _fault(block: Block) -> str:
    if block.start_ms is None:
        return EXPECTED + "; its words were kept under the time before"
    return "a time that runs backwards; its words were kept under the time before"


def _piece(block: Block) -> Piece:
    if block.stamp is None or block.start_ms is None:
        raise ValueError("a block without a time makes no piece")
    end_ms = parse_clock(block.stamp[2]) if block.stamp[2] else None
    exact = "." in block.stamp[1] or "," in block.stamp[1]
    lines = tuple(line for text in block.lines for line in words_of(text) if line)
    return Piece(block.line, block.start_ms, end_ms, lines, rough_ms=0 if exact else 1000)
