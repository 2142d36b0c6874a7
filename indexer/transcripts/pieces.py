"""What a reader hands on: pieces of text with the times that the file gives, before words are timed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, NamedTuple

from indexer.models.timed import LeftOut

LONGEST_MS = 100 * 3_600_000
"""No recording lasts longer (a hundred hours); a later time is a fault of the file."""


class Token(NamedTuple):
    """One word of a piece, with the times that the file gives for it, in milliseconds."""

    text: str
    start_ms: int | None = None
    end_ms: int | None = None


@dataclass(frozen=True, slots=True)
class Piece:
    """One timed piece of text: a cue, a block or a segment, its words line by line as shown."""

    line: int
    """Where in the file it stands, from 1; for messages."""
    start_ms: int
    end_ms: int | None
    """None: it lasts to the start of the next piece, or as long as its words need."""
    lines: tuple[tuple[Token, ...], ...]
    rough_ms: int = 0
    """The start was rounded down to steps of this length."""

    def tokens(self) -> Iterator[Token]:
        """All words, in order."""
        for line in self.lines:
            yield from line

    @property
    def texts(self) -> tuple[tuple[str, ...], ...]:
        """The words of each line as plain text."""
        return tuple(tuple(token.text for token in line) for line in self.lines)


@dataclass(frozen=True, slots=True)
class Sheet:
    """All that a reader made of a file."""

    pieces: tuple[Piece, ...]
    left_out: tuple[LeftOut, ...] = ()
    language: str | None = None
    timing: Literal["given", "inline"] = "inline"
    """Where the times of single words come from, if there are any."""
