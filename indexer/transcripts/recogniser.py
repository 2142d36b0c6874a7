"""JSON of speech recognisers: segments with `start`, `end` and `text` in seconds, and often `words` with their times.

The segments stand in a list at the top, or under `segments`, with `language` beside them. A word is `word` or `text`.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence

from indexer.errors import TranscriptUnreadable
from indexer.models.timed import LeftOut
from indexer.timespan import milliseconds, parse_clock
from indexer.transcripts.cue_text import words_of
from indexer.transcripts.decoding import printable
from indexer.transcripts.pieces import LONGEST_MS, Piece, Sheet, Token

LANGUAGE = re.compile(r"[A-Za-z]{2,3}(?:[-_][A-Za-z0-9]{1,8})*")
SEGMENTS = re.compile(r'"segments"\s*:\s*\[')
BETWEEN = re.compile(r"[\s,]*")
SPECIAL = re.compile(r"\[_[A-Z0-9_]+\]|<\|[^|]*\|>")
LOOK_AHEAD = 6
EXPECTED = 'expected a list of segments such as [{"start": 0.5, "end": 2.1, "text": "..."}], alone or under "segments"'
SEGMENT = 'expected a segment with "start" and "end" in seconds and "text"'


def read(text: str, name: str) -> Sheet:
    """Read a recogniser's JSON. Raises TranscriptUnreadable where it is no JSON or has no segment that can be read."""
    document = _load(text, name)
    language = document.get("language") if isinstance(document, dict) else None
    segments = document.get("segments") if isinstance(document, dict) else document
    if not isinstance(segments, list):
        raise TranscriptUnreadable(name, 1, EXPECTED + ".")
    pieces = [_piece(segment) for segment in segments]
    good = tuple(piece for piece in pieces if piece is not None)
    bad = [place for place, piece in enumerate(pieces) if piece is None]
    lines = _lines(text, bad)
    if not good:
        raise TranscriptUnreadable(name, lines[0] if lines else 1, (SEGMENT if lines else EXPECTED) + ".")
    left_out = tuple(LeftOut(line=line, reason=SEGMENT) for line in lines)
    known = isinstance(language, str) and LANGUAGE.fullmatch(language)
    return Sheet(good, left_out, language if known else None, "given")


def _load(text: str, name: str) -> object:
    try:
        return json.loads(text)
    except json.JSONDecodeError as error:
        raise TranscriptUnreadable(name, error.lineno, f"no JSON from here on ({error.msg}); {EXPECTED}.") from None
    except (ValueError, RecursionError):  # a number of thousands of digits, or brackets in brackets without end
        raise TranscriptUnreadable(name, None, f"no JSON that can be read; {EXPECTED}.") from None


def _lines(text: str, places: Sequence[int]) -> list[int]:
    """The lines (from 1) on which the segments of those places begin; the text is known to be good JSON."""
    decoder = json.JSONDecoder()
    key = SEGMENTS.search(text) if text.lstrip().startswith("{") else None
    at = key.end() if key else text.find("[") + 1
    lines: list[int] = []
    line, seen = 1, 0
    for place in range(places[-1] + 1 if places else 0):
        at = BETWEEN.match(text, at).end()  # type: ignore[union-attr]  # it matches the empty string
        line, seen = line + text.count("\n", seen, at), at
        if place == places[len(lines)]:
            lines.append(line)
        try:
            at = decoder.raw_decode(text, at)[1]
        except ValueError:  # the key also stood inside something else: no line is better than a wrong one
            return [1] * len(places)
    return lines


def _piece(segment: object) -> Piece | None:
    if not isinstance(segment, Mapping):
        return None
    text, words = segment.get("text"), _given(segment.get("words"))
    said = words_of(printable(text.strip())) if isinstance(text, str) else ()
    start_ms, end_ms = _ms(segment.get("start")), _ms(segment.get("end"))
    if start_ms is None:
        start_ms = next((word.start_ms for word in words if word.start_ms is not None), None)
    if end_ms is None:
        end_ms = next((word.end_ms for word in reversed(words) if word.end_ms is not None), None)
    if start_ms is None or not (words or isinstance(text, str)):
        return None
    return Piece(1, start_ms, end_ms, _timed(said, words) if words else said)


def _given(entries: object) -> list[Token]:
    """The words of a segment with their times; parts of words (without a space before them) are put together."""
    tokens: list[Token] = []
    parts = [entry for entry in entries if isinstance(entry, Mapping)] if isinstance(entries, list) else []
    texts = [_text(part) for part in parts]
    spaced = any(text[:1].isspace() for text in texts[1:])
    for part, text in zip(parts, texts, strict=True):
        words = [token.text for line in words_of(text) for token in line]
        if not words:
            continue
        start_ms, end_ms = _ms(part.get("start")), _ms(part.get("end"))
        if tokens and spaced and not text[:1].isspace():
            tokens[-1] = Token(tokens[-1].text + words.pop(0), tokens[-1].start_ms, end_ms)
            start_ms = None
        tokens += [Token(word, None if number else start_ms) for number, word in enumerate(words)]
        tokens[-1] = tokens[-1]._replace(end_ms=end_ms)
    return tokens


def _text(entry: Mapping[str, object]) -> str:
    text = entry.get("word", entry.get("text"))
    return SPECIAL.sub("", printable(text)) if isinstance(text, str) else ""


def _timed(said: tuple[tuple[Token, ...], ...], words: Sequence[Token]) -> tuple[tuple[Token, ...], ...]:
    """The words of the text with the times of the list of words; that list itself where the two tell other things."""
    keys = [_key(word.text) for word in words]
    at = found = 0
    lines: list[tuple[Token, ...]] = []
    for line in said:
        timed = []
        for token in line:
            key = _key(token.text)
            match = next((place for place in range(at, min(at + LOOK_AHEAD, len(keys))) if keys[place] == key), None)
            if match is not None:
                at, found = match + 1, found + 1
                token = words[match]._replace(text=token.text)
            timed.append(token)
        lines.append(tuple(timed))
    return tuple(lines) if 2 * found >= len(words) else (tuple(words),)


def _key(word: str) -> str:
    return "".join(filter(str.isalnum, word.casefold())) or word


def _ms(value: object) -> int | None:
    """Seconds, as a number or written, in milliseconds; below zero is zero; None where it is no time."""
    if isinstance(value, str):
        value_ms = parse_clock(value)
    elif isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < LONGEST_MS:  # not NaN either
        value_ms = max(0, milliseconds(value))
    else:
        return None
    return value_ms if value_ms is not None and value_ms <= LONGEST_MS else None
