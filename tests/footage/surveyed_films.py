"""Films made for the survey: rooms that look different, noise as a camera makes it, and what is done to films."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import cv2
import numpy

from tests.films import Picture, write_film

SIZE = (320, 180)
_NOISE = 3.0


def view(number: int, size: tuple[int, int] = SIZE) -> Picture:
    """A picture with patches of its own, the same each time."""
    chance = numpy.random.default_rng(100 + number)
    width, height = size
    coarse = chance.integers(30, 220, (6, 10, 3)).astype(numpy.uint8)
    patches = cv2.resize(coarse, (width, height), interpolation=cv2.INTER_CUBIC).astype(numpy.int16)
    grain = chance.integers(-7, 8, (height // 2, width // 2, 1)).astype(numpy.int16)
    patches += cv2.resize(grain, (width, height), interpolation=cv2.INTER_NEAREST)[:, :, None]
    return patches.clip(0, 255).astype(numpy.uint8)


def shot(number: int, frames: int, start: int = 0, tool: bool = True) -> list[Picture]:
    """A view held by hand: it drifts, a bright tool wanders in it, and the camera makes noise."""
    whole = view(number, (SIZE[0] + 40, SIZE[1] + 40))
    chance = numpy.random.default_rng(number)
    pictures = []
    for at in range(start, start + frames):
        left, top = round(20 + 12 * numpy.sin(at / 25)), round(20 + 12 * numpy.cos(at / 31))
        picture = whole[top : top + SIZE[1], left : left + SIZE[0]].copy()
        if tool:
            x, y = round(160 + 110 * numpy.sin(at / 18)), round(90 + 60 * numpy.cos(at / 14))
            cv2.line(picture, (x, y), (x + 90, y - 50), (235, 235, 235), 5)
        noise = chance.normal(0, _NOISE, picture.shape)
        pictures.append((picture + noise).clip(0, 255).astype(numpy.uint8))
    return pictures


def melted(first: Sequence[Picture], second: Sequence[Picture]) -> list[Picture]:
    """One shot laid over the other, more and more of it."""
    many = len(first)
    shares = [(place + 1) / (many + 1) for place in range(many)]
    return [
        cv2.addWeighted(one, 1 - share, other, share, 0)  # type: ignore[misc]
        for one, other, share in zip(first, second, shares, strict=True)
    ]


def even(value: int, frames: int) -> list[Picture]:
    """Pictures of one brightness."""
    return [numpy.full((SIZE[1], SIZE[0], 3), value, numpy.uint8)] * frames


def card(text: str, frames: int) -> list[Picture]:
    """Writing on a dark ground."""
    picture = numpy.full((SIZE[1], SIZE[0], 3), 20, numpy.uint8)
    cv2.putText(picture, text, (40, 95), cv2.FONT_HERSHEY_SIMPLEX, 0.7, (230, 230, 230), 2)
    return [picture] * frames


def film_of(path: Path, pictures: Sequence[Picture], **how: object) -> Path:
    """The pictures as a film of 25 frames a second."""
    return write_film(path, len(pictures), size=SIZE, pictures=pictures, gop=50, **how)  # type: ignore[arg-type]
