"""What is seen at the limbus: cuts, swollen cornea, ink, stitches, iris that has come out."""

from __future__ import annotations

import math

from demo_clips.brush import Brush, arc
from demo_clips.geometry import CORNEA, LIMBUS, between, polar
from demo_clips.iris import COLOURS
from demo_clips.state import Eye, Look, Wound

DARK_THREAD = (24, 22, 24)


def draw_outside(brush: Brush, eye: Eye, look: Look) -> None:
    """Draw all of it; it rarely changes from one frame to the next."""
    for spot, radius, strength in eye.haze:
        brush.cloud([(spot, radius)], (214, 218, 216), 0.95 * strength, 0.35)
    for wound in eye.wounds:
        if wound.width > 1.6:
            _main_wound(brush, wound)
        else:
            _side_port(brush, wound)
    if eye.prolapse > 0:
        _prolapse(brush, eye, look)
    for angle, length, strength in eye.marks:
        ends = [polar(angle, CORNEA - 0.25), polar(angle, CORNEA - 0.25 + length)]
        brush.line(ends, (108, 44, 52), 0.20, 0.85 * strength)
    for angle, tied in eye.sutures:
        inner, outer = polar(angle, LIMBUS - 1.0), polar(angle, LIMBUS + 0.95)
        brush.line([inner, between(inner, outer, max(tied, 0.05))], DARK_THREAD, 0.06)
        if tied >= 1:
            brush.disc(polar(angle, LIMBUS + 0.6), 0.10, DARK_THREAD)


def _main_wound(brush: Brush, wound: Wound) -> None:
    half = math.degrees(wound.width / LIMBUS / 2)
    a, seen = wound.angle, wound.opened
    outer = arc(a - half, a + half, LIMBUS + 0.15, count=8)
    inner = arc(a - half * 0.94, a + half * 0.94, LIMBUS - 1.5, count=8)
    brush.shape([*outer, *reversed(inner)], (206, 210, 206), 0.20 * seen)
    brush.line(inner, (216, 222, 220), 0.06, 0.5 * seen)
    brush.line(outer, (52, 48, 90), 0.10, 0.75 * seen)
    brush.line(arc(a - half, a + half, LIMBUS + 0.28, count=8), (226, 230, 228), 0.06, 0.5 * seen)
    brush.cloud([(polar(a + half, LIMBUS + 0.45), 0.16)], (40, 36, 176), 0.5 * seen, 0.2)


def _side_port(brush: Brush, wound: Wound) -> None:
    half = math.degrees(wound.width / LIMBUS / 2)
    ends = [polar(wound.angle - half, LIMBUS), polar(wound.angle + half, LIMBUS)]
    brush.line(ends, (46, 44, 80), 0.10, 0.7 * wound.opened)
    brush.line([between(p, (0.0, 0.0), 0.10) for p in ends], (222, 226, 224), 0.07, 0.5 * wound.opened)


def _prolapse(brush: Brush, eye: Eye, look: Look) -> None:
    """A knuckle of iris in the main wound."""
    a, p = 80.0, eye.prolapse
    body = [
        polar(a - 9, LIMBUS - 1.2), polar(a - 9 - 4 * p, LIMBUS + 0.4), polar(a - 5, LIMBUS + 0.5 + 1.1 * p),
        polar(a + 4, LIMBUS + 0.4 + 1.2 * p), polar(a + 10 + 3 * p, LIMBUS + 0.4), polar(a + 9, LIMBUS - 1.2),
    ]
    smooth = []
    for k in range(len(body)):  # corners cut twice make it round
        here, there, next_one = (body[(k + step) % len(body)] for step in range(3))
        for share in (0.25, 0.75):
            smooth.append(between(between(here, there, share), between(there, next_one, share), 0.5))
    ground, dark, bright = COLOURS[look.iris]
    strength = min(1.0, p * 1.5)
    brush.line([(x + 0.07, y + 0.09) for x, y in smooth], (20, 22, 30), 0.16, 0.5 * strength, closed=True)
    brush.shape(smooth, dark, strength)
    middle = polar(a, LIMBUS + 0.5)
    brush.shape([between(q, middle, 0.22) for q in smooth], ground, 0.75 * strength)
    for k, (off, out) in enumerate(((-7.5, 0.5), (-5, 0.95), (-2, 1.15), (0.5, 1.0), (3.5, 1.2), (6.5, 0.8))):  # folds
        tip = polar(a + off * 1.15, LIMBUS + out * p)
        fold = [polar(a + off, LIMBUS - 0.4), polar(a + off * 1.1 + 0.8, LIMBUS + 0.3), tip]
        brush.line(fold, dark if k % 2 else bright, 0.07, 0.6 * strength)
    brush.line([polar(a - 7, LIMBUS + 0.95 * p), polar(a + 1, LIMBUS + 1.15 * p)], bright, 0.10, 0.9 * p)
