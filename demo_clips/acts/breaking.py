"""The nucleus is freed and broken: fluid wave, trenches, cracks, chops."""

from __future__ import annotations

import math

from demo_clips.acts.hands import LEFT, MAIN, REST, SECOND, Act, Options, hold, path, stay, steady
from demo_clips.geometry import Point, between, clamp, ease, mix, phase, polar
from demo_clips.state import Eye, Groove, Piece

WHOLE = (Piece(0.0, 360.0),)


def hydrodissect(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """Water under the edge of the capsule: a wave runs behind the lens, the lens rises and then turns."""
    at = polar(MAIN + 60, eye.radius + 0.35)
    second = polar(MAIN - 55, eye.radius + 0.3)
    hold(eye, "hydro_cannula", MAIN, u, [at, at, second, (0.7, 0.9), (1.3, 0.1), (0.6, 0.8)], 0.16, 0.9)
    waves = ((0.18, 0.45, MAIN + 240), (0.48, 0.66, MAIN + 130))
    eye.wave = next(((d, (u - a) / (b - a)) for a, b, d in waves if a <= u <= b), None)
    eye.lift = 0.9 * phase(u, 0.3, 0.45) - 0.5 * phase(u, 0.62, 0.7)
    eye.turn += float(options.get("turn", 38)) * phase(u, 0.66, 0.9)
    eye.milk *= 1 - (0.2 if eye.milk > 0.6 else 0.5) * phase(u, 0.3, 0.8)
    if u >= 1:
        eye.wave = None


def _far_from_wound(eye: Eye) -> float:
    """Direction of a trench straight away from the main wound, in the frame of the nucleus."""
    return MAIN + 180 - eye.turn


def _stroke(eye: Eye, share: float, count: int, reach: float) -> tuple[Point, float, float]:
    """Strokes of the phaco tip from near to far: where it is, how deep the trench is, how far it goes."""
    done = share * count
    step, part = min(int(done), count - 1), clamp(done - min(int(done), count - 1))
    forth = ease(part / 0.62) if part < 0.62 else 1 - ease((part - 0.62) / 0.38)
    tip = between(polar(MAIN, 1.5), polar(MAIN + 180, reach), forth)
    depth = clamp((step + min(part / 0.62, 1.0)) / count)
    return tip, depth, mix(-1.7, reach, 1.0 if step else forth)


def sculpt(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """Trenches: strokes of the tip, the nucleus turned a quarter, strokes again."""
    grooves = int(options.get("grooves", 2))
    arrive, leave = stay(options, 0.12, 0.93)
    span = (leave - arrive) / grooves
    done: list[Groove] = list(eye.grooves)
    tip, start_turn = REST, eye.turn
    helper = path(LEFT, u, [SECOND], arrive + 0.03, leave)
    eye.milk *= 1 - phase(u, 0.1, 0.3)
    for k in range(grooves):
        part = clamp((u - arrive - k * span) / span)
        if part <= 0:
            break
        working = clamp((part - 0.30) / 0.66) if k else clamp(part / 0.94)
        if k:
            eye.turn = start_turn + 90 * k - 90 + 90 * ease(part / 0.26)
            helper = between(helper, polar(LEFT - 30 + 60 * ease(part / 0.26), 2.6), 1 - abs(2 * clamp(part / 0.3) - 1))
        tip, depth, reach = _stroke(eye, working, 4, 2.5)
        if working > 0:
            near = -2.4 if depth > 0.3 else -1.6
            done.append(Groove(_far_from_wound(eye), near, round(reach * 3) / 3, round(depth * 10) / 10))
    eye.grooves = tuple(done)
    if u < arrive or u > leave:
        tip = path(MAIN, u, [REST, REST], arrive, leave)
    steady(eye, "chopper", LEFT, helper)
    steady(eye, "phaco", MAIN, tip)


def parted(cuts: list[float], gap: float) -> tuple[Piece, ...]:
    """The nucleus broken at the given angles, its pieces apart by a gap in millimetres."""
    edges = sorted(c % 360 for c in cuts)
    if len(edges) < 2:
        return WHOLE
    ends = [*edges[1:], edges[0] + 360]
    return tuple(
        Piece(a, b, polar((a + b) / 2, gap)) for a, b in zip(edges, ends, strict=True)
    )


def _opening(eye: Eye, part: float, cuts: list[float], new: list[float]) -> None:
    """Break at new cuts: the pieces there come apart and settle."""
    wide = phase(part, 0.30, 0.62) * 0.34 - phase(part, 0.8, 1.0) * 0.18
    base = 0.16 if cuts else 0.0
    eye.pieces = parted(cuts + new if part >= 0.30 else cuts, max(base, wide))


def crack(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """Two instruments deep in the trench are pushed apart until the nucleus breaks; turned, and again."""
    arrive, leave = stay(options, 0.12, 0.92)
    directions = [g.angle for g in eye.grooves] or [_far_from_wound(eye)]
    cuts: list[float] = []
    share = (leave - arrive) / len(directions)
    turned = eye.turn
    phaco_tip, helper = REST, SECOND
    for k, angle in enumerate(reversed(directions)):
        part = clamp((u - arrive - k * share) / share)
        if part <= 0:
            break
        if k:
            eye.turn = turned + 90 * phase(part, 0.0, 0.26)
            part = clamp((part - 0.24) / 0.76)
        _opening(eye, part, cuts, [angle, angle + 180])
        push = phase(part, 0.26, 0.60) * (1 - phase(part, 0.80, 1.0))
        across = angle + eye.turn + 90
        deep = polar(angle + eye.turn, 0.5)
        near = phase(part, 0.0, 0.24) * (1 - phase(part, 0.84, 1.0))
        if math.cos(math.radians(across)) < 0:
            across += 180
        phaco_tip = between(REST, polar(across, 0.25 + 0.75 * push, deep), near)
        helper = between(SECOND, polar(across + 180, 0.25 + 0.75 * push, deep), near)
        cuts += [angle, angle + 180]
    if u < arrive or u > leave:
        phaco_tip, helper = path(MAIN, u, [REST, REST], arrive, leave), path(LEFT, u, [SECOND, SECOND], arrive, leave)
    steady(eye, "chopper", LEFT, helper)
    steady(eye, "phaco", MAIN, phaco_tip)


def chop(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """The tip holds the nucleus, the chopper comes from the rim (or from above) and splits it; turned, and again."""
    arrive, leave = stay(options, 0.12, 0.94)
    count = int(options.get("pieces", 4))
    upright = options.get("way") == "vertical"
    have = [c for p in eye.pieces for c in (p.start, p.end)] if len(eye.pieces) > 1 else []
    first = _far_from_wound(eye) + (0 if eye.grooves or have else 20)
    plan = [] if have else [[first, first + 180]]
    step = 360 / count
    plan += [[first + step * k] for k in range(1, count) if abs(step * k - 180) > 1]
    share = (leave - arrive) / len(plan)
    cuts = sorted(set(have))
    turned = eye.turn
    tip, helper = REST, SECOND
    eye.milk *= 1 - phase(u, 0.05, 0.25)
    for k, new in enumerate(plan):
        part = clamp((u - arrive - k * share) / share)
        if part <= 0:
            break
        if k:
            eye.turn = turned + step * k * 1.0 - step + step * phase(part, 0.0, 0.24)
        held = (0.15, 0.55)
        _opening(eye, part, cuts, new)
        rim = polar(new[0] + eye.turn, 1.1 if upright else 3.0)
        pull = phase(part, 0.22, 0.45)
        apart = phase(part, 0.42, 0.62) * (1 - phase(part, 0.82, 1.0))
        meet = (held[0] - 0.35, held[1] - 0.35)
        helper = between(between(SECOND, rim, phase(part, 0.0, 0.22)), meet, pull)
        helper = (helper[0] - 0.75 * apart, helper[1] - 0.1 * apart)
        helper = between(helper, SECOND, phase(part, 0.84, 1.0))
        tip = between(between(REST, held, phase(part, 0.0, 0.2)), REST, phase(part, 0.9, 1.0))
        tip = (tip[0] + 0.6 * apart, tip[1])
        cuts = cuts + new
    if u < arrive or u > leave:
        tip, helper = path(MAIN, u, [REST, REST], arrive, leave), path(LEFT, u, [SECOND, SECOND], arrive, leave)
    steady(eye, "chopper", LEFT, helper)
    steady(eye, "phaco", MAIN, tip)


ACTS: dict[str, Act] = {"hydrodissect": hydrodissect, "sculpt": sculpt, "crack": crack, "chop": chop}
