"""The only clock arithmetic: integer milliseconds, spans of them, and how times are read and written."""

from __future__ import annotations

from typing import NamedTuple


class Span(NamedTuple):
    """A stretch of time, `start_ms` inclusive to `end_ms` exclusive, in milliseconds."""

    start_ms: int
    end_ms: int

    @property
    def length_ms(self) -> int:
        """How long the span is, never below zero."""
        return max(0, self.end_ms - self.start_ms)

    def overlap_ms(self, other: Span) -> int:
        """How long both spans hold at once."""
        return max(0, min(self.end_ms, other.end_ms) - max(self.start_ms, other.start_ms))


def seconds(milliseconds: int) -> float:
    """Milliseconds as seconds, for the documents we exchange."""
    return milliseconds / 1000


def milliseconds(value: float) -> int:
    """Seconds as whole milliseconds, rounded half to even."""
    return round(value * 1000)


def clock(milliseconds: int, *, tenths: bool = False) -> str:
    """Write a time as people say it: `7:05`, `1:02:03`, with tenths `7:05.3`."""
    sign, rest = ("-", -milliseconds) if milliseconds < 0 else ("", milliseconds)
    whole, milli = divmod(rest, 1000)
    hours, minutes, secs = whole // 3600, whole // 60 % 60, whole % 60
    text = f"{hours}:{minutes:02}:{secs:02}" if hours else f"{minutes}:{secs:02}"
    return f"{sign}{text}.{milli // 100}" if tenths else sign + text


def webvtt_clock(milliseconds: int) -> str:
    """Write a time as WebVTT wants it: `00:07:05.300`."""
    whole, milli = divmod(max(0, milliseconds), 1000)
    return f"{whole // 3600:02}:{whole // 60 % 60:02}:{whole % 60:02}.{milli:03}"
