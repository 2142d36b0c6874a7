"""Bytes to text: UTF-8 and UTF-16 with or without a byte order mark, UTF-32 with one, Windows-1252."""

from __future__ import annotations

import codecs
import re

from indexer.errors import TranscriptUnreadable

MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
SAMPLE = 4096
CONTROL = re.compile(r"[\x00-\x08\x0e-\x1a\x1c-\x1f\x7f]")
UNSEEN = re.compile("[\u200b\u200e\u200f\u202a-\u202e\u2060\ufeff]")
LONE_SURROGATE = re.compile("[\ud800-\udfff]")


def decode(data: bytes, name: str) -> str:
    """The text of a file. Raises TranscriptUnreadable where it is empty or no text at all.

    A byte that fits no encoding becomes U+FFFD, as does NUL (which WebVTT asks for).
    """
    text = _decode(data)
    if not text.strip("\x00\ufeff \t\r\n"):
        raise TranscriptUnreadable(name, None, "the file is empty; expected timed text.")
    odd = len(CONTROL.findall(text[:SAMPLE]))
    if odd > 4 and odd > 0.02 * len(text[:SAMPLE]):
        raise TranscriptUnreadable(name, None, "this is no text file; expected WebVTT, SubRip, SBV, text or JSON.")
    return printable(text)


def printable(text: str) -> str:
    """The text without what cannot be shown or stored: NUL and lone surrogates become U+FFFD, unseen marks go."""
    if text.isascii():
        return text.replace("\x00", "\ufffd")
    return LONE_SURROGATE.sub("\ufffd", UNSEEN.sub("", text.replace("\x00", "\ufffd")))


def _decode(data: bytes) -> str:
    for mark, encoding in MARKS:
        if data.startswith(mark):
            return data[len(mark) :].decode(encoding, errors="replace")
    wide = _wide_encoding(data)
    if wide:
        return data.decode(wide, errors="replace")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return _nearest(data)


def _wide_encoding(data: bytes) -> str | None:
    """UTF-16 without a mark: every other byte of Latin text is zero."""
    sample = data[: SAMPLE - SAMPLE % 2]
    pairs = len(sample) // 2
    even, odd = sample[0 : 2 * pairs : 2].count(0), sample[1 : 2 * pairs : 2].count(0)
    if odd > 0.4 * pairs and even < 0.1 * pairs:
        return "utf-16-le"
    if even > 0.4 * pairs and odd < 0.1 * pairs:
        return "utf-16-be"
    return None


def _nearest(data: bytes) -> str:
    """UTF-8 with a few damaged bytes, or else Windows-1252."""
    text = data.decode("utf-8", errors="replace")
    bad = text.count("\ufffd")
    good = sum(character > "\x7f" for character in text) - bad
    return text if good > 2 * bad else data.decode("cp1252", errors="replace")
