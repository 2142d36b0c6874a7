"""Identifiers that their writing gives away: e-mail and web addresses, IP and MAC addresses, dates, telephone numbers."""

from __future__ import annotations

import re
from collections.abc import Iterator

from indexer.models.identifying import IdentifierKind as Kind
from indexer.privacy.finding import Found

_MONTH = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|sept|oct|nov|dec)[a-z]*"
_OCTET = r"(?:25[0-5]|2[0-4]\d|1?\d?\d)"

# In this order: what an earlier pattern took is not looked at again.
PATTERNS: tuple[tuple[Kind, float, re.Pattern[str]], ...] = tuple(
    (kind, certainty, re.compile(pattern, re.IGNORECASE))
    for kind, certainty, pattern in (
        (Kind.EMAIL, 1.0, r"[\w.+-]{1,64}@[\w-]{1,63}(?:\.[\w-]{1,63}){1,5}"),
        (Kind.WEB, 1.0, r"\b(?:https?|ftp|rtsp|sftp)://[^\s<>\"']{3,}"),
        (Kind.WEB, 0.95, r"\bwww\.[\w-]+(?:\.[\w-]+)+(?:/[^\s<>\"']*)?"),
        (Kind.WEB, 0.85, r"\b[a-z][\w-]+(?:\.[\w-]+)*\.(?:org|com|net|edu|gov|info|hospital|clinic|health|example)\b"
                         r"(?:/[^\s<>\"']*)?"),
        (Kind.IP, 1.0, rf"(?<![\d.]){_OCTET}(?:\.{_OCTET}){{3}}(?!\.?\d)"),
        (Kind.IP, 1.0, r"(?<![\w:])(?:[0-9a-f]{1,4}:){2,7}:?[0-9a-f]{1,4}(?![\w:])(?<=[0-9a-f]{4})"),
        (Kind.DEVICE, 1.0, r"\b[0-9a-f]{2}(?:[:-][0-9a-f]{2}){5}\b"),
        (Kind.OTHER, 1.0, r"\b[0-9a-f]{8}-(?:[0-9a-f]{4}-){3}[0-9a-f]{12}\b"),
        (Kind.OTHER, 1.0, r"\b[0-2](?:\.\d{1,}){5,}\b"),  # an object identifier, as of DICOM
        (Kind.PLACE, 1.0, r"[+-]\d{1,3}\.\d{2,}[+-]\d{1,3}\.\d{2,}(?:[+-]\d+(?:\.\d+)?)?/?"),  # ISO 6709
        (Kind.PLACE, 0.95, r"\b\d{1,3}\.\d{3,}\s*°?\s*[NS]?,\s*-?\d{1,3}\.\d{3,}\s*°?\s*[EW]?\b"),
        (Kind.DATE, 1.0, r"(?<!\d)(?:18|19|20)\d\d([-/._])(?:0?[1-9]|1[0-2])\1(?:0?[1-9]|[12]\d|3[01])(?!\d)"
                         r"(?:[T _-]\d\d[:.h-]?\d\d(?:[:.-]?\d\d(?:\.\d+)?)?(?:Z|[+-]\d\d:?\d\d)?(?!\d))?"),
        (Kind.DATE, 1.0, r"(?<![\d.])(?:0?[1-9]|[12]\d|3[01])([-/._])(?:0?[1-9]|[12]\d|3[01])\1(?:(?:18|19|20)\d\d|\d\d)"
                         r"(?![\d.]\d|\d)"),
        (Kind.DATE, 0.95, r"(?<!\d)(?:19|20)\d\d(?:0[1-9]|1[0-2])(?:0[1-9]|[12]\d|3[01])(?:[T_-]?\d{4}(?:\d\d)?)?(?!\d)"),
        (Kind.DATE, 0.95, rf"(?<!\d)\d{{1,2}}[-_. ]?{_MONTH}[-_. ]?(?:19|20)?\d\d(?!\d)(?!\.\d)"),
        (Kind.SOCIAL_SECURITY, 0.95, r"(?<![\d-])\d{3}-\d{2}-\d{4}(?![\d-])"),
        (Kind.TELEPHONE, 0.9, r"(?<![\w.])(?:\+\d{1,3}[ .-]?)?\(?\d{2,5}\)?[ .-]\d{3}[ .-]\d{4}(?![\w-])"),
        (Kind.TELEPHONE, 0.95, r"(?<![\w.])\+\d{1,3}(?:[ .-]?\(?\d{1,5}\)?){2,6}(?!\w)"),
        (Kind.TELEPHONE, 0.85, r"(?<![\w.-])\d{3}-\d{4}(?![\w-])"),
    )
)  # fmt: skip
CLOCKS = re.compile(r"(?<![\d:.])(?:[01]?\d|2[0-3]):[0-5]\d(?::[0-5]\d)?(?![\d:])(?:\s?[ap]\.?m\b\.?)?", re.IGNORECASE)
CLOCKS_SAID = re.compile(
    r"(?<![\d:.])(?:[01]?\d|2[0-3])(?::[0-5]\d)(?::[0-5]\d)?\s?(?:[ap]\.?\s?m\b\.?|hours\b|uhr\b)", re.IGNORECASE
)


def written(text: str, *, spoken: bool) -> Iterator[Found]:
    """All that is written like an identifier. `spoken`: a time of the clock may be a place on the eye, so it needs am or pm."""
    taken = [False] * len(text)
    for kind, certainty, pattern in PATTERNS:
        for match in pattern.finditer(text):
            if any(taken[match.start() : match.end()]):
                continue
            taken[match.start() : match.end()] = [True] * (match.end() - match.start())
            yield Found(match.start(), match.end(), kind, "pattern", certainty)
    for match in (CLOCKS_SAID if spoken else CLOCKS).finditer(text):
        if not any(taken[match.start() : match.end()]):
            yield Found(match.start(), match.end(), Kind.DATE, "pattern", 0.7)
