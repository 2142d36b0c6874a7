"""Pupil and capsule: ring and hooks that widen the pupil, the tear in the capsule, hooks and ring that hold the bag."""

from __future__ import annotations

from dataclasses import replace

from demo_clips.acts.hands import LEFT, MAIN, RIGHT, Act, Options, hold, outside, path, steady
from demo_clips.geometry import LIMBUS, Point, along, between, clamp, ease, folded, mix, phase, polar
from demo_clips.state import Eye, Flap, Hook


def pupil_ring(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """The ring comes out of its injector and catches the pupil's edge corner by corner."""
    wide = phase(u, 0.18, 0.42)
    caught = phase(u, 0.34, 0.48) * 0.4 + phase(u, 0.58, 0.68) * 0.3 + phase(u, 0.74, 0.86) * 0.3
    if u < 0.56:
        hold(eye, "ring_injector", MAIN, u / 0.56, [polar(MAIN, 2.2), polar(MAIN, 1.4), polar(MAIN, 2.8)], 0.28, 0.82)
    else:
        spots = [polar(LEFT + 12, 2.9), polar(LEFT + 4, 3.3), polar(LEFT + 20, 2.6), polar(40, 2.4), polar(40, 3.1)]
        hold(eye, "lens_hook", LEFT, (u - 0.56) / 0.44, spots, 0.16, 0.86)
    if u >= 0.18:
        eye.ring_at = None if caught > 0.02 else between(polar(MAIN, 3.4), (0.0, 0.0), wide)
        eye.ring_size = mix(0.25, 0.92, wide)
    eye.ring = caught
    if u >= 1:
        eye.ring_at = None


def iris_hooks(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """Hooks through the limbus, one after the other, pull the pupil's edge outwards."""
    _hooks(eye, u, options, "iris")


def capsule_hooks(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """Hooks through the limbus, one after the other, hold the edge of the opening in the capsule."""
    _hooks(eye, u, options, "capsule")


def _hooks(eye: Eye, u: float, options: Options, holds: str) -> None:
    places = [float(a) for a in options.get("at", (42, 138, 222, 318))]
    share = 1 / len(places)
    hooks = list(eye.hooks)
    for k, angle in enumerate(places):
        part = clamp((u - k * share) / share)
        if part <= 0:
            continue
        hooks.append(Hook(angle, phase(part, 0.15, 0.55), phase(part, 0.62, 0.88), holds))
        if part < 1:
            at = polar(angle + 4, LIMBUS + mix(6.0, 1.9, phase(part, 0.0, 0.5)))
            away = polar(angle + 4, LIMBUS + 9)
            steady(eye, "forceps", angle + 10, between(at, away, phase(part, 0.86, 1.0)))
    eye.hooks = tuple(hooks)


def tear(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """A needle opens the capsule and lifts a flap; forceps lead the tear round, with fresh grips, and take it out."""
    eye.radius = float(options.get("mm", 5.2)) / 2
    start = eye.torn_from
    first = polar(start, eye.radius)
    if u < 0.24:
        spots = [(0.1, 0.1), (0.05, 0.05), between((0, 0), first, 0.55), first, polar(start + 24, eye.radius)]
        tip = hold(eye, "cystotome", MAIN, u / 0.24, spots, 0.30, 0.84)
        reached = clamp((u / 0.24 - 0.42) / 0.42)
        if reached > 0:
            eye.scratch = ((0.05, 0.05), tip if u / 0.24 < 0.70 else first)
        eye.torn = 24 * phase(u, 0.17, 0.21)
    else:
        eye.scratch = ()
        eye.torn = mix(24, 360, _in_grips(clamp((u - 0.34) / 0.50), int(options.get("grips", 4))))
        if eye.torn < 359:
            eye.flap = Flap(start, eye.torn, mix(0.95, 0.34, phase(eye.torn, 110, 300)))
        tip = _forceps_tip(eye, u)
        eye.scrap = tip if u >= 0.84 else None
        steady(eye, "forceps", MAIN, tip, gape=_gape(u, int(options.get("grips", 4))))
    if u < 0.24 and eye.torn > 3:
        eye.flap = Flap(start, eye.torn, 0.95)
    if u >= 1:
        eye.torn, eye.flap, eye.scratch, eye.scrap = 360.0, None, (), None


def _in_grips(share: float, grips: int) -> float:
    """A tear goes on in pulls, with rests between while the flap is gripped anew."""
    step = min(int(share * grips), grips - 1)
    return (step + ease(clamp((share * grips - step) / 0.72))) / grips


def _gape(u: float, grips: int) -> float:
    share = clamp((u - 0.34) / 0.50) * grips
    return 1.0 if u < 0.32 or (share % 1) > 0.84 else 0.12


def _forceps_tip(eye: Eye, u: float) -> Point:
    """Near the tear, where the flap is held; at first on the way in, at last on the way out with the flap."""
    held = folded(eye.torn_from, min(eye.torn, 340), mix(0.95, 0.34, phase(eye.torn, 110, 300)), eye.radius)[1][30]
    wound, away = polar(MAIN, LIMBUS), outside(MAIN)
    if u < 0.34:
        return along(u, [(0.24, away), (0.29, wound), (0.34, held)])
    if u > 0.84:
        return along(u, [(0.84, held), (0.93, wound), (1.0, away)])
    return held


def tension_ring(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """A tension ring slides out of its injector along the equator of the bag."""
    eye.hoop_from = 62.0
    eye.hoop = phase(u, 0.22, 0.82)
    spots = [polar(66, 3.4), polar(64, 3.2), polar(66, 3.4)]
    hold(eye, "ring_injector", MAIN, u, spots, 0.2, 0.86)
    tip = path(LEFT, u, [polar(140, 2.0), polar(100, 2.2), polar(60, 2.4)], 0.35, 0.86)
    steady(eye, "lens_hook", LEFT, tip)


def release(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """Hooks are let go and drawn out one by one, or the pupil ring is unhooked and taken back."""
    if eye.ring > 0:
        eye.ring = 1 - phase(u, 0.24, 0.62)
        if u < 0.5:
            spots = [polar(LEFT + 8, 2.5), polar(LEFT + 8, 3.0), polar(RIGHT, 2.4)]
            hold(eye, "lens_hook", LEFT, u / 0.5, spots, 0.3, 0.84)
        else:
            hold(eye, "forceps", MAIN, (u - 0.5) / 0.5, [polar(MAIN, 1.6), polar(MAIN, 2.2)], 0.35, 0.62)
        if u >= 0.62:
            eye.ring_at = between((0.0, 0.0), outside(MAIN), phase(u, 0.70, 0.98))
            eye.ring_size = mix(0.9, 0.2, phase(u, 0.66, 0.86))
            eye.ring = 0.0
        if u >= 1:
            eye.ring_at = None
        return
    count = max(len(eye.hooks), 1)
    kept = []
    for k, hook in enumerate(eye.hooks):
        part = clamp(u * count - k)
        if part < 1:
            kept.append(replace(hook, pull=hook.pull * (1 - phase(part, 0.25, 0.5)), inside=1 - phase(part, 0.5, 0.98)))
        if 0 < part < 1:
            at = polar(hook.angle + 4, LIMBUS + mix(1.7, 9.0, phase(part, 0.45, 1.0)))
            steady(eye, "forceps", hook.angle + 10, between(polar(hook.angle, LIMBUS + 8), at, phase(part, 0.0, 0.25)))
    eye.hooks = tuple(kept)


ACTS: dict[str, Act] = {
    "pupil_ring": pupil_ring, "iris_hooks": iris_hooks, "capsule_hooks": capsule_hooks, "tear": tear,
    "tension_ring": tension_ring, "release": release,
}
