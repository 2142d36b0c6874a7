"""How each instrument looks. A drawer gets the tip and the direction to the handle; shapes are in millimetres."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

from demo_clips.brush import Brush, Colour, circle
from demo_clips.geometry import Point
from demo_clips.state import Tool

STEEL: Colour = (168, 172, 172)
DARK: Colour = (58, 62, 66)
BRIGHT: Colour = (240, 243, 243)
FAR = 24.0
"""Handles run out of the picture."""


class Frame:
    """The instrument's own axes: `along` counts from the tip to the handle, `aside` to its right."""

    def __init__(self, tip: Point, to_handle: Point, turn: float = 0.0) -> None:
        a = math.radians(turn)
        dx, dy = to_handle
        self.tip = tip
        self.d = (dx * math.cos(a) - dy * math.sin(a), dx * math.sin(a) + dy * math.cos(a))

    def at(self, along: float, aside: float = 0.0) -> Point:
        """A point in the eye's millimetres."""
        dx, dy = self.d
        return self.tip[0] + dx * along - dy * aside, self.tip[1] + dy * along + dx * aside

    def points(self, spots: Sequence[Point]) -> list[Point]:
        """Several points at once, each (along, aside)."""
        return [self.at(a, s) for a, s in spots]


def scaled(colour: Colour, share: float) -> Colour:
    """A colour, darker or lighter."""
    blue, green, red = (min(255, int(c * share)) for c in colour)
    return blue, green, red


def rod(
    b: Brush, f: Frame, start: float, end: float, first: float, last: float | None = None,
    colour: Colour = STEEL, alpha: float = 1.0,
) -> None:
    """A round metal rod between two places along the axis, with the width at each end."""
    last = first if last is None else last
    cuts = [start, *(c for c in (7.0, 11.0) if start < c < end), end]
    for k, (here, there) in enumerate(pairwise(cuts)):
        dim = (1.0, 0.84, 0.66)[min(k if start < 7 else k + 1, 2)]
        w0 = first + (last - first) * (here - start) / (end - start)
        w1 = first + (last - first) * (there - start) / (end - start)
        for low, high, shade in ((-0.5, 0.5, 0.42), (-0.40, 0.34, 1.0), (-0.26, 0.02, 1.28)):
            quad = [(here, low * w0), (there, low * w1), (there, high * w1), (here, high * w0)]
            b.shape(f.points(quad), scaled(colour, shade * dim), alpha)


def tube(b: Brush, points: Sequence[Point], width: float, colour: Colour = STEEL) -> None:
    """A bent thin tube through points."""
    b.line(points, scaled(colour, 0.40), width)
    b.line(points, colour, width * 0.66)
    b.line([(x - 0.03, y - 0.05) for x, y in points], BRIGHT, width * 0.2)


def side_port_blade(b: Brush, f: Frame, tool: Tool) -> None:
    """A narrow pointed knife."""
    b.shape(f.points([(0, 0), (4.6, -0.62), (4.6, 0.52)]), DARK)
    b.shape(f.points([(0.12, 0), (4.6, -0.54), (4.6, 0.44)]), (206, 210, 210))
    b.shape(f.points([(0.3, 0), (4.6, -0.50), (4.6, -0.14)]), BRIGHT)
    rod(b, f, 4.5, 6.2, 1.0, 1.3)
    rod(b, f, 6.2, FAR, 2.1, 2.4, (150, 128, 92))


def keratome(b: Brush, f: Frame, tool: Tool) -> None:
    """A spade-shaped knife as wide as the wound."""
    wide = 1.22
    body = [(0, 0), (2.1, -wide), (4.2, -wide * 0.98), (6.0, -0.45), (6.0, 0.45), (4.2, wide * 0.98), (2.1, wide)]
    b.shape(f.points(body), DARK)
    edge = [(0.1, 0), (2.1, -wide + 0.07), (4.2, -wide + 0.09), (6, -0.4)]
    b.shape(f.points([*edge, (6, 0.4), (4.2, wide - 0.09), (2.1, wide - 0.07)]), (200, 205, 206))
    b.shape(f.points([*edge, (6, -0.05)]), (232, 236, 236))
    b.line(f.points([(2.05, -wide + 0.1), (0.75, 0), (2.05, wide - 0.1)]), (130, 136, 138), 0.05)
    rod(b, f, 5.8, 7.6, 0.95, 1.2)
    rod(b, f, 7.6, FAR, 2.2, 2.5, (104, 122, 150))


def cannula(b: Brush, f: Frame, tool: Tool) -> None:
    """A thin bent tube on a clear syringe."""
    tube(b, f.points([(0, 0), (2.4, 0.05), (5.2, 0.10), (8.6, 0.0)]), 0.36)
    rod(b, f, 8.4, 10.2, 0.7, 1.5, (190, 168, 120))
    rod(b, f, 10.2, FAR, 3.2, 3.4, (176, 180, 176), alpha=0.75)


def hydro_cannula(b: Brush, f: Frame, tool: Tool) -> None:
    """A flat thin tube on a syringe with an orange hub."""
    tube(b, f.points([(0, 0), (0.5, 0.03), (5.2, -0.10), (8.6, 0.0)]), 0.30)
    rod(b, f, 8.4, 10.2, 0.7, 1.5, (70, 130, 200))
    rod(b, f, 10.2, FAR, 3.0, 3.2, (176, 180, 176), alpha=0.75)


def cystotome(b: Brush, f: Frame, tool: Tool) -> None:
    """A bent needle with a sharp little hook."""
    tube(b, f.points([(0.1, 0), (5.0, -0.05), (8.8, 0.0)]), 0.26)
    b.shape(f.points([(0.16, -0.12), (-0.12, 0.42), (0.36, 0.10)]), BRIGHT)
    b.line(f.points([(0.2, -0.1), (-0.1, 0.40)]), DARK, 0.04)
    rod(b, f, 8.6, 10.4, 0.7, 1.5, (120, 150, 90))
    rod(b, f, 10.4, FAR, 2.8, 3.0, (176, 180, 176), alpha=0.75)


def forceps(b: Brush, f: Frame, tool: Tool) -> None:
    """Two fine arms that meet at the tip."""
    gape = 0.10 + 0.5 * tool.gape
    for side in (-1, 1):
        bend = (0.7, side * (0.12 + gape * 0.5))
        arm = f.points([(0, side * gape * 0.5), bend, (4.8, side * 0.36), (9.0, side * 0.62)])
        b.line(arm, DARK, 0.30)
        b.line(arm, (190, 194, 194), 0.20)
        b.line([(x - 0.02, y - 0.05) for x, y in arm], BRIGHT, 0.05)
        b.line(f.points([(0, side * gape * 0.5), (-0.02, side * gape * 0.12)]), BRIGHT, 0.12)
    rod(b, f, 8.6, FAR, 1.7, 3.6)


def fixation_forceps(b: Brush, f: Frame, tool: Tool) -> None:
    """Toothed forceps that hold the eye at the limbus."""
    for side in (-1, 1):
        arm = f.points([(0, side * 0.10), (3.5, side * 0.42), (9.0, side * 1.0)])
        b.line(arm, DARK, 0.46)
        b.line(arm, (158, 162, 164), 0.34)
        b.line([(x - 0.03, y - 0.07) for x, y in arm], BRIGHT, 0.07)
    rod(b, f, 8.8, FAR, 2.6, 4.2)


def phaco(b: Brush, f: Frame, tool: Tool) -> None:
    """A metal tip that looks out of a soft sleeve, on a heavy handpiece."""
    rod(b, f, 0.45, 2.2, 0.82)
    b.shape(f.points([(0.0, -0.30), (0.62, -0.41), (0.62, 0.41), (0.42, 0.36)]), (206, 210, 212))
    b.shape(f.points([(0.05, -0.24), (0.50, -0.24), (0.48, 0.26), (0.36, 0.24)]), (44, 48, 56))
    sleeve = [(1.35, -0.5), (1.7, -0.80), (8.0, -1.0), (8.0, 1.0), (1.7, 0.80), (1.35, 0.5)]
    b.shape(f.points(sleeve), (150, 104, 92), 0.62)
    b.shape(f.points([(1.7, -0.66), (8, -0.8), (8, -0.3), (1.7, -0.25)]), (226, 206, 198), 0.55)
    b.disc(f.at(2.5, 0.42), 0.15, (92, 60, 56), 0.9)
    rod(b, f, 7.8, 10.2, 2.2, 3.2, (150, 112, 100))
    rod(b, f, 10.0, FAR, 4.2, 5.0, (158, 162, 160))


def chopper(b: Brush, f: Frame, tool: Tool) -> None:
    """A thin rod whose end bends down."""
    tube(b, f.points([(-0.05, 0.62), (0.02, 0.10), (0.5, -0.05), (6.0, 0.05), (10.0, 0)]), 0.30)
    rod(b, f, 9.8, FAR, 1.2, 2.4)


def lens_hook(b: Brush, f: Frame, tool: Tool) -> None:
    """A thin rod with a little hook, to turn a lens."""
    tube(b, f.points([(0.0, 0.32), (0.06, 0.02), (0.5, -0.04), (6.0, 0.04), (10.0, 0)]), 0.24)
    rod(b, f, 9.8, FAR, 1.2, 2.4)


def spatula(b: Brush, f: Frame, tool: Tool) -> None:
    """A thin smooth rod with a rounded end."""
    tube(b, f.points([(0, 0), (3.0, 0.05), (6.0, 0.0), (10.0, 0)]), 0.34)
    b.disc(f.at(0.05), 0.19, (206, 210, 210))
    rod(b, f, 9.8, FAR, 1.2, 2.4)


def aspirator(b: Brush, f: Frame, tool: Tool) -> None:
    """A rounded tip with one small port, in a sleeve."""
    rod(b, f, 0.22, 2.4, 0.56)
    b.disc(f.at(0.26), 0.28, (196, 200, 200))
    b.disc(f.at(0.42, -0.02), 0.12, (34, 36, 42))
    sleeve = [(2.0, -0.45), (2.3, -0.72), (8.0, -0.92), (8.0, 0.92), (2.3, 0.72), (2.0, 0.45)]
    b.shape(f.points(sleeve), (128, 140, 96), 0.62)
    b.shape(f.points([(2.3, -0.58), (8, -0.74), (8, -0.3), (2.3, -0.2)]), (206, 222, 206), 0.5)
    rod(b, f, 7.8, FAR, 2.6, 4.4, (158, 162, 160))


def thin_aspirator(b: Brush, f: Frame, tool: Tool) -> None:
    """One half of a pair: a thin curved tube with a port."""
    tube(b, f.points([(0, 0), (2.5, -0.12), (5.5, 0.0), (9.6, 0.1)]), 0.48)
    b.disc(f.at(0.05), 0.25, (200, 204, 204))
    b.disc(f.at(0.16), 0.11, (34, 36, 42))
    rod(b, f, 9.2, FAR, 1.6, 3.2, (158, 162, 160))


def thin_irrigator(b: Brush, f: Frame, tool: Tool) -> None:
    """The other half: a thin curved tube that lets water in."""
    tube(b, f.points([(0, 0), (2.5, 0.12), (5.5, 0.0), (9.6, -0.1)]), 0.46, (150, 166, 176))
    for side in (-1, 1):
        b.disc(f.at(0.45, side * 0.16), 0.08, (40, 44, 60))
    rod(b, f, 9.2, FAR, 1.6, 3.2, (150, 140, 100))


def cutter(b: Brush, f: Frame, tool: Tool) -> None:
    """The vitreous cutter: a blunt tube with a window at its side, in which a blade runs."""
    rod(b, f, 0.0, 7.0, 0.80)
    b.disc(f.at(0.06), 0.38, (170, 174, 174))
    b.shape(f.points([(0.45, -0.40), (1.05, -0.40), (1.05, 0.10), (0.45, 0.10)]), (28, 30, 36))
    edge = 0.5 + 0.45 * tool.gape
    b.shape(f.points([(edge, -0.38), (edge + 0.14, -0.38), (edge + 0.14, 0.08), (edge, 0.08)]), BRIGHT)
    rod(b, f, 6.8, 9.6, 1.2, 2.6, (132, 96, 70))
    rod(b, f, 9.4, FAR, 3.8, 4.6, (196, 190, 178))


def injector(b: Brush, f: Frame, tool: Tool) -> None:
    """The clear cartridge through which a folded lens comes."""
    body = [(0.0, -0.72), (0.75, 0.78), (6.0, 1.05), (9.0, 1.75), (9.0, -1.75), (6.0, -1.05)]
    b.shape(f.points(body), (196, 176, 138), 0.62)
    b.line(f.points(body), (232, 226, 210), 0.06, 0.8, closed=True)
    shine = [(0.6, -0.55), (6.0, -0.8), (9.0, -1.3), (9.0, -0.8), (6.0, -0.4), (0.6, -0.25)]
    b.shape(f.points(shine), (246, 246, 240), 0.55)
    push = 8.0 - 7.0 * tool.gape
    rod(b, f, max(0.4, push), 12.0, 0.7, 0.8, (112, 120, 124), alpha=0.8)
    rod(b, f, 8.8, FAR, 4.4, 4.8, (170, 152, 112))


def ring_injector(b: Brush, f: Frame, tool: Tool) -> None:
    """A thin flat tube out of which a ring is pushed."""
    rod(b, f, 0.0, 7.5, 1.0, 1.1, (186, 188, 184))
    b.shape(f.points([(0, -0.28), (0.6, -0.28), (0.6, 0.28), (0, 0.28)]), (70, 76, 82))
    rod(b, f, 7.3, FAR, 2.8, 3.6, (164, 130, 96))


def sponge(b: Brush, f: Frame, tool: Tool) -> None:
    """A white pointed sponge on a stick."""
    b.shape(f.points([(0, 0), (4.6, -1.35), (5.0, -0.8), (5.0, 0.8), (4.6, 1.35)]), (206, 214, 218))
    b.shape(f.points([(0.2, 0), (4.5, -1.2), (4.7, -0.2)]), (236, 240, 242))
    rod(b, f, 4.8, FAR, 0.8, 0.8, (206, 208, 204))


def marker(b: Brush, f: Frame, tool: Tool) -> None:
    """A ring on a handle that prints two short lines on the limbus; the tip is the middle of the ring."""
    ring = circle(f.tip, 5.2, 64)
    for colour, width in ((DARK, 0.52), ((176, 180, 180), 0.36), (BRIGHT, 0.10)):
        b.line(ring, colour, width, closed=True)
    for side in (0.0, 180.0):
        a = math.radians(tool.turn + side)
        inner = (f.tip[0] + 4.5 * math.cos(a), f.tip[1] + 4.5 * math.sin(a))
        outer = (f.tip[0] + 6.4 * math.cos(a), f.tip[1] + 6.4 * math.sin(a))
        b.line([inner, outer], (96, 52, 40), 0.30)
    rod(b, Frame(f.tip, tool.to_handle), 5.3, FAR, 1.0, 2.4)


def pen(b: Brush, f: Frame, tool: Tool) -> None:
    """A fine pen for ink on the limbus."""
    b.shape(f.points([(0, 0), (1.6, -0.42), (1.6, 0.42)]), (120, 60, 44))
    rod(b, f, 1.5, 5.0, 0.9, 1.7, (206, 210, 210))
    rod(b, f, 5.0, FAR, 2.2, 2.4, (140, 92, 66))


def needle_holder(b: Brush, f: Frame, tool: Tool) -> None:
    """A holder with a curved needle across its jaws."""
    needle = [f.at(0.9 * math.cos(a) + 0.15, 1.5 * math.sin(a)) for a in [k * 0.13 - 1.0 for k in range(17)]]
    b.line(needle, DARK, 0.16)
    b.line(needle, (226, 230, 230), 0.09)
    for side in (-1, 1):
        arm = f.points([(0.5, side * 0.16), (4.0, side * 0.46), (9.0, side * 1.0)])
        b.line(arm, DARK, 0.62)
        b.line(arm, (150, 156, 158), 0.48)
        b.line([(x - 0.03, y - 0.07) for x, y in arm], BRIGHT, 0.08)
    rod(b, f, 8.8, FAR, 2.6, 4.2)


def dropper(b: Brush, f: Frame, tool: Tool) -> None:
    """The soft tip of a bottle."""
    b.shape(f.points([(0, -0.25), (1.5, -0.8), (4.0, -1.3), (4.0, 1.3), (1.5, 0.8), (0, 0.25)]), (206, 212, 210))
    b.shape(f.points([(0.2, -0.18), (1.5, -0.66), (4.0, -1.1), (4.0, -0.5), (0.2, -0.04)]), (240, 243, 243))
    rod(b, f, 3.9, FAR, 4.6, 5.2, (196, 186, 170))


Drawer = Callable[[Brush, Frame, Tool], None]
DRAWERS: dict[str, Drawer] = {
    one.__name__: one
    for one in (
        side_port_blade, keratome, cannula, hydro_cannula, cystotome, forceps, fixation_forceps, phaco, chopper,
        lens_hook, spatula, aspirator, thin_aspirator, thin_irrigator, cutter, injector, ring_injector, sponge,
        marker, pen, needle_holder, dropper,
    )
}
WIDTHS = {
    "keratome": 2.0, "phaco": 1.7, "aspirator": 1.5, "injector": 1.9, "sponge": 2.2, "dropper": 2.4, "cutter": 1.0,
}
"""Width of the shadow that an instrument throws, where it is not thin."""


def draw_tool(brush: Brush, tool: Tool) -> None:
    """Draw one instrument."""
    DRAWERS[tool.kind](brush, Frame(tool.tip, tool.to_handle), tool)


def draw_shadow(brush: Brush, tool: Tool) -> None:
    """The soft shadow that an instrument throws on what lies below it."""
    f = Frame((tool.tip[0] + 0.35, tool.tip[1] + 0.5), tool.to_handle)
    wide = WIDTHS.get(tool.kind, 0.55)
    start = 5.0 if tool.kind == "marker" else 0.1
    wedge = [(start, -wide * 0.3), (9, -wide * 0.6), (9, wide * 0.6), (start, wide * 0.3)]
    brush.shape(f.points(wedge), (14, 18, 26), 0.32)
