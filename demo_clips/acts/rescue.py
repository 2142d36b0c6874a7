"""When things go otherwise: iris out of the wound, vitreous in the chamber, a lost iris put back."""

from __future__ import annotations

import math

from demo_clips.acts.hands import LEFT, MAIN, RIGHT, Act, Options, hold, path, steady
from demo_clips.geometry import clamp, phase, polar
from demo_clips.state import Eye


def prolapse(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """The iris billows and comes out of the wound; it is let fall back and stroked in with a spatula."""
    out = phase(u, 0.02, 0.22)
    back = phase(u, 0.55, 0.88)
    eye.prolapse = max(0.0, out - back)
    eye.billow = 0.16 * math.sin(6 * seconds) * out * (1 - back)
    if u > 0.25:
        spot = polar(RIGHT + 40, 3.0)
        sweep = polar(MAIN - 30 + 30 * math.sin(4 * seconds), 4.4 - 1.2 * back)
        hold(eye, "spatula", RIGHT, (u - 0.25) / 0.75, [spot, sweep, sweep, sweep, spot], 0.22, 0.86)


def vitrectomy(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """White crystals show the vitreous; the cutter works behind the capsule until no strand is left."""
    white = phase(u, 0.02, 0.12)
    if u < 0.22:
        hold(eye, "cannula", LEFT, u / 0.22, [(-1.0, 0.2), (-0.5, 0.5)], 0.4, 0.65)
        eye.puff = (((-0.2, 0.5), 1.2), ((0.8, 1.6), 1.0), ((0.4, -0.6), 0.9))
        eye.puff_colour = (246, 248, 248)
        eye.puff_seen = 0.75 * phase(u, 0.09, 0.16) * (1 - phase(u, 0.18, 0.30))
    else:
        eye.puff, eye.puff_seen = (), 0.0
        part = (u - 0.22) / 0.78
        work = clamp((part - 0.18) / 0.66)
        spot = polar(60 + 200 * work, 0.9 * math.sin(3 * work) + 0.2, eye.tear_at)
        cutting = 0.5 + 0.5 * math.sin(95 * seconds)
        steady(eye, "thin_irrigator", LEFT, path(LEFT, part, [(-2.0, -0.2), (-1.8, 0.3)], 0.16, 0.88))
        steady(eye, "cutter", RIGHT, path(RIGHT, part, [spot, spot], 0.18, 0.86), gape=cutting)
    eye.tracer = max(eye.tracer, white)
    eye.vitreous = max(0.0, eye.vitreous if u < 0.3 else eye.vitreous * (1 - phase(u, 0.36, 0.86)))
    eye.cortex = tuple(w * (1 - 0.8 * phase(u, 0.4, 0.9)) for w in eye.cortex)
    if u >= 1:
        eye.vitreous, eye.tracer, eye.puff = 0.0, 0.0, ()


def tamponade(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """Thick gel over the hole in the back capsule before anything leaves the eye; vitreous comes forward behind it."""
    steady(eye, "phaco", MAIN, path(MAIN, u, [(0.2, 1.0), (0.2, 1.4)], 0.0, 0.62))
    hold(eye, "cannula", LEFT, u, [(-0.6, 0.0), (0.3, -0.3), (-0.4, 0.2)], 0.22, 0.9)
    eye.gel_from, eye.gel_reach = (0.3, -0.3), 4.3
    eye.gel = phase(u, 0.25, 0.9)
    eye.gel_seen = 1 - phase(u, 0.88, 1.0) if eye.gel > 0 else 0.0
    eye.vitreous = 0.9 * phase(u, 0.1, 0.8)
    if u >= 1:
        eye.gel = 1.0


ACTS: dict[str, Act] = {"prolapse": prolapse, "vitrectomy": vitrectomy, "tamponade": tamponade}
