"""One text followed through a film: where it was seen, whether it still stands, when it came and went."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from typing import NamedTuple

import cv2
import numpy
from numpy.typing import NDArray

Gray = NDArray[numpy.uint8]
Plane = NDArray[numpy.float32]

STILL_THERE = 0.5
"""Least likeness (normalised correlation of fine detail) at which a text is taken to stand where it stood."""
_REACH = 10
"""Pixels that a text may move from one look to the next."""
_SOFT = 11
_PART = 0.75
_AS_HIGH = 2.2
"""Most by which one sighting of a text is higher than another: a letter must not vanish into a shape behind it."""
_CROPS = 3
"""Pictures of a text that are kept for reading it."""
_MOVES = 0.35
"""Share of its height by which a text may wander and still be held for one that stands."""


class Rect(NamedTuple):
    """Whole pixels of the picture that is looked at; right and bottom are exclusive."""

    left: int
    top: int
    right: int
    bottom: int

    @property
    def height(self) -> int:
        return self.bottom - self.top

    @property
    def area(self) -> int:
        return max(0, self.right - self.left) * max(0, self.height)

    def with_(self, other: Rect) -> Rect:
        """The smallest that holds both."""
        return Rect(
            min(self.left, other.left),
            min(self.top, other.top),
            max(self.right, other.right),
            max(self.bottom, other.bottom),
        )

    def shared(self, other: Rect) -> int:
        """Pixels that both have."""
        across = min(self.right, other.right) - max(self.left, other.left)
        down = min(self.bottom, other.bottom) - max(self.top, other.top)
        return max(0, across) * max(0, down)

    def moved(self, x: int, y: int) -> Rect:
        return Rect(self.left + x, self.top + y, self.right + x, self.bottom + y)

    def grown(self, by: int, width: int, height: int) -> Rect:
        """Larger by a margin, within a picture."""
        return Rect(
            max(0, self.left - by),
            max(0, self.top - by),
            min(width, self.right + by),
            min(height, self.bottom + by),
        )


class Sighting(NamedTuple):
    """A text seen at a moment; `sure` only where the networks saw it, and not where it was just followed."""

    at_ms: int
    rect: Rect
    likeness: float
    sure: bool


class Moment(NamedTuple):
    """One look at the film: its time and its fine detail."""

    at_ms: int
    detail: Plane


class Crop(NamedTuple):
    """A picture of a text, lying."""

    at_ms: int
    likeness: float
    picture: Gray


def detail(gray: Gray) -> Plane:
    """The fine detail of a picture (height, width): what letters are made of, without the light around them."""
    plane = gray.astype(numpy.float32)
    return numpy.asarray(plane - cv2.blur(plane, (_SOFT, _SOFT)), dtype=numpy.float32)


class Track:
    """A text and its sightings, in order of time once it is over."""

    def __init__(self, first: Sighting, now: Moment, crop: Crop) -> None:
        self.sightings = [first]
        self.crops = [crop]
        self._pattern = _cut(now.detail, first.rect)
        self._at = first.rect

    @property
    def last(self) -> Sighting:
        return self.sightings[-1]

    @property
    def times_sure(self) -> int:
        """In how many looks the networks saw it."""
        return sum(each.sure for each in self.sightings)

    @property
    def likeness(self) -> float:
        return max(each.likeness for each in self.sightings)

    def see(self, seen: Sighting, now: Moment, crop: Crop) -> None:
        """The networks saw it again; where they saw a part of what still stands there, all of it is kept."""
        followed = self.last.at_ms == now.at_ms
        if followed and seen.rect.area < _PART * self._at.area:
            seen = seen._replace(rect=self._at.with_(seen.rect))
        self.sightings.append(seen)
        self._pattern, self._at = _cut(now.detail, seen.rect), seen.rect
        self.crops = sorted([*self.crops, crop], key=lambda each: -each.likeness)[:_CROPS]

    def follow(self, now: Moment) -> bool:
        """Whether it still stands at a moment, at its place or a little beside; kept as a sighting if so."""
        found = _look_for(self._pattern, now.detail, self._at)
        if found is None:
            return False
        self._at = found
        self.sightings.append(Sighting(now.at_ms, found, 0.0, False))
        return True

    def follow_back(self, moments: Iterable[Moment]) -> None:
        """Look for it in the moments before its first sighting, the latest first, until it is not there."""
        at, before = self.sightings[0].rect, []
        for moment in moments:
            found = _look_for(self._pattern, moment.detail, at)
            if found is None:
                break
            at = found
            before.append(Sighting(moment.at_ms, found, 0.0, False))
        self.sightings[:0] = reversed(before)

    def is_at(self, rect: Rect) -> bool:
        """Whether a text seen now is this one: about as high, and they share much of the smaller one's area and height."""
        low = min(self._at.bottom, rect.bottom) - max(self._at.top, rect.top)
        least, most = sorted((self._at.height, rect.height))
        smaller = min(self._at.area, rect.area)
        return most < _AS_HIGH * least and self._at.shared(rect) > 0.3 * smaller and low > 0.5 * least

    @property
    def moves(self) -> bool:
        """Whether it wanders over the picture."""
        sure = [each.rect for each in self.sightings]
        slack = _MOVES * max(rect.height for rect in sure) + 3
        tops, lefts = [rect.top for rect in sure], [rect.left for rect in sure]
        bottoms, rights = [rect.bottom for rect in sure], [rect.right for rect in sure]
        down = min(max(tops) - min(tops), max(bottoms) - min(bottoms))
        across = min(max(lefts) - min(lefts), max(rights) - min(rights))
        return down > slack or across > slack

    def where(self) -> list[tuple[int, int, Rect]]:
        """From when to when it stands where (first and last look), in order: once where it does not move."""
        seen = sorted(self.sightings)
        if not self.moves or len(seen) == 1:
            whole = seen[0].rect
            for each in seen[1:]:
                whole = whole.with_(each.rect)
            return [(seen[0].at_ms, seen[-1].at_ms, whole)]
        return [(a.at_ms, b.at_ms, a.rect.with_(b.rect)) for a, b in pairwise(seen)]


def _cut(plane: Plane, rect: Rect) -> Plane:
    return plane[rect.top : rect.bottom, rect.left : rect.right].copy()


def _look_for(pattern: Plane, plane: Plane, at: Rect) -> Rect | None:
    """Where a pattern lies near a place, or None where it does not."""
    height, width = plane.shape
    area = at.grown(_REACH, width, height)
    window = plane[area.top : area.bottom, area.left : area.right]
    if not pattern.size or window.shape[0] < pattern.shape[0] or window.shape[1] < pattern.shape[1]:
        return None
    likeness = cv2.matchTemplate(window, pattern, cv2.TM_CCOEFF_NORMED)
    _, best, _, (x, y) = cv2.minMaxLoc(likeness)
    if not best >= STILL_THERE:
        return None
    return Rect(area.left + x, area.top + y, area.left + x + pattern.shape[1], area.top + y + pattern.shape[0])
