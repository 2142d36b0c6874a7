"""What stays still behind an operation: drape, lids and speculum, the white of the eye with its vessels, the light."""

from __future__ import annotations

import math

import cv2
import numpy as np

from demo_clips.brush import Brush, arc
from demo_clips.geometry import CANVAS, CENTRE, CORNEA, PX, Picture, Plane, Point, polar, rough
from demo_clips.state import Look

DRAPE = np.array([47.0, 56.0, 38.0], np.float32)
SKIN = np.array([104.0, 122.0, 158.0], np.float32)
SCLERA = np.array([192.0, 201.0, 216.0], np.float32)
VESSEL = (66, 62, 168)
OPENING = {"across": (12.6, 7.0), "upright": (8.2, 14.2)}
"""Half width and half height of the opening between the lids, in millimetres."""


def axes() -> tuple[Plane, Plane]:
    """For each pixel of the canvas how far right and how far below the eye's centre it lies, in millimetres."""
    x = (np.arange(CANVAS[0], dtype=np.float32) - CENTRE[0]) / PX
    y = (np.arange(CANVAS[1], dtype=np.float32) - CENTRE[1]) / PX
    across, down = np.meshgrid(x, y)
    return across, down


def lids_edge(lids: str, degrees: float, grow: float = 0.0) -> Point:
    """A point of the margin of the lids in the given direction."""
    a, b = OPENING[lids]
    c, s = abs(math.cos(math.radians(degrees))), abs(math.sin(math.radians(degrees)))
    reach = ((c / a) ** 2.5 + (s / b) ** 2.5) ** (-1 / 2.5)
    return polar(degrees, reach + grow)


def draw_stage(look: Look) -> Picture:
    """The canvas without cornea and instruments (396, 704, 3)."""
    rng = np.random.default_rng(look.seed)
    x, y = axes()
    a, b = OPENING[look.lids]
    rim = ((np.abs(x) / a) ** 2.5 + (np.abs(y) / b) ** 2.5) ** (1 / 2.5)
    out = (rim - 1.0) * min(a, b)
    ground = _drape(rng, out)
    eye = _sclera(rng, x, y)
    white = np.rint(np.clip(eye, 0, 255)).astype(np.uint8)
    _vessels(Brush(white, CENTRE), rng)
    eye = cv2.GaussianBlur(white, (0, 0), 0.7).astype(np.float32)
    eye *= (1.0 - 0.55 * np.exp(-np.clip(-out, 0, None) / 0.55))[..., None]  # the lids' shadow on the eye
    inside = np.clip(-out * PX / 2 + 0.5, 0, 1)[..., None]
    picture = np.rint(np.clip(ground * (1 - inside) + eye * inside, 0, 255)).astype(np.uint8)
    _speculum(Brush(picture, CENTRE), look.lids)
    far = np.hypot(x * 0.8, y) / 10.2
    vignette = np.clip(1.06 - 0.62 * far**2.4, 0.12, 1.06)[..., None]
    tone = np.array([0.99, 1.0, 1.0], np.float32)
    return np.rint(np.clip(picture * vignette * tone, 0, 255)).astype(np.uint8)


def _drape(rng: np.random.Generator, out: Plane) -> np.ndarray:
    shape = out.shape
    folds = rough(rng, shape, (5, 9)) * 0.5 + rough(rng, shape, (16, 28)) * 0.22
    slope = cv2.Sobel(folds, cv2.CV_32F, 1, 1, ksize=5) * 0.6
    drape = DRAPE * (1.0 + 0.45 * folds + slope)[..., None]
    skin = SKIN * (0.92 + 0.10 * rough(rng, shape, (40, 70)))[..., None]
    margin = np.exp(-((out - 0.10) / 0.22) ** 2)[..., None]
    skin = skin * (1 - 0.35 * margin) + np.array([96.0, 104.0, 196.0]) * 0.42 * margin
    covered = np.clip((out - 0.75 - 0.3 * folds) / 0.5, 0, 1)[..., None]
    return skin * (1 - covered) + (drape * 0.86 + skin * 0.10) * covered


def _sclera(rng: np.random.Generator, x: Plane, y: Plane) -> np.ndarray:
    far = np.hypot(x, y)
    round_ = np.clip(1.05 - 0.30 * np.clip((far - CORNEA) / 8.0, 0, None) ** 1.2, 0.3, 1.1)
    light = 1.0 - 0.020 * (0.6 * x + 0.8 * y)
    cloud = 0.045 * rough(rng, x.shape, (9, 16)) + 0.02 * rough(rng, x.shape, (60, 100))
    blush = np.clip(0.20 + 0.5 * rough(rng, x.shape, (4, 6)) + 0.035 * (far - 6.0), 0, 0.6)[..., None]
    colour = SCLERA * (1 - blush) + np.array([160.0, 168.0, 214.0]) * blush
    limbus = np.exp(-np.clip(far - CORNEA, 0, None) / 0.42)[..., None]
    colour = colour * (1 - 0.55 * limbus) + np.array([150.0, 140.0, 124.0]) * 0.55 * limbus
    return colour * (round_ * light + cloud)[..., None]


def _vessels(brush: Brush, rng: np.random.Generator) -> None:
    for k in range(34):
        start = rng.uniform(0, 360)
        _vessel(brush, rng, polar(start, rng.uniform(9.5, 15)), start + 180, rng.uniform(0.05, 0.085), 0)
        if k % 3 == 0:  # the fine loops at the limbus
            _vessel(brush, rng, polar(start + 5, CORNEA + 1.4), start + 180, 0.03, 2)


def _vessel(
    brush: Brush, rng: np.random.Generator, at: Point, course: float, width: float, depth: int
) -> None:
    points = [at]
    bend = rng.uniform(-6, 6)
    for _ in range(int(rng.uniform(14, 30))):
        bend = 0.75 * bend + rng.normal(0, 9)
        course += bend
        inward = math.degrees(math.atan2(-points[-1][1], -points[-1][0]))
        course += 0.14 * ((inward - course + 180) % 360 - 180)
        points.append(polar(course, 0.26, points[-1]))
        if math.hypot(*points[-1]) < CORNEA + 0.25:
            break
        if depth < 2 and rng.random() < 0.11:
            _vessel(brush, rng, points[-1], course + rng.choice([-1, 1]) * rng.uniform(25, 50), width * 0.6, depth + 1)
    brush.line(points, VESSEL, width, alpha=max(0.16, 0.46 - 0.13 * depth))


def _speculum(brush: Brush, lids: str) -> None:
    for middle in (90.0, 270.0) if lids == "across" else (0.0, 180.0):
        spread = 27.0 if lids == "across" else 38.0
        near = [lids_edge(lids, d, -0.25) for d in np.linspace(middle - spread, middle + spread, 24)]
        far = [polar(middle + side * spread * 0.75, 16.0) for side in (-1, 1)]
        for points in (near, [near[0], far[0]], [near[-1], far[1]]):
            brush.line([(p[0] + 0.12, p[1] + 0.22) for p in points], (30, 34, 40), 0.5, alpha=0.45)
            brush.line(points, (104, 106, 104), 0.50)
            brush.line(points, (158, 160, 158), 0.28)
            brush.line([(p[0] - 0.05, p[1] - 0.07) for p in points], (226, 230, 230), 0.09)


def draw_glints(seed: int) -> Picture:
    """Light of the microscope mirrored by the wet cornea, to be added to the canvas around the cornea."""
    side = int(2 * (CORNEA + 0.3) * PX)
    rng = np.random.default_rng(seed + 99)
    picture = np.zeros((side, side, 3), np.uint8)
    brush = Brush(picture, (side / 2, side / 2))
    brush.disc((-0.75, -1.15), 0.25, (222, 228, 228))
    brush.disc((0.85, -1.25), 0.21, (196, 204, 204))
    brush.disc((0.05, 0.65), 0.10, (120, 124, 124))
    for start, length in ((205, 42), (300, 26)):
        brush.line(arc(start, start + length, 5.15), (44, 46, 44), 0.28)
    for _ in range(5):
        spot = polar(rng.uniform(0, 360), rng.uniform(3.8, 5.4))
        brush.disc(spot, 0.06, (80, 84, 84))
    sharp = cv2.GaussianBlur(picture, (0, 0), 1.3)
    return cv2.add(sharp, cv2.convertScaleAbs(cv2.GaussianBlur(picture, (0, 0), 9), alpha=0.6))
