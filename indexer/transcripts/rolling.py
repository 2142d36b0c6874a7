"""Captions that roll: each cue shows again what the one before showed, and only its end is new.

Two ways of it: lines move up (`A`, `A B`, `B C`), and a line grows (`I`, `I go`, `I go in`). Whether a file rolls is
decided for the file as a whole, so that a speaker who says a thing twice keeps both.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import chain, pairwise

from indexer.transcripts.pieces import Piece

HOLD_MS = 100
"""Automatic captioners put cues this short between two lines; they show no words of their own."""

Texts = tuple[tuple[str, ...], ...]


def without_repeats(pieces: Sequence[Piece]) -> list[Piece]:
    """Take out what a cue only shows again. Lines without words go too, and cues in which nothing is left."""
    full = [replace(piece, lines=tuple(filter(None, piece.lines))) for piece in pieces if any(piece.lines)]
    texts = [piece.texts for piece in full]
    cues = list(zip(full, texts, [(), *texts], strict=False))
    lines = [_repeated_lines(now, before, _holds(piece)) for piece, now, before in cues]
    if _lines_roll(full, lines):
        full = [replace(piece, lines=piece.lines[count:]) for piece, count in zip(full, lines, strict=True)]
    elif _text_grows(texts):
        words = [_repeated_words(now, before) for _, now, before in cues]
        full = [_without_words(piece, count) for piece, count in zip(full, words, strict=True)]
    return [piece for piece in full if any(piece.lines)]


def _repeated_lines(now: Texts, before: Texts, holds: bool) -> int:
    """How many lines of the cue stood at the foot of the one before. A cue that stays has a new line."""
    most = len(now) if holds or len(now) == 1 else len(now) - 1
    return next((count for count in range(min(most, len(before)), 0, -1) if now[:count] == before[-count:]), 0)


def _holds(piece: Piece) -> bool:
    return piece.end_ms is not None and piece.end_ms - piece.start_ms <= HOLD_MS


def _lines_roll(pieces: Sequence[Piece], repeated: Sequence[int]) -> bool:
    """Whether half the cues that could repeat a line do, and not only some word or two that were said again."""
    able = [place for place, piece in enumerate(pieces) if place and (len(piece.lines) > 1 or _holds(piece))]
    doing = [place for place in able if repeated[place]]
    if not doing or 2 * len(doing) < len(able):
        return False
    words = sum(len(line) for place in doing for line in pieces[place].lines[: repeated[place]])
    stamped = any(token.start_ms is not None for piece in pieces for token in piece.tokens())
    return words >= 3 or stamped or any(_holds(pieces[place]) for place in doing)


def _repeated_words(texts: Texts, shown: Texts) -> int:
    """The number of words of the cue before, where this cue begins with all of them."""
    now, before = list(chain(*texts)), list(chain(*shown))
    return len(before) if now[: len(before)] == before else 0


def _text_grows(texts: Sequence[Texts]) -> bool:
    """Whether many cues are the one before and more; cues that are only alike tell nothing."""
    growing = sum(before != now and _repeated_words(now, before) > 0 for before, now in pairwise(texts))
    return growing >= 3 and growing >= 0.4 * (len(texts) - 1)


def _without_words(piece: Piece, count: int) -> Piece:
    return replace(piece, lines=(tuple(piece.tokens())[count:],))
