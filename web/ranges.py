"""Byte ranges of a film, as RFC 9110 (14.1, 14.2) wants them; werkzeug does the sending.

Werkzeug answers 416 to several ranges, to units that it does not know and to a header that is no range at all, and
takes a range for HEAD; the standard wants these ignored, or leaves them to us. So the header is read here first, and
what werkzeug gets to see is one plain range or none.
"""

from __future__ import annotations

import re
from typing import Literal

from werkzeug.wrappers import Request

RANGE_HEADER = re.compile(r"bytes=[ \t]*(?:([0-9]{1,40})-([0-9]{0,40})|-([0-9]{1,40}))[ \t]*", re.IGNORECASE)


def chosen_range(header: str | None, length: int) -> tuple[int, int] | Literal["all", "none"]:
    """First byte and byte behind the last of the range that is asked for, in a file of `length` bytes.

    `all` where the header is absent or to be ignored (another unit, several ranges, no valid range), `none` where it is
    a valid range that this file cannot satisfy.
    """
    match = RANGE_HEADER.fullmatch(header.strip()) if header else None
    if match is None:
        return "all"
    first, last, suffix = match.groups()
    if suffix is not None:
        wanted = min(int(suffix), length)
        return (length - wanted, length) if wanted else "none"
    start, end = int(first), int(last) + 1 if last else length
    if end <= start and last:
        return "all"
    return (start, min(end, length)) if start < length else "none"


def _other_condition(request: Request) -> bool:
    """Whether a condition comes before the range: 304 wins over it, and a weak tag never proves the bytes the same."""
    headers = request.headers
    weak = headers.get("If-Range", "").lstrip().startswith("W/")
    return weak or "If-None-Match" in headers or "If-Modified-Since" in headers


def settle_range(request: Request, length: int) -> None:
    """Rewrite the request's Range header to one plain range, or take it away where it is to be ignored."""
    environ = request.environ
    chosen = chosen_range(environ.get("HTTP_RANGE"), length)
    if chosen == "all" or request.method != "GET" or _other_condition(request):
        environ.pop("HTTP_RANGE", None)
    elif chosen == "none":
        # werkzeug answers 416 with `Content-Range: bytes */length` to a start behind the end
        environ["HTTP_RANGE"] = f"bytes={length}-"
    else:
        environ["HTTP_RANGE"] = f"bytes={chosen[0]}-{chosen[1] - 1}"
