"""Drawing on the canvas in millimetres: lines, shapes with soft edges, clouds and ready-made pictures with alpha."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import cv2
import numpy as np

from demo_clips.geometry import PX, Picture, Plane, Point

Colour = tuple[int, int, int]
"""Blue, green, red."""
Stroke = Callable[[Picture, np.ndarray], object]
"""Draws a shape whose points are in sixteenths of a pixel."""
FINE = 16
"""Sixteenths of a pixel, the grid on which shapes are drawn."""


def grid(points: Sequence[Point], origin: Point) -> np.ndarray:
    """Points in millimetres as the fixed-point pixels that OpenCV draws, shape (n, 1, 2)."""
    spots = (np.asarray(points, np.float64) * PX + origin) * FINE
    return np.rint(spots).astype(np.int32).reshape(-1, 1, 2)


class Brush:
    """Draws on one picture whose eye centre lies at `origin` (in pixels)."""

    def __init__(self, picture: Picture, origin: Point) -> None:
        self.picture = picture
        self.origin = origin

    def shape(self, points: Sequence[Point], colour: Colour, alpha: float = 1.0) -> None:
        """Fill a polygon."""
        if alpha <= 0.01 or len(points) < 3:
            return
        spots = grid(points, self.origin)
        self._laid(spots, alpha, 2, lambda p, s: cv2.fillPoly(p, [s], colour, cv2.LINE_AA, 4))

    def line(
        self, points: Sequence[Point], colour: Colour, width: float, alpha: float = 1.0, closed: bool = False
    ) -> None:
        """Draw a line of a width in millimetres (at least one pixel)."""
        if alpha <= 0.01 or len(points) < 2:
            return
        thick = max(1, round(width * PX))
        spots = grid(points, self.origin)
        self._laid(
            spots, alpha, thick + 1, lambda p, s: cv2.polylines(p, [s], closed, colour, thick, cv2.LINE_AA, 4)
        )

    def disc(self, centre: Point, radius: float, colour: Colour, alpha: float = 1.0) -> None:
        """Fill a circle."""
        self.shape(circle(centre, radius, 20 if radius < 0.5 else 48), colour, alpha)

    def _laid(self, spots: np.ndarray, alpha: float, margin: int, draw: Stroke) -> None:
        if alpha >= 0.99:
            draw(self.picture, spots)
            return
        x, y, w, h = cv2.boundingRect(spots // FINE)
        x0, y0 = max(0, x - margin), max(0, y - margin)
        x1, y1 = min(self.picture.shape[1], x + w + margin), min(self.picture.shape[0], y + h + margin)
        if x1 <= x0 or y1 <= y0:
            return
        view = self.picture[y0:y1, x0:x1]
        over = view.copy()
        draw(over, spots - np.array([x0 * FINE, y0 * FINE], np.int32))
        cv2.addWeighted(over, alpha, view, 1.0 - alpha, 0.0, dst=view)

    def cloud(self, puffs: Sequence[tuple[Point, float]], colour: Colour, alpha: float, soft: float = 0.5) -> None:
        """Lay soft round clouds of one colour (centre and radius each); `soft` is the blur in millimetres."""
        if alpha <= 0.01 or not puffs:
            return
        reach = max(radius for _, radius in puffs) + 3 * soft
        xs = [p[0] for p, _ in puffs]
        ys = [p[1] for p, _ in puffs]
        x0 = max(0, int((min(xs) - reach) * PX + self.origin[0]))
        y0 = max(0, int((min(ys) - reach) * PX + self.origin[1]))
        x1 = min(self.picture.shape[1], int((max(xs) + reach) * PX + self.origin[0]) + 1)
        y1 = min(self.picture.shape[0], int((max(ys) + reach) * PX + self.origin[1]) + 1)
        if x1 - x0 < 8 or y1 - y0 < 8:
            return
        mask = np.zeros(((y1 - y0) // 4 + 1, (x1 - x0) // 4 + 1), np.float32)
        for (x, y), radius in puffs:
            spot = (((x * PX + self.origin[0]) - x0) / 4, ((y * PX + self.origin[1]) - y0) / 4)
            cv2.circle(mask, (round(spot[0]), round(spot[1])), max(1, round(radius * PX / 4)), 1.0, -1, cv2.LINE_AA)
        mask = cv2.GaussianBlur(mask, (0, 0), max(0.6, soft * PX / 4)) * alpha
        tint(self.picture[y0:y1, x0:x1], cv2.resize(mask, (x1 - x0, y1 - y0)), colour)


def tint(view: Picture, mask: Plane, colour: Colour) -> None:
    """Colour a view where the mask (0 to 1, same height and width) says so, in place."""
    plain = np.empty_like(view)
    plain[:] = colour
    blend(view, plain, mask)


def blend(view: Picture, over: Picture, mask: Plane) -> None:
    """Lay one picture over another by a mask (0 to 1), in place."""
    view[:] = cv2.blendLinear(over, np.ascontiguousarray(view), mask, 1.0 - mask)


def circle(centre: Point, radius: float, count: int = 48) -> list[Point]:
    """Points of a circle."""
    step = 2 * math.pi / count
    return [(centre[0] + radius * math.cos(k * step), centre[1] + radius * math.sin(k * step)) for k in range(count)]


def arc(start: float, end: float, radius: float, centre: Point = (0.0, 0.0), count: int = 24) -> list[Point]:
    """Points of an arc from one angle to another, in degrees."""
    angles = np.radians(np.linspace(start, end, count))
    return [(centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in angles]


def premultiplied(colour: np.ndarray, alpha: np.ndarray) -> Picture:
    """A ready-made picture (height, width, 4) from colours (0 to 255) and alpha (0 to 1)."""
    held = np.clip(alpha, 0.0, 1.0)[..., None]
    return np.rint(np.concatenate([np.clip(colour, 0, 255) * held, 255 * held], axis=2)).astype(np.uint8)


def paste(
    view: Picture, sprite: Picture, at: Point, origin: Point, turn: float = 0.0,
    scale: tuple[float, float] = (1.0, 1.0), alpha: float = 1.0,
) -> None:
    """Lay a ready-made picture over a view: its middle at `at` (mm), stretched, then turned (degrees)."""
    height, width = sprite.shape[:2]
    a = math.radians(turn)
    m = np.array([[math.cos(a) * scale[0], -math.sin(a) * scale[1]], [math.sin(a) * scale[0], math.cos(a) * scale[1]]])
    middle = np.array([at[0] * PX + origin[0], at[1] * PX + origin[1]])
    offset = middle - m @ np.array([(width - 1) / 2, (height - 1) / 2])
    corners = np.array([[0, 0], [width, 0], [0, height], [width, height]], np.float64) @ m.T + offset
    x0, y0 = np.maximum(0, np.floor(corners.min(axis=0)).astype(int) - 1)
    x1 = min(view.shape[1], int(corners[:, 0].max()) + 2)
    y1 = min(view.shape[0], int(corners[:, 1].max()) + 2)
    if x1 <= x0 or y1 <= y0 or alpha <= 0.01:
        return
    full = np.hstack([m, (offset - (x0, y0))[:, None]])
    laid = cv2.warpAffine(sprite, full, (int(x1 - x0), int(y1 - y0)), flags=cv2.INTER_LINEAR)
    if alpha < 0.99:
        laid = cv2.convertScaleAbs(laid, alpha=alpha)
    target = view[y0:y1, x0:x1]
    rest = cv2.cvtColor(cv2.bitwise_not(cv2.extractChannel(laid, 3)), cv2.COLOR_GRAY2BGR)
    target[:] = cv2.add(cv2.multiply(target, rest, scale=1 / 255), cv2.cvtColor(laid, cv2.COLOR_BGRA2BGR))
