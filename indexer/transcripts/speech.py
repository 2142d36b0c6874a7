"""How a transcript is spoken: the length of words, the pauses behind them, the speaker's pace.

The pace is found where the file is dense: a slow passage has pauses in it, a fast one has none.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate, pairwise

from indexer.transcripts.pieces import Piece

# Common practice, no source: speech runs at two to three and a half words a second, five letters to a word.
USUAL_PACE_MS, FASTEST_MS, SLOWEST_MS = 75.0, 40.0, 120.0
# The rest was found by trial on narrations whose word times are known: about here words lie nearest to them.
SENTENCE_PAUSE_MS, COMMA_PAUSE_MS = 400.0, 90.0
OPEN_SHARE, CLOSED_SHARE = 0.06, 0.4
FEWEST_INTERVALS, SHORTEST_INTERVAL_MS = 4, 5_000

SENTENCE = re.compile(r"[.?!…]['\")\]’”]*$")
COMMA = re.compile(r"[,;:–—]['\")\]’”]*$")


@dataclass(frozen=True, slots=True)
class Speech:
    """What is known of the speaker and of whoever cut the text."""

    pace_ms: float
    """For each letter of spoken length."""
    interval_ms: int | None
    """The text was cut at the first word behind each interval of this length."""


@lru_cache(maxsize=8192)
def spoken_length(word: str) -> int:
    """How long a word takes to say, in letters, with one for the break: figures are said as words."""
    return len(word) + 1 + sum(map(str.isdigit, word))


@lru_cache(maxsize=8192)
def pause_ms(word: str) -> float:
    """The least that a speaker rests behind a word."""
    return SENTENCE_PAUSE_MS if SENTENCE.search(word) else COMMA_PAUSE_MS if COMMA.search(word) else 0.0


def listen(pieces: Sequence[Piece]) -> Speech:
    """Learn how a transcript is spoken from its pieces, in order of their start."""
    interval_ms = _interval_ms(pieces)
    return Speech(_pace_ms(pieces, interval_ms), interval_ms)


def _interval_ms(pieces: Sequence[Piece]) -> int | None:
    """The interval at which blocks without an end begin: where most are hardly longer than the shortest."""
    if any(piece.end_ms is not None for piece in pieces):
        return None
    lengths_ms = sorted(later.start_ms - piece.start_ms for piece, later in pairwise(pieces))
    if len(lengths_ms) < FEWEST_INTERVALS or lengths_ms[0] < SHORTEST_INTERVAL_MS:
        return None
    return lengths_ms[0] if lengths_ms[len(lengths_ms) // 2] <= 1.25 * lengths_ms[0] else None


def _pace_ms(pieces: Sequence[Piece], interval_ms: int | None) -> float:
    """The pace of the denser pieces, each counting by its words."""
    paces: list[tuple[float, int]] = []
    for piece, later in zip(pieces, [*pieces[1:], None], strict=True):
        room_ms = _room_ms(piece, later, interval_ms)
        if room_ms > 0:
            texts = [token.text for token in piece.tokens()]
            length = sum(map(spoken_length, texts))
            paces.append((max(0.0, room_ms - sum(map(pause_ms, texts[:-1]))) / length, length))
    if not paces:
        return USUAL_PACE_MS
    share = OPEN_SHARE if pieces[0].end_ms is None else CLOSED_SHARE
    paces.sort()
    counted = list(accumulate(length for _, length in paces))
    pace_ms = paces[bisect_left(counted, share * counted[-1])][0]
    return min(SLOWEST_MS, max(FASTEST_MS, pace_ms))


def _room_ms(piece: Piece, later: Piece | None, interval_ms: int | None) -> int:
    if piece.end_ms is not None:
        return piece.end_ms - piece.start_ms
    if later is None:
        return 0
    room_ms = later.start_ms - piece.start_ms
    return room_ms if interval_ms is None else min(room_ms, interval_ms + piece.rough_ms // 2)
