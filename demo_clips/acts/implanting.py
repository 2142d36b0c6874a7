"""The new lens: bag filled, lens injected and unfolded, dialled, laid on its axis, gel washed out."""

from __future__ import annotations

import math
from dataclasses import replace

from demo_clips.acts.hands import LEFT, MAIN, RIGHT, Act, Options, hold, path, steady
from demo_clips.geometry import between, clamp, mix, phase, polar
from demo_clips.state import Eye, Implant


def bag_fill(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """Gel opens the empty bag."""
    hold(eye, "cannula", MAIN, u, [(-0.4, -2.4), (0.2, -2.2), (0.4, 1.6)])
    eye.gel_from, eye.gel_reach = (-0.4, -2.4), 4.1
    eye.gel = phase(u, 0.22, 0.84)
    eye.gel_seen = 1 - phase(u, 0.86, 1.0) if eye.gel > 0 else 0.0
    eye.bubbles = 0.6 * phase(u, 0.4, 0.6)
    if u >= 1:
        eye.gel = 1.0


def inject(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """The lens comes rolled out of the cartridge, opens, and settles in the bag or in the sulcus."""
    kind, place = str(options.get("lens", "single")), str(options.get("place", "bag"))
    pushed = phase(u, 0.24, 0.56)
    spots = [polar(MAIN, 2.6), polar(MAIN, 2.2), polar(MAIN, 3.6)]
    hold(eye, "injector", MAIN, u, spots, 0.22, 0.66, gape=pushed)
    if u > 0.24:
        opened = mix(0.16, 0.42, pushed) + 0.58 * phase(u, 0.52, 0.78)
        at = between(polar(MAIN, 5.6), (0.0, -0.1), phase(u, 0.24, 0.58))
        turn = float(options.get("turn", -20)) - 70 * (1 - phase(u, 0.5, 0.8))
        sunk = place if u > 0.72 else "front"
        eye.implant = Implant(kind, at, turn, min(1.0, opened), sunk, mix(0.75, 1.0, pushed))
    eye.bubbles *= 1 - phase(u, 0.5, 0.9)


def dial(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """A hook at the edge of the optic turns the lens and nudges it to the middle."""
    lens = eye.implant
    if lens is None:
        return
    angle = float(options.get("by", 75))
    share = phase(u, 0.24, 0.56) * 0.6 + phase(u, 0.62, 0.82) * 0.4
    start = LEFT + 30
    tip = polar(start + angle * share, 2.7)
    steady(eye, "lens_hook", LEFT, path(LEFT, u, [tip, tip], 0.2, 0.86))
    shift = (0.18 * math.sin(math.pi * share), 0.1 * math.sin(2 * math.pi * share))
    rest = between(lens.at, (0.0, 0.0), share)
    eye.implant = replace(lens, at=(rest[0] + shift[0], rest[1] + shift[1]), turn=lens.turn + angle * share)


def align(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """The marks on the optic are brought onto the ink: nearly there, then in small steps."""
    lens = eye.implant
    if lens is None or eye.axis is None:
        return
    goal = eye.axis - 90
    lack = (goal - lens.turn + 90) % 180 - 90
    share = phase(u, 0.20, 0.40) * 0.72 + phase(u, 0.46, 0.58) * 0.18 + phase(u, 0.66, 0.80) * 0.10
    turn = lens.turn + lack * share
    tip = polar(turn + 180, 2.6)
    steady(eye, "lens_hook", LEFT, path(LEFT, u, [tip, tip], 0.18, 0.88))
    eye.implant = replace(lens, turn=turn, at=between(lens.at, (0.0, 0.0), share))


def wash_out(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """Gel is drawn out before and behind the lens, which rocks a little."""
    paired = options.get("way") == "bimanual"
    kind, entry = ("thin_aspirator", RIGHT) if paired else ("aspirator", MAIN)
    work = clamp((u - 0.15) / 0.72)
    spot = polar(90 + 420 * work, 1.9 - 0.7 * math.sin(5 * work))
    steady(eye, kind, entry, path(entry, u, [spot, spot], 0.15, 0.87))
    if paired:
        steady(eye, "thin_irrigator", LEFT, path(LEFT, u, [(-2.2, 0.3), (-1.8, -0.3)], 0.15, 0.87))
    eye.gel_from, eye.gel_reach = spot, 4.4
    eye.gel = 1 - phase(u, 0.18, 0.85)
    eye.gel_seen = phase(u, 0.1, 0.18) if eye.gel >= 1 else 0.0
    eye.bubbles = 0.5 * phase(u, 0.16, 0.24) * (1 - phase(u, 0.35, 0.6))
    if eye.implant and 0.15 < u < 0.87:
        rock = 0.05 * math.sin(7 * seconds)
        eye.implant = replace(eye.implant, at=(rock, 0.04 * math.cos(5 * seconds)))
    if u >= 1:
        eye.gel, eye.gel_seen = 0.0, 0.0


ACTS: dict[str, Act] = {"bag_fill": bag_fill, "inject": inject, "dial": dial, "align": align, "wash_out": wash_out}
