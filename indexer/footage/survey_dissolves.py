"""Dissolves: stretches on which the picture goes in a straight line from one to another.

Where one picture is laid over another, every picture between lies on the line from the first to the last, pixel by
pixel. Whatever moves leaves that line at once.
"""

from __future__ import annotations

from collections import deque
from typing import NamedTuple

import cv2
import numpy
from numpy.typing import NDArray

from indexer.footage.survey_changes import likeness
from indexer.footage.survey_small import Grey

LOOKS_A_SECOND = 12.5
_SIZE = (40, 24)
_SPANS = (4, 8, 16, 32)
"""How many looks lie between the two ends that are compared: about 0.3, 0.6, 1.3 and 2.6 seconds."""
_LEAST_CHANGE = 8.0
_OFF_THE_LINE = 0.2
"""Share of the change by which the pictures between may lie off the line."""
_SAME_VIEW = 0.75
"""From this correlation on it is light or focus that changes, not the view."""
_LEAST_SPREAD = 6.0
"""Standard deviation, of 255, below which a picture shows nothing: a fade, which is told as a black stretch."""

Thumb = NDArray[numpy.float32]


class Melting(NamedTuple):
    """A look at which a dissolve may be half over."""

    frame: int
    half_way: float
    """How far the middle picture is from the first to the last, 0 to 1."""
    change: float
    likeness: float
    span: int
    """Frames from the first picture to the last."""
    fades: bool
    """Whether only the light changes."""


class Dissolves:
    """Fed with small pictures, a dozen a second; holds two seconds of them, much smaller."""

    def __init__(self) -> None:
        self.found: list[Melting] = []
        self._ring: deque[tuple[int, Thumb]] = deque(maxlen=_SPANS[-1] + 1)
        self._shape: tuple[int, ...] = ()

    def take(self, frame: int, small: Grey) -> None:
        """The next look, at the frame of that number."""
        if small.shape != self._shape:
            self._ring.clear()
            self._shape = small.shape
        self._ring.append((frame, cv2.resize(small, _SIZE, interpolation=cv2.INTER_AREA).astype(numpy.float32)))
        for span in _SPANS:
            if len(self._ring) > span and (melting := self._melting(span)):
                self.found.append(melting)

    def _melting(self, span: int) -> Melting | None:
        (begun, first), (ended, last) = self._ring[-1 - span], self._ring[-1]
        way = last - first
        change = float(numpy.abs(way).mean())
        if change < _LEAST_CHANGE or min(first.std(), last.std()) < _LEAST_SPREAD:
            return None
        length = float((way * way).sum())
        places = []
        for quarter in (1, 2, 3):
            _, between = self._ring[-1 - span + quarter * span // 4]
            here = between - first
            share = float((here * way).sum()) / length
            if float(numpy.abs(here - share * way).mean()) > _OFF_THE_LINE * change:
                return None
            places.append(share)
        if not _melts(places):
            return None
        middle = self._ring[-1 - span + span // 2][0]
        return Melting(middle, places[1], change, likeness(first, last), ended - begun, _fades(first, last))


def _fades(first: Thumb, last: Thumb) -> bool:
    """Whether only light comes or goes: all places change the same way, and by as much as they are bright."""
    darker, brighter = (first, last) if first.mean() < last.mean() else (last, first)
    gain = brighter - darker
    falls = float((gain > -1).mean())
    return falls > 0.85 and likeness(gain, brighter) > 0.8


def _melts(places: list[float]) -> bool:
    """Whether the picture goes on from look to look, and not all at once, as it does at a cut."""
    steps = [after - before for before, after in zip([0.0, *places], [*places, 1.0], strict=True)]
    return min(steps) > -0.05 and max(steps) < 0.8 and 0.2 < places[1] < 0.8


class Dissolve(NamedTuple):
    """A dissolve: the frame at its middle, half its length in frames, and how much of the picture is another."""

    frame: int
    half: int
    strength: float


def dissolves_of(found: list[Melting]) -> list[Dissolve]:
    """One dissolve for each run of looks that speak for one."""
    groups: list[list[Melting]] = []
    for melting in sorted(found):
        if groups and melting.frame - groups[-1][-1].frame <= melting.span // 2:
            groups[-1].append(melting)
        else:
            groups.append([melting])
    return [dissolve for group in groups if (dissolve := _one(group))]


def _one(group: list[Melting]) -> Dissolve | None:
    whole = [each for each in group if each.change >= 0.8 * max(other.change for other in group)]
    # The shortest span that holds all of the change tells how long it takes.
    shortest = min(each.span for each in whole)
    best = min((each for each in whole if each.span == shortest), key=lambda each: abs(each.half_way - 0.5))
    # At the dark end of a fade, what is written over the picture looks like another picture.
    fades = 4 * sum(each.fades for each in group) > len(group)
    if len(group) < 2 or best.likeness >= _SAME_VIEW or fades:
        return None
    return Dissolve(best.frame, max(1, shortest // 2), round(1 - max(0.0, best.likeness), 3))
