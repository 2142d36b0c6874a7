"""The only clock arithmetic: integer milliseconds, spans of them, and how times are read and written."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple
from urllib.parse import unquote

# Minutes and seconds of any number where nothing larger stands before them; all ASCII digits.
CLOCK = re.compile(r"(?:(?:([0-9]{1,9}):)?([0-9]{1,9}):)?([0-9]{1,9})(?:[.,]([0-9]+))?")

NO_END_MS = 2**53 - 1
"""The end of a span that nothing bounds: the largest whole number that JSON and JavaScript keep exactly."""

# The grammar of normal play time in W3C Media Fragments 1.0, section 4.2.1.
NPT = r"(?:(?:(?P<{0}h>[0-9]+):)?(?P<{0}m>[0-5][0-9]):(?P<{0}s>[0-5][0-9])|(?P<{0}sec>[0-9]+))(?:\.(?P<{0}f>[0-9]*))?"
NPT_RANGE = re.compile(rf"(?:npt:)?(?:(?:{NPT.format('a')})(?:,{NPT.format('b')})?|,{NPT.format('c')})")


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


@lru_cache(maxsize=4096)  # captions name most times twice or more
def parse_clock(text: str) -> int | None:
    """Read a time as people write it, in milliseconds: `7:05`, `1:02:03.5`, `00:07:05,300`, `75`, `75.25`.

    None where the text is no time, or a part that stands behind a larger one reaches 60.
    """
    match = CLOCK.fullmatch(text.strip())
    if match is None:
        return None
    hour, minute, second, fraction = match.groups()
    hours, minutes, secs = int(hour or 0), int(minute or 0), int(second)
    if (hour and minutes >= 60) or (minute and secs >= 60):
        return None
    return (hours * 3600 + minutes * 60 + secs) * 1000 + _thousandths(fraction)


def parse_fragment(fragment: str, length_ms: int | None) -> Span | None:
    """Read the stretch of time that a W3C Media Fragment (`t=3,7`, `#t=npt:0:01:10`) names.

    `fragment` is what follows the `#` of an address (with or without it). `length_ms` is the length of the recording;
    the span is cut to it, and where it is None an open end is `NO_END_MS`. A start at or beyond the end gives an
    empty span at the end. None where no valid `t=` is there: the whole recording is meant. Of several valid ones
    the last counts. SMPTE and wall-clock times, which the standard leaves to the player, are not read.
    """
    found = None
    for part in fragment.removeprefix("#").split("&"):
        name, _, value = part.partition("=")
        if unquote(name) == "t":
            found = _parse_range(unquote(value)) or found
    if found is None:
        return None
    end_ms = found.end_ms if length_ms is None else min(found.end_ms, length_ms)
    return Span(min(found.start_ms, end_ms), end_ms)


def _parse_range(value: str) -> Span | None:
    match = NPT_RANGE.fullmatch(value)
    if match is None:
        return None
    parts = match.groupdict()
    start_ms = _npt_ms(parts, "a")
    end_ms = max(_npt_ms(parts, "b"), _npt_ms(parts, "c")) if "," in value else NO_END_MS
    return Span(start_ms, end_ms) if start_ms < end_ms else None


def _npt_ms(parts: dict[str, str | None], group: str) -> int:
    """The time of one group of `NPT_RANGE`, zero where it is not there."""
    hours, minutes, secs, whole = (_whole(parts[group + part]) for part in ("h", "m", "s", "sec"))
    return (hours * 3600 + minutes * 60 + secs + whole) * 1000 + _thousandths(parts[group + "f"])


def _whole(digits: str | None) -> int:
    """Digits as a number; more than ten of them mean a time beyond every recording, not slow arithmetic."""
    if not digits:
        return 0
    return int(digits[-10:]) if len(digits) <= 10 or len(digits.lstrip("0")) <= 10 else 10**10


def _thousandths(digits: str | None) -> int:
    """Decimals as milliseconds, rounded; what stands behind the sixth changes nothing that a clock can mean."""
    return round(int(f"{digits[:6]:0<6}") / 1000) if digits else 0
