"""What is seen through the pupil, put together: from the red reflex up to the front capsule."""

from __future__ import annotations

import math

import cv2
import numpy as np

from demo_clips.brush import Brush, arc, blend, paste, tint
from demo_clips.geometry import PX, Picture, mix, polar, wobble
from demo_clips.lens import HALF, SIDE, Cortex, implant, nucleus, plane, reflex, shell, whole_cover
from demo_clips.state import Eye, Look, Piece

BLUE = (168, 70, 28)
ORIGIN = (HALF, HALF)
SPECKS = 16


class PupilView:
    """Draws the lens of one eye in any state and keeps the last picture."""

    def __init__(self, look: Look) -> None:
        self.look = look
        self.cortex = Cortex(look)
        self.x, self.y, self.far = plane()
        self._floors: dict[int, Picture] = {}
        self._seen: tuple[object, Picture] | None = None

    @staticmethod
    def key(eye: Eye) -> tuple[object, ...]:
        """All that this picture depends on."""
        return (
            eye.pieces, eye.grooves, eye.bowl, eye.milk, eye.shell, eye.shell_at, eye.shell_size, eye.cortex, eye.turn,
            eye.lift, eye.wave, eye.stain, eye.radius, eye.torn, eye.torn_from, eye.hoop, eye.implant, eye.tear,
            eye.specks, eye.tear_at,
        )

    def draw(self, eye: Eye) -> Picture:
        """The picture (220, 220, 3); not to be written to."""
        key = self.key(eye)
        if self._seen and self._seen[0] == key:
            return self._seen[1]
        view = self._floor(eye).copy()
        brush = Brush(view, ORIGIN)
        if eye.tear > 0:
            _tear(brush, eye)
        if max(eye.cortex) > 0:
            blend(view, self.cortex.colour, self.cortex.mask(eye.cortex))
        look = self.look
        if eye.shell > 0.01:
            paste(view, shell(look.lens, look.seed), eye.shell_at, ORIGIN, eye.turn, eye.shell_size, eye.shell)
        for piece in eye.pieces:
            if piece.size > 0.03:
                self._piece(view, eye, piece)
        if eye.milk > 0.01:
            paste(view, whole_cover(look.lens, look.seed), (0, 0), ORIGIN, 0, (1, 1), eye.milk)
        if eye.wave:
            self._wave(view, *eye.wave)
        if eye.hoop > 0:
            _hoop(brush, eye)
        if eye.implant and eye.implant.place == "bag":
            _implant(view, eye)
        _capsule(view, brush, eye)
        if eye.implant and eye.implant.place == "sulcus":
            _implant(view, eye)
        self._seen = (key, view)
        return view

    def _floor(self, eye: Eye) -> Picture:
        """The red reflex and what lies on the back capsule."""
        level = round(eye.specks * SPECKS)
        if level not in self._floors:
            view = reflex(self.look.seed).copy()
            rng = np.random.default_rng(self.look.seed + 51)
            for k in range(SPECKS):
                spot, radius = polar(rng.uniform(0, 360), 3.2 * math.sqrt(rng.uniform(0, 1))), rng.uniform(0.07, 0.2)
                if k < level:
                    Brush(view, ORIGIN).disc(spot, radius, (150, 176, 208), 0.42)
            self._floors[level] = view
        return self._floors[level]

    def _piece(self, view: Picture, eye: Eye, piece: Piece) -> None:
        bowl = round(eye.bowl * 12) / 12
        sprite = nucleus(self.look.lens, self.look.seed, piece.start, piece.end, eye.grooves, bowl)
        grow = piece.size * (1 + 0.05 * eye.lift)
        turn = math.radians(eye.turn)
        # A piece shrinks about its own middle, not about the middle of the lens.
        mid = polar(piece.middle, 2.0) if piece.end - piece.start < 359 else (0.0, 0.0)
        x, y = piece.at[0] + mid[0] * (1 - piece.size), piece.at[1] + mid[1] * (1 - piece.size)
        at = (x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn))
        paste(view, sprite, at, ORIGIN, eye.turn + piece.turn, (grow, grow * piece.squash))

    def _wave(self, view: Picture, direction: float, run: float) -> None:
        c, s = math.cos(math.radians(direction)), math.sin(math.radians(direction))
        front = self.x * c + self.y * s + 0.10 * (self.x * s - self.y * c) ** 2
        at = mix(-4.6, 5.2, run)
        swept = np.clip((at - front) * 2, 0, 1) * 0.20 * (self.far < 3.9)
        bright = np.exp(-(((front - at) / 0.30) ** 2)) * 0.85
        dark = np.exp(-(((front - at - 0.46) / 0.28) ** 2)) * 0.6
        tint(view, np.clip(dark, 0, 1).astype(np.float32), (20, 30, 70))
        tint(view, np.clip(bright + swept, 0, 1).astype(np.float32), (196, 216, 238))


def _implant(view: Picture, eye: Eye) -> None:
    lens = eye.implant
    if lens:
        paste(view, implant(lens.kind), lens.at, ORIGIN, lens.turn, (1.0, lens.opened), lens.seen)


def _tear(brush: Brush, eye: Eye) -> None:
    """A hole in the back capsule with a rolled, pale edge."""
    x, y = eye.tear_at
    edge = []
    for k in range(40):
        a = 2 * math.pi * k / 40
        r = eye.tear * 1.35 * (1 + 0.16 * math.sin(2 * a + 0.6) + 0.10 * math.sin(3 * a) + 0.03 * math.sin(7 * a))
        edge.append((x + 1.25 * r * math.cos(a), y + 0.85 * r * math.sin(a)))
    brush.shape(edge, (18, 22, 74), 0.74)
    brush.line([(px + 0.08, py + 0.10) for px, py in edge], (40, 60, 120), 0.07, 0.6, closed=True)
    brush.line(edge, (206, 220, 238), 0.10, 0.92, closed=True)
    brush.line(edge[24:34], (236, 242, 248), 0.12, 0.6)


def _hoop(brush: Brush, eye: Eye) -> None:
    points = arc(eye.hoop_from, eye.hoop_from + 330 * eye.hoop, 3.5, count=60)
    brush.line(points, (60, 40, 30), 0.26, 0.6)
    brush.line(points, (206, 150, 96), 0.16, 0.95)


def _capsule(view: Picture, brush: Brush, eye: Eye) -> None:
    """The front capsule, blue where it is stained, and the edge of the opening as far as it is torn."""
    angles = np.linspace(eye.torn_from, eye.torn_from + eye.torn, 90)
    rim = [polar(a, eye.radius * wobble(a)) for a in angles]
    if eye.stain > 0.01:
        mask = np.full((SIDE, SIDE), eye.stain * 0.5, np.float32)
        if eye.torn > 12:
            spots = np.rint((np.array(rim) * PX + HALF) * 16).astype(np.int32).reshape(-1, 1, 2)
            hole = np.zeros((SIDE, SIDE), np.uint8)
            cv2.fillPoly(hole, [spots], 255, cv2.LINE_AA, 4)
            mask *= 1 - hole.astype(np.float32) / 255
        tint(view, mask, BLUE)
    if eye.torn > 3:
        blue = eye.stain > 0.2
        closed = eye.torn >= 359
        brush.line([(x + 0.05, y + 0.07) for x, y in rim], (36, 48, 90), 0.07, 0.45, closed)
        brush.line(rim, (206, 120, 60) if blue else (222, 232, 240), 0.08, 0.85 if blue else 0.7, closed)
