"""The end: wounds swollen shut or stitched, tested dry, the last drug."""

from __future__ import annotations

import math
from dataclasses import replace

from demo_clips.acts.hands import MAIN, Act, Options, hold, outside, steady
from demo_clips.geometry import LIMBUS, along, between, clamp, phase, polar
from demo_clips.state import Eye


def hydrate(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """Water into the walls of each wound turns them white; a dry sponge tests them."""
    wounds = sorted(eye.wounds, key=lambda w: -w.width)[:3]
    sites = [(w.angle + side, 0.8) for w in wounds[:1] for side in (-11, 11)] + [(w.angle, 0.7) for w in wounds[1:]]
    until = 0.70
    share = until / max(len(sites), 1)
    haze = []
    for k, (angle, radius) in enumerate(sites):
        part = clamp((u - k * share) / share)
        if part <= 0:
            continue
        haze.append((polar(angle, LIMBUS - 0.75), radius, phase(part, 0.30, 0.8)))
        if part < 1:
            at = polar(angle, LIMBUS - 0.35)
            entry = angle if len(sites) == 1 else angle + 8
            away = polar(entry, LIMBUS + 3.2)
            steady(eye, "hydro_cannula", entry, along(part, [(0, away), (0.3, at), (0.75, at), (1, away)]))
    eye.haze = tuple(haze)
    eye.wounds = tuple(replace(w, opened=w.opened * (1 - 0.6 * phase(u, 0.1, 0.6))) for w in eye.wounds)
    eye.pupil -= float(options.get("narrow", 0.15)) * phase(u, 0.2, 0.9)
    if u > until:
        away = outside(MAIN + 25)
        dabs = [(0.35, MAIN), (0.45, MAIN + 12), (0.62, MAIN - 10)]
        stops = [(0.0, away), *((at, polar(angle, LIMBUS + 0.3)) for at, angle in dabs), (1.0, away)]
        steady(eye, "sponge", MAIN + 25, along((u - until) / (1 - until), stops))


def stitch(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """One or more radial stitches over the main wound, passed with a curved needle and tied."""
    count = int(options.get("count", 1))
    share = 1 / count
    places = [MAIN + 9 * (k - (count - 1) / 2) for k in range(count)]
    done = []
    for k, angle in enumerate(places):
        part = clamp((u - k * share) / share)
        if part <= 0:
            continue
        outer, inner = polar(angle, LIMBUS + 0.95), polar(angle, LIMBUS - 1.0)
        pulled = polar(angle - 60, LIMBUS + 4.5)
        stops = [(0.0, outside(60)), (0.2, inner), (0.45, outer), (0.62, pulled), (0.72, outer), (0.85, outer),
                 (1.0, outside(60))]
        tip = along(part, stops)
        through = phase(part, 0.2, 0.45)
        done.append((angle, 1.0 if part > 0.84 else 0.9 * through))
        if part < 1:
            steady(eye, "needle_holder" if part < 0.64 else "forceps", 50, tip)
            near = phase(part, 0.1, 0.3) * (1 - phase(part, 0.9, 1.0))
            grip = between(outside(120), polar(angle + 8, LIMBUS + 1.2), near)
            steady(eye, "forceps", 118, grip)
            if 0.45 < part < 0.84:
                x, y = between(tip, outer, 0.5)
                sag = (x + 0.5, y + 0.6 * math.sin(2 * seconds))
                eye.thread = (inner, outer, sag, tip)
    eye.sutures = tuple(a for a in done if a[1] > 0)
    eye.wounds = tuple(replace(w, opened=w.opened * (1 - 0.4 * u)) if w.width > 1.6 else w for w in eye.wounds)
    if u >= 1:
        eye.thread = ()


def medicate(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """The last drug goes into the chamber as a faint cloud."""
    entry = float(options.get("through", 12.0))
    hold(eye, "cannula", entry, u, [polar(entry, 3.6), polar(entry, 3.2)], 0.24, 0.78)
    spread = phase(u, 0.28, 0.75)
    eye.puff = tuple((polar(entry + 150 + 50 * k, 0.4 + 2.2 * spread), 0.6 + 0.7 * spread) for k in range(3))
    eye.puff_colour = (250, 250, 244)
    eye.puff_seen = 0.5 * phase(u, 0.28, 0.4) * (1 - phase(u, 0.6, 1.0))
    eye.pupil -= float(options.get("narrow", 0.0)) * phase(u, 0.4, 1.0)
    eye.haze = tuple((p, r, s * (1 - 0.3 * u)) for p, r, s in eye.haze)
    if u >= 1:
        eye.puff = ()


ACTS: dict[str, Act] = {"hydrate": hydrate, "stitch": stitch, "medicate": medicate}
