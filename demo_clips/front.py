"""What lies before the lens: implant on its way, hooks, rings, gel, dye, strands."""

from __future__ import annotations

import math

import numpy as np

from demo_clips.brush import Brush, arc, paste
from demo_clips.geometry import CENTRE, LIMBUS, Point, between, folded, mix, polar
from demo_clips.iris import outline
from demo_clips.lens import implant
from demo_clips.state import Eye, Flap, Hook, Look

BLUE = (168, 70, 28)
VEIL = (196, 210, 220)


class Front:
    """Draws everything between the lens and the instruments."""

    def __init__(self, look: Look) -> None:
        self.look = look
        rng = np.random.default_rng(look.seed + 61)
        self.noise = rng.standard_normal((64, 3))
        spots = [polar(rng.uniform(0, 360), 4.2 * math.sqrt(rng.uniform(0.1, 1))) for _ in range(9)]
        self.bubbles = [(spot, rng.uniform(0.08, 0.28)) for spot in spots]

    def draw(self, brush: Brush, eye: Eye, seconds: float) -> None:
        """Lay it all over the canvas, from the back to the front."""
        if eye.vitreous > 0:
            self._vitreous(brush, eye, seconds)
        if eye.strand:
            self._strand(brush, eye, *eye.strand)
        if eye.scratch:
            brush.line(eye.scratch, (206, 120, 60) if eye.stain > 0.2 else (220, 230, 238), 0.07, 0.8)
        if eye.flap:
            self._flap(brush, eye, eye.flap)
        if eye.scrap:
            self._scrap(brush, eye, eye.scrap)
        if eye.ring_at is not None or eye.ring > 0:
            self._ring(brush, eye)
        for hook in eye.hooks:
            self._hook(brush, hook, eye)
        if eye.implant and eye.implant.place == "front":
            lens = eye.implant
            for _ in range(2):  # folded, it is thicker and easier to see
                paste(brush.picture, implant(lens.kind), lens.at, CENTRE, lens.turn, (1.0, lens.opened), lens.seen)
        for spot, size in eye.crumbs:
            brush.disc((spot[0] + 0.04, spot[1] + 0.05), size, (40, 60, 90), 0.4)
            brush.disc(spot, size, (150, 186, 206), 0.85)
        if eye.dye and eye.dye_seen > 0:
            brush.cloud(eye.dye, BLUE, 0.78 * eye.dye_seen, 0.55)
        if 0 < eye.gel < 1 or eye.gel_seen > 0:
            self._gel(brush, eye)
        if eye.puff and eye.puff_seen > 0:
            brush.cloud(eye.puff, eye.puff_colour, eye.puff_seen, 0.45)
        if eye.bubbles > 0:
            for spot, radius in self.bubbles[: round(9 * eye.bubbles)]:
                brush.line(arc(0, 360, radius, spot), (226, 232, 232), 0.05, 0.7)
                brush.disc((spot[0] - radius * 0.3, spot[1] - radius * 0.3), 0.05, (250, 250, 250))
        if len(eye.thread) > 1:
            brush.line(eye.thread, (30, 26, 28), 0.05, 0.9)
        if eye.film > 0:
            self._film(brush, eye, seconds)

    def _film(self, brush: Brush, eye: Eye, seconds: float) -> None:
        run = (seconds * 0.9) % 1
        for k in range(3):
            at = -6 + 12 * ((run + k / 3) % 1)
            brush.line(arc(200, 340, 5.4 - abs(at) * 0.25, (0, at)), (236, 240, 240), 0.5, 0.13 * eye.film)

    def _gel(self, brush: Brush, eye: Eye) -> None:
        strength = eye.gel_seen if eye.gel >= 1 or eye.gel <= 0 else 1.0
        reach = 0.4 + 11.0 * (eye.gel if 0 < eye.gel < 1 else 1.0)
        points: list[Point] = []
        for k in range(64):
            a = 2 * math.pi * k / 64
            r = reach * (1 + 0.07 * math.sin(3 * a + self.noise[0, 0]) + 0.05 * math.sin(5 * a + self.noise[1, 0]))
            x, y = eye.gel_from[0] + r * math.cos(a), eye.gel_from[1] + r * math.sin(a)
            far = math.hypot(x, y)
            limit = (eye.gel_reach - 0.15 * math.sin(4 * a)) * self.look.cornea
            if far > limit:
                x, y = x * limit / far, y * limit / far
            points.append((x, y))
        brush.shape(points, (226, 224, 206), 0.15 * strength)
        brush.line([(x + 0.08, y + 0.10) for x, y in points], (52, 60, 70), 0.16, 0.30 * strength, closed=True)
        brush.line(points, (250, 250, 244), 0.11, 0.60 * strength, closed=True)
        inner = [between(p, eye.gel_from, 0.22) for p in points[36:52]]
        brush.line(inner, (250, 250, 246), 0.22, 0.30 * strength)

    def _flap(self, brush: Brush, eye: Eye, flap: Flap) -> None:
        edge, over = folded(flap.start, flap.swept, flap.fold, eye.radius)
        a, b = edge[0], edge[-1]
        stained = eye.stain > 0.2
        brush.shape([(x + 0.10, y + 0.14) for x, y in over], (20, 24, 40), 0.30)
        brush.shape(over, (176, 84, 36) if stained else VEIL, 0.72 if stained else 0.42)
        brush.line(over, (226, 160, 110) if stained else (236, 242, 246), 0.06, 0.8)
        brush.line([a, b], (120, 50, 24) if stained else (150, 160, 172), 0.09, 0.65)
        crease = [between(over[8], b, 0.3), between(over[20], between(a, b, 0.5), 0.3), over[30]]
        brush.line(crease, (230, 170, 120) if stained else (240, 246, 248), 0.05, 0.5)

    def _scrap(self, brush: Brush, eye: Eye, at: Point) -> None:
        """The disc torn out of the capsule, hanging crumpled in the forceps."""
        points = []
        for a in range(0, 360, 12):
            ragged = 1.0 + 0.35 * math.sin(math.radians(2 * a)) + 0.16 * math.sin(math.radians(5 * a))
            points.append(polar(a, ragged * eye.radius * 0.42, (at[0] - 0.5, at[1] - 0.55)))
        stained = eye.stain > 0.2
        brush.shape(points, (176, 84, 36) if stained else VEIL, 0.78 if stained else 0.5)
        brush.line(points, (226, 160, 110) if stained else (238, 244, 248), 0.06, 0.8, closed=True)
        crease = [points[3], (at[0] - 0.4, at[1] - 0.5), points[19]]
        brush.line(crease, (230, 170, 120) if stained else (240, 246, 248), 0.05, 0.6)

    def _strand(self, brush: Brush, eye: Eye, angle: float, free: Point) -> None:
        """A strip of cortex from behind the pupil's edge to the port that draws it."""
        reach = outline(eye)[int(angle * 2) % 720] + 0.05
        left, right, middle = polar(angle - 15, reach), polar(angle + 15, reach), polar(angle, reach * 0.7)
        waist = [between(between(end, free, 0.5), middle, 0.2) for end in (left, right)]
        sides = [left, waist[0], (free[0] - 0.12, free[1]), (free[0] + 0.12, free[1]), waist[1], right]
        brush.shape(sides, (214, 224, 230) if self.look.lens == "white" else (180, 204, 214), 0.66)
        for share in (0.2, 0.5, 0.8):
            fibre = [between(left, right, share), between(waist[0], waist[1], share), free]
            brush.line(fibre, (232, 240, 244), 0.05, 0.6)

    def _ring(self, brush: Brush, eye: Eye) -> None:
        at = eye.ring_at or (0.0, 0.0)
        radius = mix(3.2 * eye.ring_size, 3.2, eye.ring if eye.ring_at is None else 0)
        points = []
        for a in np.linspace(0, 360, 96, endpoint=False):
            r = radius * (1 - 0.045 * math.cos(math.radians(4 * a)))
            narrow = 1.0 if eye.ring_at is None else 0.55 + 0.45 * eye.ring_size
            x, y = polar(a, r)
            points.append((at[0] + narrow * x, at[1] + y))
        brush.line([(x + 0.06, y + 0.09) for x, y in points], (20, 20, 26), 0.2, 0.4, closed=True)
        brush.line(points, (150, 84, 44), 0.17, closed=True)
        brush.line(points, (226, 176, 140), 0.06, closed=True)
        for k in range(4):
            corner = points[12 + 24 * k]
            brush.line(arc(0, 330, 0.24, corner), (180, 110, 64), 0.12)

    def _hook(self, brush: Brush, hook: Hook, eye: Eye) -> None:
        if hook.inside <= 0:
            return
        a = hook.angle
        if hook.holds == "iris":
            reach = mix(mix(LIMBUS, eye.pupil - 0.25, hook.inside), 3.9, hook.pull)
        else:
            reach = mix(mix(LIMBUS, eye.radius - 0.30, hook.inside), eye.radius + 0.12, hook.pull)
        tip = polar(a, reach)
        tail = polar(a + 3, reach + 9.5)
        brush.line([(tip[0] + 0.1, tip[1] + 0.14), (tail[0] + 0.1, tail[1] + 0.14)], (16, 20, 26), 0.14, 0.4)
        brush.line([tip, tail], (150, 92, 40), 0.13)
        brush.line([tip, tail], (226, 176, 110), 0.05)
        aside = polar(a + 90, 0.22)
        curl = polar(a, 0.50 if hook.holds == "capsule" else 0.36, tip)
        bow = [(curl[0] + aside[0], curl[1] + aside[1]), (tip[0] + aside[0] * 0.6, tip[1] + aside[1] * 0.6), tip]
        brush.line(bow, (206, 140, 76), 0.13)
        stop = max(LIMBUS + 0.45, reach + mix(4.5, 0.5, hook.pull))
        ends = [polar(a + 0.5, stop), polar(a + 0.6, stop + 0.55)]
        brush.line(ends, (44, 120, 196), 0.42)
        brush.line(ends, (110, 180, 236), 0.16)

    def _vitreous(self, brush: Brush, eye: Eye, seconds: float) -> None:
        x, y = eye.tear_at
        for k in range(11):
            bend, far, lean = self.noise[k]
            goal = polar(80 + 34 * lean, 1.6 + 3.4 * min(1.0, abs(far) * 0.8) * eye.vitreous)
            start = (x + 0.5 * bend, y + 0.4 * lean)
            sway = 0.12 * math.sin(1.3 * seconds + k)
            points = []
            for s in np.linspace(0, eye.vitreous, 12):
                px, py = between(start, goal, s)
                points.append((px + (0.5 * bend + sway) * math.sin(3.1 * s), py + 0.16 * math.sin(5 * s + k)))
            brush.line(points, (226, 228, 224), 0.05, 0.34 + 0.4 * eye.tracer)
            if eye.tracer > 0:
                for p in points[1::2]:
                    brush.disc((p[0] + 0.05 * bend, p[1]), 0.075, (246, 248, 248), 0.9 * eye.tracer)
