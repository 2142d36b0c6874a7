"""The frame number in the picture: a row of black and white squares that a machine reads back.

Twenty squares, each a fortieth of the picture's width, from the left at the very top: white, black, sixteen bits of
the frame number with the most significant first, a bit that makes the number of white bits even, white.
"""

from __future__ import annotations

import numpy as np

from demo_clips.geometry import Picture

SQUARES = 20
BITS = 16
WHITE, BLACK = 222, 14


def squares_of(frame: int) -> list[bool]:
    """Which of the twenty squares are white."""
    bits = [bool(frame >> place & 1) for place in reversed(range(BITS))]
    return [True, False, *bits, sum(bits) % 2 == 1, True]


def draw_strip(picture: Picture, frame: int) -> None:
    """Draw the number of the frame into a picture (height, width, 3)."""
    side = picture.shape[1] // 40
    row = np.repeat(np.where(squares_of(frame), WHITE, BLACK).astype(np.uint8), side)
    picture[:side, : side * SQUARES] = row[None, :, None]


def read_strip(picture: Picture) -> int | None:
    """The number of the frame, read from a picture (height, width, 3); None where the squares do not add up."""
    side = picture.shape[1] / 40
    low, high = int(side * 0.3), max(int(side * 0.3) + 1, int(side * 0.7))
    levels = [
        float(picture[low:high, int(k * side) + low : int(k * side) + high].mean()) for k in range(SQUARES)
    ]
    if levels[0] - levels[1] < 60:
        return None
    middle = (levels[0] + levels[1]) / 2
    white = [level > middle for level in levels]
    if sum(white[2:-1]) % 2 or not white[-1]:
        return None
    return sum(bit << place for bit, place in zip(white[2:18], reversed(range(BITS)), strict=True))
