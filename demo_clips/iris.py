"""The iris: its texture, and the pupil that hooks, rings and drugs pull into shape."""

from __future__ import annotations

import math

import cv2
import numpy as np

from demo_clips.geometry import CORNEA, PX, Picture, Plane, rough
from demo_clips.state import Eye, Look

ROUND, DEEP = 720, 96
"""Samples of the texture around and from the pupil to the limbus."""
SIDE = 300
"""Pixels across the square that holds the cornea."""
COLOURS = {
    "brown": ((40, 66, 104), (24, 40, 66), (56, 98, 148)),
    "hazel": ((66, 112, 128), (40, 66, 74), (70, 132, 172)),
    "blue": ((158, 138, 104), (92, 76, 54), (186, 176, 160)),
    "grey": ((146, 146, 132), (84, 82, 72), (176, 184, 178)),
    "green": ((88, 126, 104), (46, 66, 54), (92, 150, 150)),
}
"""Ground, dark and bright colour of each iris (blue, green, red)."""


def _texture(look: Look) -> np.ndarray:
    """Colours by angle and by depth from the pupil to the limbus (720, 96, 3), uint8."""
    rng = np.random.default_rng(look.seed + 7)
    ground, dark, bright = (np.array(c, np.float32) for c in COLOURS[look.iris])
    fine = rough(rng, (ROUND, DEEP), (250, 4)) + 0.7 * rough(rng, (ROUND, DEEP), (120, 7))
    broad = rough(rng, (ROUND, DEEP), (34, 6))
    around = np.arange(ROUND)
    for plane in (fine, broad):  # the seam where the turn closes
        share = np.clip((around - (ROUND - 40)) / 40, 0, 1)[:, None]
        plane[:] = plane * (1 - share) + plane[0] * share
    depth = np.linspace(0, 1, DEEP, dtype=np.float32)[None, :]
    collarette = np.exp(-(((depth - 0.30 - 0.04 * broad) / 0.07) ** 2))
    crypts = np.clip(rough(rng, (ROUND, DEEP), (44, 9)) - 0.55, 0, 1) * np.exp(-(((depth - 0.45) / 0.2) ** 2))
    light = np.clip(0.5 + 0.42 * fine + 0.22 * broad + 0.35 * collarette - 1.1 * crypts, 0, 1.25)[..., None]
    colour = dark + (ground - dark) * np.clip(light * 1.7, 0, 1) + (bright - ground) * np.clip(light - 0.55, 0, 1)
    ruff = np.exp(-depth / 0.035)[..., None]
    colour = colour * (1 - 0.75 * ruff) + np.array([16.0, 24.0, 36.0]) * 0.75 * ruff
    edge = np.clip((depth - 0.80) / 0.2, 0, 1)[..., None] ** 1.5
    return np.rint(np.clip(colour * (1 - 0.55 * edge), 0, 255)).astype(np.uint8)


def outline(eye: Eye) -> np.ndarray:
    """Radius of the pupil in millimetres for each of 720 directions."""
    degrees = np.arange(ROUND) * (360 / ROUND)
    radii = np.full(ROUND, eye.pupil)
    radii += 0.05 * np.cos(np.radians(3 * degrees + 40)) + eye.billow * np.cos(np.radians(2 * degrees - 20))
    hooks = sorted((h.angle % 360, h.pull) for h in eye.hooks if h.holds == "iris" and h.pull > 0)
    if hooks:
        # Where no hook holds it yet, the edge stays as wide as it was.
        free = [(hooks[0][0] + 90 * k) % 360 for k in range(1, 4)]
        hooks += [(a, 0.0) for a in free if all(abs((a - h + 180) % 360 - 180) > 40 for h, _ in hooks)]
        corners = [(a, eye.pupil + p * (3.95 - eye.pupil)) for a, p in sorted(hooks)]
        radii = np.maximum(radii, _polygon(corners, degrees))
        radii = _smoothed(radii, 5)
    if eye.ring > 0:
        held = 3.2 * (1 - 0.045 * np.cos(np.radians(4 * degrees)))
        radii = radii + eye.ring * (held - radii)
    if eye.prolapse > 0:
        off = (degrees - 80 + 180) % 360 - 180
        radii = radii + 0.9 * eye.prolapse * np.exp(-((off / 26) ** 2))
    return radii


def _polygon(corners: list[tuple[float, float]], degrees: np.ndarray) -> np.ndarray:
    """Radius of a polygon with corners (angle, radius) in each direction."""
    points = [(r * math.cos(math.radians(a)), r * math.sin(math.radians(a))) for a, r in corners]
    dense = np.concatenate([
        np.linspace(here, there, 40, endpoint=False)
        for here, there in zip(points, points[1:] + points[:1], strict=True)
    ])
    angle = np.degrees(np.arctan2(dense[:, 1], dense[:, 0])) % 360
    order = np.argsort(angle)
    return np.interp(degrees, angle[order], np.hypot(dense[:, 0], dense[:, 1])[order], period=360)


def _smoothed(radii: np.ndarray, reach: int) -> np.ndarray:
    window = np.hanning(2 * reach + 3)[1:-1]
    padded = np.concatenate([radii[-reach:], radii, radii[:reach]])
    return np.convolve(padded, window / window.sum(), mode="valid")


class Iris:
    """Draws the iris of one eye around any pupil and keeps the last picture."""

    def __init__(self, look: Look, white: Picture) -> None:
        """`white` is the part of the stage that lies under the cornea (300, 300, 3)."""
        self.texture = _texture(look)
        self.size = look.cornea
        steps = (np.arange(SIDE, dtype=np.float32) - SIDE / 2) / PX
        x, y = np.meshgrid(steps, steps)
        self.far: Plane = np.hypot(x, y).astype(np.float32)
        self.around = (np.degrees(np.arctan2(y, x)) % 360 * (ROUND / 360)).astype(np.float32)
        self.index = np.minimum(self.around.astype(np.int32), ROUND - 1)
        self.white = white
        rim = CORNEA * self.size
        self.cornea: Plane = np.clip((rim - self.far) / 0.45 + 0.5, 0, 1)
        self.gloss = (1.0 - 0.16 * np.clip(self.far / rim, 0, 1) ** 2 - 0.010 * (0.6 * x + 0.8 * y)).astype(np.float32)
        self._kept: tuple[bytes, Picture, Plane, Plane] | None = None

    def draw(self, eye: Eye) -> tuple[Picture, Plane, Plane]:
        """The square with iris and white of the eye, where the pupil is (0 to 1), and how light the lens lies there."""
        radii = np.round(outline(eye), 2).astype(np.float32)
        key = radii.tobytes()
        if self._kept and self._kept[0] == key:
            return self._kept[1:]
        edge = radii[self.index]
        depth = (self.far - edge) / np.maximum(CORNEA * self.size - edge, 0.2) * (DEEP - 1)
        shown = cv2.remap(self.texture, np.clip(depth, 0, DEEP - 1), self.around, cv2.INTER_LINEAR, borderMode=1)
        shown = cv2.multiply(shown, cv2.merge([self.gloss * 255] * 3).astype(np.uint8), scale=1 / 255)
        picture = cv2.blendLinear(shown, self.white, self.cornea, 1 - self.cornea)
        pupil = np.clip((edge - self.far) * (PX / 1.6) + 0.5, 0, 1)
        shade = np.clip(0.42 + (edge - self.far) / 0.75, 0.42, 1).astype(np.float32)
        self._kept = (key, picture, pupil, shade)
        return picture, pupil, shade
