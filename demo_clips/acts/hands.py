"""How instruments come and go: through which wound, past which places, and out again."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from demo_clips.geometry import LIMBUS, Point, along, heading, polar
from demo_clips.state import Eye, Tool

MAIN, LEFT, RIGHT = 80.0, 172.0, 12.0
"""Where the main wound and the two side ports lie."""
REST = (0.1, 0.9)
"""Where the phaco tip waits between two acts."""
SECOND = (-1.5, 0.3)
"""Where the second instrument waits."""

Options = Mapping[str, Any]
Act = Callable[[Eye, float, float, Options], None]
"""Changes an eye in place: the eye, the share of the step that is over (0 to 1), the seconds of it, what is asked."""


def outside(entry: float) -> Point:
    """A place beyond the edge of the picture, in line with an entry."""
    c, s = abs(math.cos(math.radians(entry))), abs(math.sin(math.radians(entry)))
    return polar(entry, 0.6 + min(15.2 / max(c, 0.05), 9.3 / max(s, 0.05)))


def path(entry: float, u: float, spots: Sequence[Point], arrive: float, leave: float) -> Point:
    """Where the tip is: in from outside until `arrive`, past the spots, and out from `leave` on.

    An instrument that is there already has `arrive` 0, one that stays has `leave` 1.
    """
    wound, away = polar(entry, LIMBUS), outside(entry)
    stops: list[tuple[float, Point]] = []
    if arrive > 0:
        stops += [(0.0, away), (arrive * 0.55, wound)]
    count = len(spots)
    stops += [(arrive + (leave - arrive) * k / max(count - 1, 1), spot) for k, spot in enumerate(spots)]
    if leave < 1:
        stops += [(leave + (1 - leave) * 0.45, wound), (1.0, away)]
    return along(u, stops)


def hold(
    eye: Eye, kind: str, entry: float, u: float, spots: Sequence[Point], arrive: float = 0.16, leave: float = 0.88,
    gape: float = 0.0,
) -> Point:
    """Put an instrument into the picture on its way; returns where its tip is."""
    tip = path(entry, u, spots, arrive, leave)
    steady(eye, kind, entry, tip, gape)
    return tip


def steady(eye: Eye, kind: str, entry: float, tip: Point, gape: float = 0.0, turn: float = 0.0) -> None:
    """Put an instrument into the picture with its tip at a place."""
    eye.tools.append(Tool(kind, tip, heading(tip, polar(entry, LIMBUS)), gape, turn))


def stay(options: Options, arrive: float = 0.16, leave: float = 0.88) -> tuple[float, float]:
    """When an instrument arrives and leaves, as the scenario says: `comes` and `goes` may be false."""
    return (arrive if options.get("comes", True) else 0.0), (leave if options.get("goes", True) else 1.0)
