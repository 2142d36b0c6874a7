"""Text in the pictures of a film: where it stands and for how long, what it says, and what kind of text it seems to be.

Found are words burnt in by a recorder, labels and stickers held into the picture, titles. Two networks look at pictures
half a second apart and wherever something new has fine detail as letters have; between, what they saw is followed by
its fine detail. A margin of one look's distance is laid on both ends of every text, and around it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import permutations
from pathlib import Path
from typing import Any

from indexer.config import Settings
from indexer.footage.guarded import work_on
from indexer.models.covered import Covered
from indexer.models.pictured import Box, PictureText, TextPiece
from indexer.privacy.picture_kinds import kind_of

MARGIN_MS = 550
"""A little more than the time from one reading to the next: text may stand so long before and after it was seen."""
_SECONDS_A_SECOND = 30.0
"""Longest that a second of film may take."""
_SURE, _SURE_FOREIGN = 0.55, 0.8
"""How sure the reader must be that it reads letters; of signs that few recorders write it must be surer."""
_WEAK = 0.75
_TALLEST = 0.2
_GAP = 4.0
"""Longest gap within a line, in shares of the width for a share of the height: some seven letters' heights."""
_LATIN = 0x24F


def find_picture_text(
    film: Path, settings: Settings, *, length_ms: int, threads: int = 2, names: Iterable[str] = ()
) -> tuple[PictureText, ...]:
    """All text in a film, in order of its beginning. Times by the film's own clock, as a player has them.

    `names` are what the library knows: a text that holds one is an identifier. Runs in a guarded process.
    Raises RecordingUnreadable, ToolFailed.
    """
    told = work_on(
        film,
        "indexer.privacy.picture_watching:watch",
        {"threads": threads},
        seconds=settings.probe_seconds + _SECONDS_A_SECOND * length_ms / 1000,
        memory_mb=max(4096, settings.probe_memory_mb),
    )
    return texts_of(told, tuple(names))


def texts_of(told: Mapping[str, Any], names: Sequence[str] = ()) -> tuple[PictureText, ...]:
    """What the watching told, as values, without what is no text."""
    texts = [_text(each, told["last_ms"], names) for each in told["texts"] if _is_text(each)]
    return tuple(sorted(texts, key=lambda text: (text.start_ms, text.box.top, text.box.left)))


def covers(texts: Iterable[PictureText], kept: Sequence[Box] = ()) -> tuple[Covered, ...]:
    """What is to be covered: every piece of every text that does not lie within a region that a person decided to keep."""
    found = list(texts)
    pieces = [piece for text in found for piece in text.pieces]
    standing = [text.pieces[0] for text in found if len(text.pieces) == 1]
    return tuple(
        _covered(piece) for piece in (*pieces, *_between(standing)) if not any(box.holds(piece.box) for box in kept)
    )


def _covered(piece: TextPiece) -> Covered:
    box = piece.box
    return Covered(
        left=box.left,
        top=box.top,
        width=box.right - box.left,
        height=box.bottom - box.top,
        start_ms=piece.start_ms,
        end_ms=piece.end_ms,
    )


def _between(pieces: Sequence[TextPiece]) -> Iterator[TextPiece]:
    """What lies between two pieces of one line, which faint letters may have filled."""
    for left, right in permutations(pieces, 2):
        start_ms, end_ms = max(left.start_ms, right.start_ms), min(left.end_ms, right.end_ms)
        if start_ms < end_ms and _one_line(left.box, right.box):
            box = Box(
                left=left.box.right,
                top=min(left.box.top, right.box.top),
                right=right.box.left,
                bottom=max(left.box.bottom, right.box.bottom),
            )
            yield TextPiece(box=box, start_ms=min(left.start_ms, right.start_ms), end_ms=max(left.end_ms, right.end_ms))


def _one_line(left: Box, right: Box) -> bool:
    """Whether one stands before the other, about as high, with a gap that a word would fill."""
    least, most = sorted((left.bottom - left.top, right.bottom - right.top))
    shared = min(left.bottom, right.bottom) - max(left.top, right.top)
    return most < 2 * least and shared > 0.6 * least and 0 < right.left - left.right < _GAP * most


def _is_text(told: Mapping[str, Any]) -> bool:
    """Whether it is kept: read as several letters, or standing still for long and much like a line of text."""
    letters = sum(letter.isalnum() for letter in told["read"])
    foreign = any(letter.isalnum() and ord(letter) > _LATIN for letter in told["read"])
    if letters >= 2 and told["read_certainty"] >= (_SURE_FOREIGN if foreign else _SURE):
        return True
    where = told["where"]
    lies = len(where) == 1 and where[0][5] - where[0][3] < _TALLEST
    return bool(lies and told["times"] > 2 and told["likeness"] >= _WEAK)


def _text(told: dict[str, Any], last_ms: int, names: Sequence[str]) -> PictureText:
    pieces = tuple(
        TextPiece(
            box=Box(left=left, top=top, right=right, bottom=bottom),
            start_ms=max(0, start_ms - MARGIN_MS),
            # A text that stands in the last look stands to the end, however long its last frame is shown.
            end_ms=end_ms + MARGIN_MS if end_ms + MARGIN_MS < last_ms else last_ms + 60_000,
        )
        for start_ms, end_ms, left, top, right, bottom in told["where"]
    )
    return PictureText(
        pieces=pieces,
        read=told["read"],
        kind=kind_of(told["read"], names),
        certainty=round(min(1.0, max(told["likeness"], told["read_certainty"])), 3),
        at_ms=told["at_ms"],
    )
