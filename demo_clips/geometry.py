"""Where things are in the picture, and how hands move. Lengths are millimetres of the eye, angles degrees.

The eye's centre is the origin; x runs right and y down, as on the screen; 0 degrees is right and 90 is below, where
the surgeon sits.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt

Picture = npt.NDArray[np.uint8]
Plane = npt.NDArray[np.float32]
Point = tuple[float, float]

PX = 25.0
"""Canvas pixels per millimetre."""
FRAME = (640, 360)
CANVAS = (704, 396)
"""Larger than the frame by a margin in which the camera drifts."""
CENTRE = (352.0, 192.0)
CORNEA = 5.85
"""Radius of the cornea."""
LIMBUS = 5.65
"""Radius at which instruments go through the wall of the eye."""


def polar(degrees: float, radius: float, about: Point = (0.0, 0.0)) -> Point:
    """The point at an angle and a distance from another."""
    angle = math.radians(degrees)
    return about[0] + radius * math.cos(angle), about[1] + radius * math.sin(angle)


def angle_of(point: Point) -> float:
    """Direction of a point seen from the centre, in degrees."""
    return math.degrees(math.atan2(point[1], point[0]))


def mix(a: float, b: float, share: float) -> float:
    """A value between two."""
    return a + (b - a) * share


def between(a: Point, b: Point, share: float) -> Point:
    """A point between two."""
    return mix(a[0], b[0], share), mix(a[1], b[1], share)


def clamp(value: float, low: float = 0.0, high: float = 1.0) -> float:
    """The value, held within bounds."""
    return low if value < low else high if value > high else value


def ease(value: float) -> float:
    """A soft start and a soft stop between 0 and 1."""
    held = clamp(value)
    return held * held * (3.0 - 2.0 * held)


def phase(u: float, start: float, end: float) -> float:
    """How far a part of a movement has come, 0 before `start` and 1 from `end` on, softly."""
    return ease((u - start) / (end - start)) if end > start else float(u >= end)


def along(u: float, stops: Sequence[tuple[float, Point]]) -> Point:
    """Where a hand is that passes given points at given moments."""
    if u <= stops[0][0]:
        return stops[0][1]
    for (start, here), (end, there) in pairwise(stops):
        if u < end:
            return between(here, there, ease((u - start) / (end - start)))
    return stops[-1][1]


def heading(tip: Point, entry: Point) -> Point:
    """Unit vector from the tip of an instrument towards its handle: through the entry, never sideways at it."""
    ox, oy = polar(angle_of(entry), 1.0)
    dx, dy = entry[0] - tip[0], entry[1] - tip[1]
    # A tip that is still outside must not turn its handle towards the eye.
    more = 2.6 - min(0.0, dx * ox + dy * oy)
    dx, dy = dx + more * ox, dy + more * oy
    length = math.hypot(dx, dy) or 1.0
    return dx / length, dy / length


def tremor(seconds: float, who: int) -> Point:
    """The unrest of a hand, in millimetres: a slow sway and a fine tremor of about eight a second."""
    s = seconds + who * 17.3
    sway = (math.sin(1.9 * s) + 0.6 * math.sin(3.1 * s + 1.0), math.sin(2.3 * s + 2.0) + 0.6 * math.sin(3.7 * s))
    fine = (math.sin(51.0 * s), math.sin(47.0 * s + 0.7))
    return 0.035 * sway[0] + 0.010 * fine[0], 0.035 * sway[1] + 0.010 * fine[1]


def camera(seconds: float, seed: int) -> Point:
    """How far the picture has drifted, in canvas pixels."""
    s = seconds + seed * 7.7
    return (
        4.5 * math.sin(0.21 * s) + 2.0 * math.sin(0.53 * s + 1.0) + 0.5 * math.sin(1.7 * s),
        3.5 * math.sin(0.17 * s + 0.5) + 1.5 * math.sin(0.61 * s) + 0.4 * math.sin(1.9 * s + 1.0),
    )


def wobble(degrees: float) -> float:
    """A torn edge is round, not a circle drawn with compasses: its radius in each direction, about 1."""
    return 1 + 0.018 * math.sin(math.radians(2 * degrees + 30)) + 0.012 * math.sin(math.radians(3 * degrees))


def folded(start: float, swept: float, fold: float, radius: float) -> tuple[list[Point], list[Point]]:
    """The edge of an opening torn so far, and the torn part folded over the line between its ends.

    A flap folds like paper: each point is mirrored at the chord; `fold` below 1 crumples it.
    """
    edge = [polar(start + swept * k / 39, radius * wobble(start + swept * k / 39)) for k in range(40)]
    a, b = edge[0], edge[-1]
    length = math.hypot(b[0] - a[0], b[1] - a[1]) or 1e-6
    nx, ny = -(b[1] - a[1]) / length, (b[0] - a[0]) / length
    over: list[Point] = []
    for k, (x, y) in enumerate(edge):
        height = (x - a[0]) * nx + (y - a[1]) * ny
        shift = (1 + fold * (1 + 0.07 * math.sin(k * 0.42))) * height
        over.append((x - shift * nx, y - shift * ny))
    return edge, over


def rough(rng: np.random.Generator, shape: tuple[int, int], cells: tuple[int, int]) -> Plane:
    """Cloudy noise between about -1 and 1; `cells` is how many clouds fit down and across."""
    import cv2

    small = rng.standard_normal((cells[0] + 1, cells[1] + 1)).astype(np.float32)
    return np.asarray(cv2.resize(small, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC), np.float32) * 0.6
