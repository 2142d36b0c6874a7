"""From the quiet eye to the filled chamber: preparation, marks, ports, main wound, gel, dye."""

from __future__ import annotations

import math

from demo_clips.acts.hands import LEFT, MAIN, RIGHT, Act, Options, hold, outside, steady
from demo_clips.geometry import LIMBUS, along, between, clamp, ease, mix, phase, polar
from demo_clips.state import Eye, Wound


def look(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """Nothing is done: the eye is shown, the light comes up or goes down."""
    if options.get("card"):
        eye.title = tuple(options["card"]) if seconds < float(options.get("card_s", 3)) else ()
        seconds -= float(options.get("card_s", 3))
    if options.get("rise"):
        eye.light = 0.15 + 0.85 * ease(seconds / 1.2)
    if options.get("fall"):
        eye.light = 1.0 - 0.92 * phase(u, 0.72, 1.0)


def prepare(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """Brown antiseptic over the eye, washed away with water."""
    eye.iodine = 0.85 * phase(u, 0.10, 0.28) * (1 - phase(u, 0.50, 0.85))
    eye.film = phase(u, 0.45, 0.55) * (1 - phase(u, 0.88, 1.0))
    if u < 0.44:
        tip = along(u, [(0.0, outside(20)), (0.10, polar(20, 3)), (0.34, polar(200, 2)), (0.44, outside(20))])
        steady(eye, "dropper", 20, tip)
    else:
        tip = along(u, [(0.44, outside(40)), (0.54, polar(40, 3)), (0.86, polar(230, 3)), (1.0, outside(40))])
        steady(eye, "cannula", 40, tip)


def mark_axis(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """Two reference points of ink with a pen, then the marker with the meant axis."""
    axis = float(options["axis"])
    marks = [(angle, 0.7, phase(u, at, at + 0.05)) for angle, at in ((180.0, 0.12), (0.0, 0.30))]
    marks += [(axis + turn, 1.3, phase(u, 0.66, 0.70)) for turn in (0.0, 180.0)]
    eye.marks = tuple(marks)
    eye.axis = axis
    if u < 0.42:
        stops = [(0.0, outside(40)), (0.12, polar(180, LIMBUS)), (0.18, polar(180, LIMBUS)), (0.30, polar(0, LIMBUS)),
                 (0.34, polar(0, LIMBUS)), (0.42, outside(40))]
        steady(eye, "pen", 60, along(u, stops))
    else:
        tip = along(u, [(0.42, outside(50)), (0.58, (0.3, 0.4)), (0.64, (0, 0)), (0.74, (0, 0)), (0.92, outside(50))])
        steady(eye, "marker", 50, tip, turn=axis)


def side_port(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """One stab after the other through the limbus, the eye held on the other side."""
    ports = [float(p) for p in options.get("at", (LEFT, RIGHT))]
    share = 1 / len(ports)
    for k, angle in enumerate(ports):
        part = clamp((u - k * share) / share)
        depth = phase(part, 0.38, 0.52) - phase(part, 0.62, 0.74)
        if part >= 0.5:
            eye.wounds = (*eye.wounds, Wound(angle, 1.0))
        if 0 < part < 1:
            near = polar(angle, LIMBUS + 0.5)
            tip = along(part, [(0.0, outside(angle)), (0.36, near), (0.78, near), (1.0, outside(angle))])
            tip = between(tip, polar(angle, LIMBUS - 2.3), depth)
            other = angle + 155
            there = polar(other, LIMBUS + 0.5)
            grip = along(part, [(0.0, outside(other)), (0.26, there), (0.82, there), (1.0, outside(other))])
            steady(eye, "fixation_forceps", other, grip)
            steady(eye, "side_port_blade", angle, tip)


def main_incision(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """The keratome goes through clear cornea in two moves and comes out again."""
    width = float(options.get("width", 2.4))
    rim, tunnel, inside = (polar(MAIN, LIMBUS + r) for r in (0.5, -1.4, -4.1))
    stops = [(0.0, outside(MAIN)), (0.18, rim), (0.28, rim), (0.44, tunnel), (0.50, tunnel), (0.68, inside),
             (0.76, inside), (1.0, outside(MAIN))]
    tip = along(u, stops)
    cut = phase(u, 0.30, 0.66)
    if cut > 0:
        eye.wounds = (*eye.wounds, Wound(MAIN, mix(1.65, width, cut), cut))
    there = polar(236, LIMBUS + 0.6)
    grip = along(u, [(0.0, outside(250)), (0.2, there), (0.84, there), (1.0, outside(250))])
    steady(eye, "fixation_forceps", 240, grip)
    steady(eye, "keratome", MAIN, tip)


def enlarge(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """The main wound is cut wider, with the keratome moved sideways."""
    sway = 5 * math.sin(2 * math.pi * phase(u, 0.35, 0.75))
    hold(eye, "keratome", MAIN + sway, u, [polar(MAIN + sway, 2.8), polar(MAIN + sway, 2.4), polar(MAIN + sway, 2.8)])
    width = mix(2.4, float(options.get("width", 3.0)), phase(u, 0.35, 0.75))
    eye.wounds = tuple(w if w.width < 1.6 else Wound(w.angle, width) for w in eye.wounds)


def fill(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """Clear gel flows in from the far side and fills the chamber; the pupil widens a little."""
    entry = float(options.get("through", LEFT))
    far = polar(entry + 180, 3.6)
    hold(eye, "cannula", entry, u, [far, polar(entry + 170, 3.2), polar(entry, 2.6)])
    eye.gel_from, eye.gel_reach = polar(entry + 180, 3.2), 5.2
    eye.gel = phase(u, 0.20, 0.86)
    eye.gel_seen = 1 - phase(u, 0.86, 1.0) if eye.gel > 0 else 0.0
    eye.bubbles = 0.35 * phase(u, 0.4, 0.6) * (1 - phase(u, 0.85, 1.0)) if options.get("bubbles", True) else 0.0
    eye.pupil += float(options.get("widen", 0.12)) * phase(u, 0.3, 0.9)
    eye.prolapse *= 1 - phase(u, 0.3, 0.7)
    if u >= 1:
        eye.gel = 1.0


def stain(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """Blue dye swirls into the chamber, waits, and is washed out; the capsule stays blue."""
    where = hold(eye, "cannula", LEFT, u, [(0.6, -0.4), (-0.4, 0.4), (0.2, -0.2), (-1.5, 0.2)], leave=0.9)
    grow = phase(u, 0.18, 0.45)
    eye.dye = tuple(
        (polar(40 + 61 * k + 30 * seconds * (1 if k % 2 else -0.6), 2.9 * grow * (0.35 + 0.65 * ((k * 37) % 10) / 10),
               (0.2, -0.1)), 0.3 + 1.6 * grow)
        for k in range(9)
    ) if u > 0.17 and where else ()
    eye.dye_seen = phase(u, 0.17, 0.32) * (1 - phase(u, 0.60, 0.86))
    eye.film = 0.6 * phase(u, 0.58, 0.66) * (1 - phase(u, 0.86, 0.95))
    eye.stain = phase(u, 0.35, 0.62)
    eye.gel_seen = 0.0
    if u >= 1:
        eye.dye = ()


def drug(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """A small puff of a drug into the chamber; the pupil answers."""
    entry = float(options.get("through", RIGHT))
    hold(eye, "cannula", entry, u, [polar(entry, 3.4), polar(entry + 6, 3.0)])
    strength = phase(u, 0.25, 0.45) * (1 - phase(u, 0.6, 0.95))
    eye.puff = tuple((polar(entry + 180 + 40 * (k - 1), 0.8 + 2.2 * phase(u, 0.25, 0.7)), 0.9) for k in range(3))
    eye.puff_colour = (244, 244, 236)
    eye.puff_seen = 0.4 * strength
    eye.pupil += float(options.get("pupil", 0.0)) * phase(u, 0.4, 1.0)
    if u >= 1:
        eye.puff = ()


ACTS: dict[str, Act] = {
    "look": look, "prepare": prepare, "mark_axis": mark_axis, "side_port": side_port, "main_incision": main_incision,
    "enlarge": enlarge, "fill": fill, "stain": stain, "drug": drug,
}
