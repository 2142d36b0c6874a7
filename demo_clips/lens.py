"""What is seen through the pupil: red reflex, capsule, nucleus in pieces, cortex, implant."""

from __future__ import annotations

from functools import lru_cache

import cv2
import numpy as np

from demo_clips.brush import premultiplied
from demo_clips.geometry import PX, Picture, Plane, polar, rough
from demo_clips.state import Groove, Look

SIDE = 220
"""Pixels across the square that holds the widest pupil."""
HALF = SIDE / 2
NUCLEUS = 3.75
"""Radius of the nucleus in millimetres."""
SECTORS = 12

KINDS = {
    # colour in the middle, colour at the rim, how dense in the middle and at the rim
    "nuclear": ((78, 146, 178), (112, 160, 182), 0.90, 0.74),
    "brown": ((22, 50, 92), (44, 92, 142), 0.97, 0.90),
    "white": ((176, 206, 214), (206, 222, 226), 0.97, 0.92),
    "soft": ((168, 186, 194), (150, 176, 192), 0.62, 0.52),
}
CORTEX = {
    "nuclear": ((172, 194, 206), 0.62),
    "brown": ((140, 172, 196), 0.58),
    "white": ((228, 232, 232), 0.92),
    "soft": ((186, 204, 214), 0.52),
}


def plane(side: int = SIDE) -> tuple[Plane, Plane, Plane]:
    """For each pixel of a square: right, down, distance from its middle, in millimetres."""
    steps = (np.arange(side, dtype=np.float32) - (side - 1) / 2) / PX
    x, y = np.meshgrid(steps, steps)
    return x, y, np.hypot(x, y)


@lru_cache(maxsize=4)
def reflex(seed: int) -> Picture:
    """The red reflex of the back of the eye (220, 220, 3)."""
    rng = np.random.default_rng(seed + 3)
    x, y, far = plane()
    glow = np.exp(-((np.hypot(x + 0.5, y + 0.4) / 3.1) ** 2))[..., None]
    cloud = (1 + 0.05 * rough(rng, far.shape, (7, 7)))[..., None]
    colour = (np.array([22.0, 40.0, 138.0]) + np.array([52.0, 92.0, 104.0]) * glow) * cloud
    return np.rint(np.clip(colour, 0, 255)).astype(np.uint8)


def _within(x: Plane, y: Plane, start: float, end: float, seed: int) -> Plane:
    """How far inside the two faces of a piece a place lies, in millimetres; wavy, as a break is."""
    if end - start >= 359:
        return np.full(x.shape, 9.0, np.float32)
    rng = np.random.default_rng(seed)
    wave = 0.10 * rough(rng, x.shape, (9, 9))
    a0, a1 = np.radians([start, end])
    first = -np.sin(a0) * x + np.cos(a0) * y + wave
    last = np.sin(a1) * x - np.cos(a1) * y + wave
    return np.minimum(first, last) if end - start <= 180 else np.maximum(first, last)


@lru_cache(maxsize=256)
def nucleus(kind: str, seed: int, start: float, end: float, grooves: tuple[Groove, ...], bowl: float) -> Picture:
    """A piece of the nucleus between two angles, with its trenches and its hollow, as a picture with alpha."""
    rng = np.random.default_rng(seed + 11)
    x, y, far = plane()
    middle, rim, dense, thin = KINDS[kind]
    within = _within(x, y, start, end, seed + 5)
    dome = np.sqrt(np.clip(1 - (far / (NUCLEUS + 0.35)) ** 2, 0, 1)) * 1.6
    hollow = np.zeros_like(far)
    for g in grooves:
        c, s = np.cos(np.radians(g.angle)), np.sin(np.radians(g.angle))
        length, side = x * c + y * s, np.abs(-x * s + y * c)
        inside = np.clip((length - g.start) / 0.4, 0, 1) * np.clip((g.end - length) / 0.4, 0, 1)
        hollow = np.maximum(hollow, g.depth * inside * np.clip((0.72 - side) / 0.34, 0, 1))
    if bowl > 0:
        hollow = np.maximum(hollow, bowl * np.clip((2.9 * bowl**0.5 - far) / 0.8, 0, 1))
    height = dome - 1.15 * hollow - 0.9 * np.clip(0.30 - within, 0, 0.3) / 0.3
    height += 0.05 * rough(rng, far.shape, (24, 24)) + 0.05 * rough(rng, far.shape, (9, 9))
    height = cv2.GaussianBlur(height.astype(np.float32), (0, 0), 1.6)
    slope = cv2.Sobel(height, cv2.CV_32F, 1, 0, ksize=3) * -0.55 + cv2.Sobel(height, cv2.CV_32F, 0, 1, ksize=3) * -0.8
    light = np.clip(1.0 - 0.62 * slope, 0.35, 1.75)
    share = np.clip(far / NUCLEUS, 0, 1)[..., None] ** 1.4
    grain = 1 + 0.06 * rough(rng, far.shape, (30, 30)) + 0.06 * rough(rng, far.shape, (10, 10))
    colour = (np.array(middle) * (1 - share) + np.array(rim) * share) * (light * grain)[..., None]
    opaque = dense + (thin - dense) * share[..., 0]
    edge = np.clip((NUCLEUS - far) * PX / 3 + 0.5, 0, 1) * np.clip(within * PX / 1.5 + 0.5, 0, 1)
    through = 0.93 if kind != "brown" else 0.72
    return premultiplied(colour, opaque * edge * (1 - through * np.clip(hollow, 0, 1) ** 1.3))


@lru_cache(maxsize=4)
def whole_cover(kind: str, seed: int) -> Picture:
    """What lies before the nucleus of an untouched lens: a thin grey veil, or the milk and spokes of a white one."""
    rng = np.random.default_rng(seed + 21)
    x, y, far = plane()
    around = np.degrees(np.arctan2(y, x)) % 360
    if kind != "white":
        veil = 1 + 0.2 * rough(rng, far.shape, (16, 16))
        colour = np.array([150.0, 170.0, 184.0]) * veil[..., None]
        spots = np.clip(rough(rng, far.shape, (20, 20)) - 0.9, 0, 1) * (0.9 if kind == "soft" else 0.3)
        plaque = 0.55 * np.exp(-((far / 0.9) ** 2)) * (1 + 0.5 * rough(rng, far.shape, (26, 26)))
        return premultiplied(colour, 0.12 + spots + (plaque if kind == "soft" else 0))
    count = 11
    wedge = np.abs(((around + 14 * rough(rng, far.shape, (5, 5))) * count / 360) % 1 - 0.5) * 2
    spokes = np.clip((wedge - 0.72) / 0.25, 0, 1) * np.clip(far / 1.5 - 0.2, 0, 1)
    light = 0.90 + 0.05 * rough(rng, far.shape, (12, 12)) - 0.10 * spokes - 0.03 * far
    colour = np.array([226.0, 234.0, 236.0]) * light[..., None]
    return premultiplied(colour, np.full(far.shape, 0.985))


class Cortex:
    """The soft rim of the lens in twelve sectors that go one after the other."""

    def __init__(self, look: Look) -> None:
        rng = np.random.default_rng(look.seed + 31)
        x, y, far = plane()
        around = np.degrees(np.arctan2(y, x)) % 360
        colour, dense = CORTEX[look.lens]
        streaks = rough(rng, (360, SIDE), (70, 3))
        streak = cv2.remap(
            streaks, (far / 5 * SIDE).astype(np.float32), around.astype(np.float32), cv2.INTER_LINEAR, borderMode=1
        )
        start = 2.35 + 0.45 * rough(rng, far.shape, (8, 8)) + 0.5 * streak
        body = np.clip((far - start) / 0.9, 0, 1)
        self.alpha: Plane = (dense * body * np.clip(0.85 + 0.3 * streak, 0.4, 1)).astype(np.float32)
        self.colour: Picture = np.rint(
            np.clip(np.array(colour) * (0.93 + 0.16 * streak)[..., None], 0, 255)
        ).astype(np.uint8)
        self.sector = np.minimum((around / 360 * 720).astype(np.int32), 719)
        self._kept: tuple[tuple[float, ...], Plane] | None = None

    def mask(self, weights: tuple[float, ...]) -> Plane:
        """How much cortex covers each place when each sector still has its weight (0 to 1)."""
        if not self._kept or self._kept[0] != weights:
            step = 720 // SECTORS
            fine = np.repeat(np.array(weights, np.float32), step)
            window = np.ones(13, np.float32) / 13
            fine = np.convolve(np.concatenate([fine[-6:], fine, fine[:6]]), window, mode="valid")
            self._kept = (weights, self.alpha * fine.astype(np.float32)[self.sector])
        return self._kept[1]


def sector_angle(index: int) -> float:
    """Direction of the middle of a sector of the cortex, in degrees."""
    return (index + 0.5) * 360 / SECTORS


@lru_cache(maxsize=4)
def shell(kind: str, seed: int) -> Picture:
    """The epinucleus: a soft bowl that is left when the hard part has gone."""
    rng = np.random.default_rng(seed + 41)
    _, _, far = plane()
    edge = 3.55 + 0.12 * rough(rng, far.shape, (10, 10))
    body = np.clip((edge - far) * 4 + 0.5, 0, 1)
    rim = np.clip((far - 1.6) / 1.8, 0, 1)
    colour = np.array([168.0, 196.0, 208.0]) * (0.92 + 0.12 * rough(rng, far.shape, (14, 14)))[..., None]
    return premultiplied(colour, body * (0.10 + 0.46 * rim + 0.04 * rough(rng, far.shape, (20, 20))))


@lru_cache(maxsize=8)
def implant(kind: str) -> Picture:
    """An artificial lens seen from the front, as a picture with alpha; its haptics lie along x."""
    side = 340
    x, y, far = plane(side)
    canvas = np.zeros((side, side, 3), np.float32)
    alpha = np.zeros((side, side), np.float32)

    def laid(colour: tuple[int, int, int], mask: Plane) -> None:
        held = np.clip(mask, 0, 1)
        canvas[:] = canvas * (1 - held[..., None]) + np.array(colour, np.float32) * held[..., None]
        alpha[:] = np.maximum(alpha, held)

    thin = kind == "three-piece"
    for sign in (1, -1):
        mask = _haptic(side, sign, thin)
        laid((176, 96, 36) if thin else (214, 220, 214), mask * (0.95 if thin else 0.42))
        if not thin:
            edge = cv2.morphologyEx(mask, cv2.MORPH_GRADIENT, np.ones((3, 3), np.uint8))
            laid((240, 244, 240), edge * 0.65)
    laid((206, 200, 184), np.clip((3.0 - far) * PX + 0.5, 0, 1) * 0.20)
    ring = np.exp(-(((far - 2.94) / 0.055) ** 2))
    laid((250, 252, 250), ring * (0.62 + 0.35 * np.clip(-(x + y) / 4, -0.6, 1)))
    laid((60, 66, 90), np.exp(-(((far - 3.04) / 0.05) ** 2)) * 0.5)
    shine = np.exp(-(((np.hypot(x + 0.2, y + 0.3) - 2.45) / 0.09) ** 2))
    laid((245, 246, 240), shine * np.clip(-(x + 1.2 * y) / 3 - 0.45, 0, 1) * 0.8)
    if kind == "toric":
        for sign in (1, -1):
            for step in (2.1, 2.4, 2.7):
                laid((46, 34, 30), np.clip((0.095 - np.hypot(x, y - sign * step)) * PX + 0.5, 0, 1) * 0.95)
    return premultiplied(canvas, alpha)


def _haptic(side: int, sign: int, thin: bool) -> Plane:
    mask = np.zeros((side, side), np.uint8)
    middle = (side - 1) / 2
    if thin:
        points = [polar(a, 3.0 + 3.3 * ((a + 80) / 120) ** 1.1) for a in np.linspace(-80, 40, 30)]
        width = 4
    else:
        out = [np.sin(np.pi * np.clip(k / 29 * 106 / 190, 0, 1)) ** 0.8 for k in range(30)]
        points = [polar(-62 + 106 * k / 29, 2.95 + 2.75 * out[k]) for k in range(30)]
        width = 15
    spots = (np.array(points) * PX * sign + middle) * 16
    cv2.polylines(mask, [np.rint(spots).astype(np.int32).reshape(-1, 1, 2)], False, 255, width, cv2.LINE_AA, 4)
    return mask.astype(np.float32) / 255
