"""The text of a cue to words: tags, entities, notes of sounds and marks of speakers go, inline stamps stay.

webvtt-py also takes tags out, but the stamps before words with them and the entities not at all; word times need both.
"""

from __future__ import annotations

import html
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

from indexer.timespan import parse_clock
from indexer.transcripts.decoding import printable
from indexer.transcripts.pieces import Piece, Token

# "<" before anything else is a sign of its own ("pressure <20"), whatever the standard says of unclosed tags.
STAMP = re.compile(r"<([0-9]+:[0-9:]+\.[0-9]{3})>")
TAG = re.compile(r"<(?:/?[A-Za-z][^<>]*|/?)>|\{\\[^{}]*\}|\{/?[bius]\}")
ENTITY = re.compile(r"&(?:#[0-9]{1,7}|#[xX][0-9A-Fa-f]{1,6}|[A-Za-z][A-Za-z0-9]{1,31});")
SOUND = re.compile(
    r"[\[(]\s*(?:music|applause|laugh(?:s|ter|ing)?|inaudible|unintelligible|silence|noise|background noise"
    r"|beep(?:s|ing)?|_{2,})\s*[\])]",
    re.IGNORECASE,
)
TURN = re.compile(r">{2,}|[-–—]|[♪♫♬]+")
ROLE = re.compile(
    r"(?:surgeon|narrator|assistant|speaker|nurse|trainee|educator|teacher|student|fellow|resident|registrar"
    r"|consultant|interviewer|moderator|host|voice|operator|an(?:a)?esth(?:etist|esiologist)|doctor)(?: ?[0-9a-z])?",
    re.IGNORECASE,
)


def words_of(text: str) -> tuple[tuple[Token, ...], ...]:
    """The words of a cue, line by line, each with the inline stamp that stands before it."""
    text = TAG.sub("", SOUND.sub(" ", text) if "[" in text or "(" in text else text)
    return tuple(map(_words_of_line, text.split("\n")))


@lru_cache(maxsize=256)  # rolling captions show each line three times
def _words_of_line(line: str) -> tuple[Token, ...]:
    if "<" not in line:
        return tuple(map(Token, _plain(line)))
    first, *parts = STAMP.split(line)
    tokens = [Token(word) for word in _plain(first)]
    inside = first[-1:].strip() != ""
    for stamp, text in zip(parts[0::2], parts[1::2], strict=True):
        words = _plain(text)
        if words and inside and not text[0].isspace() and tokens:
            # A stamp inside a word times no word of its own.
            tokens[-1] = tokens[-1]._replace(text=tokens[-1].text + words.pop(0))
        elif words:
            tokens.append(Token(words.pop(0), parse_clock(stamp)))
        if words:
            tokens += map(Token, words)
        inside = not text[-1:].isspace() if text else inside
    return tuple(tokens)


def _plain(text: str) -> list[str]:
    if "&" in text:
        text = printable(ENTITY.sub(lambda entity: html.unescape(entity[0]), text))
    return text.split()


def without_speakers(pieces: Sequence[Piece]) -> list[Piece]:
    """Take the marks of speakers off the beginning of lines: `SURGEON:`, `>> Assistant:`, `- `.

    A role goes wherever it stands; another label only where it is in capitals and opens many pieces, since
    `PHACO: sixty per cent` is said, not sayer.
    """
    labels = Counter(_label(line)[1] for piece in pieces for line in piece.lines if line)
    often = max(3, len(pieces) // 20)
    known = {text for text, count in labels.items() if ROLE.fullmatch(text) or (text.isupper() and count >= often)}
    return [replace(piece, lines=tuple(_without_label(line, known) for line in piece.lines)) for piece in pieces]


def _turns(line: Sequence[Token]) -> int:
    """How many marks of a new speaker open the line."""
    count = 0
    while count < len(line) and TURN.fullmatch(line[count].text):
        count += 1
    return count


def _label(line: Sequence[Token]) -> tuple[int, str]:
    """The number of words up to the end of what may be a label, and its text; nothing where there is none."""
    begin = _turns(line)
    for end in range(begin, min(begin + 3, len(line))):
        if line[end].text.endswith(":") and len(line[end].text) > 1:
            return end + 1, " ".join(token.text for token in line[begin : end + 1]).rstrip(":")
    return begin, ""


def _without_label(line: tuple[Token, ...], known: set[str]) -> tuple[Token, ...]:
    end, label = _label(line)
    return line[end:] if label in known else line[_turns(line) :]
