"""The pieces go: quadrants, bowl and flip, epinucleus, cortex, polish."""

from __future__ import annotations

import math
from dataclasses import replace

from demo_clips.acts.hands import LEFT, MAIN, REST, RIGHT, SECOND, Act, Options, path, stay, steady
from demo_clips.geometry import Point, between, clamp, ease, mix, phase, polar
from demo_clips.lens import SECTORS, sector_angle
from demo_clips.state import Eye


def remove(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """Piece after piece comes to the tip in the middle and is eaten. `keep` pieces stay; `rupture_at` tears the bag."""
    arrive, leave = stay(options, 0.10, 0.92)
    order = sorted(eye.pieces, key=lambda p: math.cos(math.radians(p.middle + eye.turn - MAIN - 180)), reverse=True)
    order = [p for p in order if p.size > 0]
    going = order[: max(1, len(order) - int(options.get("keep", 0)))]
    share = (leave - arrive) / len(going)
    tip: Point = REST
    helper = SECOND
    kept = [p for p in order if p not in going]
    for k, piece in enumerate(going):
        part = clamp((u - arrive - k * share) / share)
        if part >= 1:
            continue
        where = piece.middle + eye.turn
        catch = phase(part, 0.0, 0.24)
        bring = phase(part, 0.26, 0.5)
        shrink = 1 - ease((part - 0.42) / 0.56)
        shake = 0.05 * math.sin(41 * seconds) * (0 < shrink < 0.98)
        away = mix(math.hypot(*piece.at), -1.75, bring)
        at = polar(piece.middle, away)
        sway = 10 * bring * math.sin(3 * seconds)
        kept.append(replace(piece, at=(at[0] + shake, at[1]), turn=sway, size=max(0.0, shrink)))
        if part > 0:
            tip = between(between(REST, polar(where, 1.5), catch), REST, bring)
            helper = between(SECOND, polar(where + 40, 1.1), catch * (1 - bring))
    eye.pieces = tuple(p for p in kept if p.size > 0.02)
    eye.grooves = eye.grooves if eye.pieces else ()
    if "rupture_at" in options:
        when = float(options["rupture_at"])
        eye.tear = phase(u, when, when + 0.10)
        eye.pupil += 0.22 * phase(u, when, when + 0.05) - 0.12 * phase(u, when + 0.1, when + 0.25)
        eye.shell *= 1 - phase(u, when - 0.1, when)
    if u < arrive or u > leave:
        tip, helper = path(MAIN, u, [REST, REST], arrive, leave), path(LEFT, u, [SECOND, SECOND], arrive, leave)
    steady(eye, "chopper", LEFT, helper)
    steady(eye, "phaco", MAIN, tip)


def bowl(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """A soft nucleus is hollowed out in circles until a thin bowl is left."""
    arrive, leave = stay(options, 0.12, 0.95)
    work = clamp((u - arrive) / (leave - arrive))
    spot = polar(70 + 1500 * work, 0.4 + 1.9 * work, (0.1, 0.1))
    tip = path(MAIN, u, [spot, spot], arrive, leave)
    eye.bowl = round(0.95 * ease(work), 2)
    eye.milk *= 1 - phase(u, 0.1, 0.5)
    steady(eye, "chopper", LEFT, path(LEFT, u, [SECOND, SECOND], arrive, leave))
    steady(eye, "phaco", MAIN, tip)


def flip(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """The rim of the bowl is held, folded over towards the middle and eaten."""
    arrive, leave = stay(options, 0.10, 0.92)
    over = phase(u, arrive + 0.14, 0.55)
    gone = phase(u, 0.52, 0.90)
    far = polar(MAIN + 180, 2.5)
    tip = path(MAIN, u, [REST, far, far, (0.1, 0.2), (0.1, 0.4), REST], arrive, leave)
    helper = path(LEFT, u, [SECOND, polar(MAIN + 10, 2.2), polar(MAIN + 180, 0.6), SECOND, SECOND], arrive, leave)
    size = max(0.0, (1 - 0.30 * over) * (1 - gone))
    wobble = 0.05 * math.sin(37 * seconds) * (gone > 0)
    width = max(0.14, abs(math.cos(math.pi * over)))  # it is seen from the edge while it turns over
    eye.pieces = tuple(
        replace(p, size=size, at=(0.1 + wobble, 0.5 * over), turn=-eye.turn, squash=width)
        for p in eye.pieces if size > 0.03
    )
    eye.bowl = mix(eye.bowl, 0.3, over)
    steady(eye, "chopper", LEFT, helper)
    steady(eye, "phaco", MAIN, tip)
    if u >= 1:
        eye.pieces, eye.bowl = (), 0.0


def epinucleus(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """The soft bowl left behind is caught at its rim, folds in and goes in one piece."""
    arrive, leave = stay(options, 0.14, 0.86)
    rim = polar(MAIN + 180, 2.8)
    tip = path(MAIN, u, [REST, rim, rim, REST, REST], arrive, leave)
    fold = phase(u, arrive + 0.22, 0.66)
    gone = phase(u, 0.58, leave)
    eye.shell_at = between((0, 0), REST, fold)
    eye.shell_size = (max(0.02, (1 - 0.25 * fold) * (1 - gone)), max(0.02, (1 - 0.5 * fold) * (1 - gone)))
    helper = path(LEFT, u, [SECOND, polar(MAIN + 150, 1.6), SECOND], arrive, leave)
    steady(eye, "chopper", LEFT, helper)
    steady(eye, "phaco", MAIN, tip)
    if u >= leave:
        eye.shell = 0.0


def cortex(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """Strips of cortex are caught at the rim and drawn to the middle, sector after sector."""
    paired = options.get("way") == "bimanual"
    arrive, leave = 0.10, 0.93
    kind, entry = ("thin_aspirator", RIGHT) if paired else ("aspirator", MAIN)
    turns = [sector_angle(k) for k in range(SECTORS) if eye.cortex[k] > 0.02]
    turns.sort(key=lambda a: (a - MAIN - 200) % 360)
    groups = [turns[k : k + 2] for k in range(0, len(turns), 2)]
    weights = list(eye.cortex)
    tip: Point = (0.2, 0.4)
    work = clamp((u - arrive) / (leave - arrive)) * max(len(groups), 1)
    for k, group in enumerate(groups):
        part = clamp(work - k)
        if part <= 0:
            break
        angle = sum(group) / len(group)
        pull = phase(part, 0.34, 0.92)
        tip = between(between((0.2, 0.4), polar(angle, 3.05), phase(part, 0.0, 0.28)), (0.2, 0.4), pull)
        for one in group:
            weights[int(one / 360 * SECTORS)] *= 1 - phase(part, 0.42, 0.88)
        eye.strand = (angle, tip) if 0.26 < part < 0.90 else None
    if u < arrive or u > leave:
        tip = path(entry, u, [(0.2, 0.4), (0.2, 0.4)], arrive, leave)
        eye.strand = None
    eye.cortex = tuple(round(w, 3) for w in weights)
    if options.get("leaves"):
        kept = {int(a) for a in options["leaves"]}
        eye.cortex = tuple(max(w, 0.9) if k in kept else w for k, w in enumerate(eye.cortex))
    eye.shell *= 1 - phase(u, arrive, 0.4)
    if paired:
        steady(eye, "thin_irrigator", LEFT, path(LEFT, u, [(-1.6, 0.2), (-1.2, -0.4), (-1.6, 0.3)], arrive, leave))
    steady(eye, kind, entry, tip)
    if u >= 1:
        eye.strand = None


def polish(eye: Eye, u: float, seconds: float, options: Options) -> None:
    """Small soft circles over the back capsule until the specks have gone."""
    work = clamp((u - 0.16) / 0.70)
    circle = polar(seconds * 260, 0.45, polar(200 + 320 * work, 1.5))
    tip = path(MAIN, u, [circle, circle], 0.16, 0.86)
    eye.specks = 1 - ease(work)
    steady(eye, "aspirator", MAIN, tip)


ACTS: dict[str, Act] = {
    "remove": remove, "bowl": bowl, "flip": flip, "epinucleus": epinucleus, "cortex": cortex, "polish": polish,
}
