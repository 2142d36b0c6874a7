"""Where the eye sits in the picture: the round edge that stays for a while."""

from __future__ import annotations

from typing import NamedTuple

import cv2
import numpy
from numpy.typing import NDArray

_SMALLEST, _LARGEST = 0.15, 0.75
"""Radius, in shares of the height."""
_AGREES = 0.12
"""How far, in shares of the height, looks at one eye may lie apart."""
_AROUND = 3
"""Looks before and behind with which one has to agree."""
_CONTRAST = 6.0


class Round(NamedTuple):
    """A round edge at one moment; places in shares of width and height, the radius in shares of the height."""

    at_ms: int
    cx: float
    cy: float
    radius: float


def round_edge(at_ms: int, picture: NDArray[numpy.uint8]) -> Round | None:
    """The strongest circle of a small colour picture, or None."""
    height, width = picture.shape[:2]
    grey = cv2.medianBlur(cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY), 5)
    circles = cv2.HoughCircles(
        grey,
        cv2.HOUGH_GRADIENT,
        dp=1.5,
        minDist=height / 8,
        param1=70,
        param2=22,
        minRadius=int(_SMALLEST * height),
        maxRadius=int(_LARGEST * height),
    )
    if circles is None:
        return None
    strongest = circles.reshape(-1, circles.shape[-1])[:4]
    best = max(((_contrast(picture, *circle[:3]), circle) for circle in strongest), key=lambda each: each[0])
    if best[0] < _CONTRAST:
        return None
    cx, cy, radius = (float(each) for each in best[1][:3])
    return Round(at_ms, cx / width, cy / height, radius / height)


def _contrast(picture: NDArray[numpy.uint8], cx: float, cy: float, radius: float) -> float:
    """How much the picture differs, over all colours, just within the circle and just outside."""
    height, width = picture.shape[:2]
    angles = numpy.linspace(0, 2 * numpy.pi, 48, endpoint=False)
    sides = []
    for share in (0.88, 1.12):
        x = numpy.rint(cx + share * radius * numpy.cos(angles)).astype(int)
        y = numpy.rint(cy + share * radius * numpy.sin(angles)).astype(int)
        seen = (x >= 0) & (x < width) & (y >= 0) & (y < height)
        values = picture[y.clip(0, height - 1), x.clip(0, width - 1)].astype(numpy.float64)
        sides.append(numpy.where(seen[:, None], values, numpy.nan))
    apart = numpy.abs(sides[0] - sides[1]).max(axis=1)
    known = apart[~numpy.isnan(apart)]
    # All around, not only at one side: an instrument has an edge too. The weaker quarter decides.
    return float(numpy.percentile(known, 25)) if len(known) >= 24 else 0.0


def agreed(found: list[Round]) -> list[Round]:
    """Those that agree with most of the looks around them, each as the middle of these."""
    kept = []
    for place, one in enumerate(found):
        around = found[max(0, place - _AROUND) : place + _AROUND + 1]
        near = [other for other in around if _apart(one, other) <= _AGREES and abs(other.at_ms - one.at_ms) <= 10_000]
        if len(near) > max(2, len(around) // 2):
            cx, cy, radius = (float(numpy.median([each[field] for each in near])) for field in (1, 2, 3))
            kept.append(Round(one.at_ms, round(cx, 4), round(cy, 4), round(radius, 4)))
    return kept


def _apart(one: Round, other: Round) -> float:
    return max(abs(one.cx - other.cx) * 1.5, abs(one.cy - other.cy), abs(one.radius - other.radius))
