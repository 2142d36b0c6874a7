"""What lies before the lens: implant on its way, hooks, rings, gel, dye, strands, wounds, stitches."""

from __future__ import annotations

import math

import cv2
import numpy as np

from demo_clips.brush import Brush, arc, paste
from demo_clips.geometry import CENTRE, CORNEA, LIMBUS, Point, angle_of, between, mix, polar, wobble
from demo_clips.iris import COLOURS
from demo_clips.lens import implant
from demo_clips.state import Eye, Flap, Hook, Look, Wound

BLUE = (168, 70, 28)
VEIL = (196, 210, 220)


class Front:
    """Draws everything between the lens and the instruments."""

    def __init__(self, look: Look) -> None:
        self.look = look
        rng = np.random.default_rng(look.seed + 61)
        self.noise = rng.standard_normal((64, 3))
        self.bubbles = [(polar(rng.uniform(0, 360), 4.2 * math.sqrt(rng.uniform(0.1, 1))), rng.uniform(0.08, 0.28)) for _ in range(9)]

    def draw(self, brush: Brush, eye: Eye, seconds: float) -> None:
        """Lay it all over the canvas, from the back to the front."""
        if eye.vitreous > 0:
            self._vitreous(brush, eye, seconds)
        if eye.strand:
            self._strand(brush, *eye.strand)
        if eye.scratch:
            brush.line(eye.scratch, (206, 120, 60) if eye.stain > 0.2 else (220, 230, 238), 0.07, 0.8)
        if eye.flap:
            self._flap(brush, eye, eye.flap)
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
        self._outside(brush, eye, seconds)

    def _outside(self, brush: Brush, eye: Eye, seconds: float) -> None:
        for spot, radius, strength in eye.haze:
            brush.cloud([(spot, radius)], (214, 218, 216), 0.62 * strength, 0.4)
        for wound in eye.wounds:
            self._wound(brush, wound)
        if eye.prolapse > 0:
            self._prolapse(brush, eye)
        for angle, length, strength in eye.marks:
            ends = [polar(angle, CORNEA - 0.25), polar(angle, CORNEA - 0.25 + length)]
            brush.line(ends, (108, 44, 52), 0.20, 0.85 * strength)
        for angle, tied in eye.sutures:
            inner, outer = polar(angle, LIMBUS - 1.0), polar(angle, LIMBUS + 0.95)
            brush.line([inner, between(inner, outer, max(tied, 0.05))], (24, 22, 24), 0.06)
            if tied >= 1:
                brush.disc(polar(angle, LIMBUS + 0.6), 0.10, (24, 22, 24))
        if len(eye.thread) > 1:
            brush.line(eye.thread, (30, 26, 28), 0.05, 0.9)
        if eye.film > 0:
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
            limit = (5.2 - 0.15 * math.sin(4 * a)) * self.look.cornea
            if far > limit:
                x, y = x * limit / far, y * limit / far
            points.append((x, y))
        brush.shape(points, (226, 224, 206), 0.15 * strength)
        brush.line([(x + 0.08, y + 0.10) for x, y in points], (52, 60, 70), 0.16, 0.30 * strength, closed=True)
        brush.line(points, (250, 250, 244), 0.11, 0.60 * strength, closed=True)
        inner = [between(p, eye.gel_from, 0.22) for p in points[36:52]]
        brush.line(inner, (250, 250, 246), 0.22, 0.30 * strength)

    def _flap(self, brush: Brush, eye: Eye, flap: Flap) -> None:
        start, end = flap.start, flap.start + flap.swept
        edge = [polar(a, eye.radius * wobble(a)) for a in np.linspace(start, end, 40)]
        a, b = edge[0], edge[-1]
        dx, dy = b[0] - a[0], b[1] - a[1]
        length = math.hypot(dx, dy) or 1e-6
        nx, ny = -dy / length, dx / length
        folded: list[Point] = []
        for k, (x, y) in enumerate(edge):
            height = (x - a[0]) * nx + (y - a[1]) * ny
            crumple = flap.fold * (1 + 0.10 * math.sin(k * 0.9))
            fx, fy = x - (1 + crumple) * height * nx, y - (1 + crumple) * height * ny
            folded.append((fx, fy))
        stained = eye.stain > 0.2
        brush.shape([(x + 0.10, y + 0.14) for x, y in folded], (20, 24, 40), 0.30)
        brush.shape(folded, (176, 84, 36) if stained else VEIL, 0.72 if stained else 0.42)
        brush.line(folded, (226, 160, 110) if stained else (236, 242, 246), 0.06, 0.8)
        brush.line([a, b], (120, 50, 24) if stained else (150, 160, 172), 0.09, 0.65)
        crease = [between(folded[8], b, 0.3), between(folded[20], between(a, b, 0.5), 0.3), folded[30]]
        brush.line(crease, (230, 170, 120) if stained else (240, 246, 248), 0.05, 0.5)

    def _strand(self, brush: Brush, angle: float, free: Point) -> None:
        left, right = polar(angle - 13, 4.3), polar(angle + 13, 4.3)
        middle = polar(angle, 3.2)
        base = [left, between(left, free, 0.5), free, between(right, free, 0.5), right]
        bent = [(x * 0.8 + middle[0] * 0.2, y * 0.8 + middle[1] * 0.2) for x, y in base[1:4:2]]
        outline = [left, bent[0], (free[0] - 0.12, free[1]), (free[0] + 0.12, free[1]), bent[1], right]
        colour = (214, 224, 230) if self.look.lens == "white" else (180, 204, 214)
        kept = [p for p in outline]
        brush.shape(kept, colour, 0.62)
        for share in (0.2, 0.5, 0.8):
            root = between(left, right, share)
            brush.line([root, between(root, free, 0.5), free], (232, 240, 244), 0.05, 0.6)

    def _ring(self, brush: Brush, eye: Eye) -> None:
        at = eye.ring_at or (0.0, 0.0)
        radius = mix(3.2 * eye.ring_size, 3.2, eye.ring if eye.ring_at is None else 0)
        points = []
        for a in np.linspace(0, 360, 96, endpoint=False):
            r = radius * (1 - 0.045 * math.cos(math.radians(4 * a)))
            stretch = (1.0, 1.0) if eye.ring_at is None else (0.55 + 0.45 * eye.ring_size, 1.0)
            points.append((at[0] + r * math.cos(math.radians(a)) * stretch[0], at[1] + r * math.sin(math.radians(a)) * stretch[1]))
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
        brush.line([(curl[0] + aside[0], curl[1] + aside[1]), (tip[0] + aside[0] * 0.6, tip[1] + aside[1] * 0.6), tip], (206, 140, 76), 0.13)
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

    def _wound(self, brush: Brush, wound: Wound) -> None:
        half = math.degrees(wound.width / LIMBUS / 2)
        a = wound.angle
        if wound.width > 1.6:
            outer, inner = arc(a - half, a + half, LIMBUS + 0.15, count=8), arc(a - half * 0.94, a + half * 0.94, LIMBUS - 1.5, count=8)
            brush.shape([*outer, *reversed(inner)], (206, 210, 206), 0.20 * wound.opened)
            brush.line(inner, (216, 222, 220), 0.06, 0.5 * wound.opened)
            brush.line(outer, (52, 48, 90), 0.10, 0.75 * wound.opened)
            brush.line(arc(a - half, a + half, LIMBUS + 0.28, count=8), (226, 230, 228), 0.06, 0.5 * wound.opened)
            brush.cloud([(polar(a + half, LIMBUS + 0.45), 0.16)], (40, 36, 176), 0.5 * wound.opened, 0.2)
        else:
            ends = [polar(a - half, LIMBUS), polar(a + half, LIMBUS)]
            brush.line(ends, (46, 44, 80), 0.10, 0.7 * wound.opened)
            brush.line([between(p, (0.0, 0.0), 0.10) for p in ends], (222, 226, 224), 0.07, 0.5 * wound.opened)

    def _prolapse(self, brush: Brush, eye: Eye) -> None:
        a, p = 80.0, eye.prolapse
        body = [polar(a - 9, LIMBUS - 1.2), polar(a - 9 - 4 * p, LIMBUS + 0.4), polar(a - 5, LIMBUS + 0.5 + 1.1 * p), polar(a + 4, LIMBUS + 0.4 + 1.2 * p), polar(a + 10 + 3 * p, LIMBUS + 0.4), polar(a + 9, LIMBUS - 1.2)]
        spots = cv2.approxPolyDP(np.array(body, np.float32), 0.01, True).reshape(-1, 2)
        smooth = [between(between(body[i], body[(i + 1) % 6], t), between(body[(i + 1) % 6], body[(i + 2) % 6], t), 0.5) for i in range(len(spots)) for t in (0.25, 0.75)]
        ground, dark, bright = COLOURS[self.look.iris]
        brush.shape(smooth, dark, min(1.0, p * 1.5))
        brush.shape([between(q, polar(angle_of(q), 6.0), 0.2) for q in smooth], ground, min(1.0, p * 1.5))
        brush.line([polar(a - 6, LIMBUS + 0.7 * p), polar(a + 5, LIMBUS + 0.9 * p)], bright, 0.10, p)
