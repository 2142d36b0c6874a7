"""How each frame differs from those before it, kept as numbers, and the cuts that these numbers tell."""

from __future__ import annotations

from array import array
from collections import deque
from itertools import islice
from typing import NamedTuple

import cv2
import numpy
from numpy.typing import NDArray

from indexer.footage.survey_small import Grey

AROUND = 6
"""Frames on each side with which a change is compared."""
_LATER = 5
"""After so many frames a flash is over, and the picture is as it was before."""
LEAST_CHANGE = 1.5
"""Mean difference, of 255, below which nothing counts as a cut."""
STANDS_OUT, STANDS_OUT_ELSEWHERE = 3.0, 2.0
"""How many times as large as the changes around it a cut is; less is asked where the view is quite another one."""
_ELSEWHERE = 0.3
_LEAST_ELSEWHERE = 15.0
_STAYS = 0.5
"""Share of the change that is still there when a flash would be over."""
_SAME_VIEW = 0.55
"""Correlation of the pictures on both sides from which they show the same view."""

_MIXED, _MOVED = 1.3, 2.5


class Suspect(NamedTuple):
    """A frame that differs suddenly from the one before."""

    frame: int
    change: float
    stays: float
    """Mean difference of the picture before and the one `_LATER` frames behind."""
    likeness: float
    """Correlation of the pictures on both sides, -1 to 1."""


class Changes:
    """Fed with small pictures one by one; holds eight of them and a few numbers for each frame."""

    def __init__(self) -> None:
        self.by_one, self.mean, self.spread = array("f"), array("f"), array("f")
        self.suspects: list[Suspect] = []
        self._ring: deque[Grey] = deque(maxlen=_LATER + 2)

    def take(self, small: Grey) -> None:
        """The next frame."""
        if self._ring and self._ring[-1].shape != small.shape:
            self._ring.clear()
        mean, spread = cv2.meanStdDev(small)
        self.by_one.append(_difference(self._ring[-1], small) if self._ring else 0.0)
        self.mean.append(float(mean.flat[0]))
        self.spread.append(float(spread.flat[0]))
        self._ring.append(small)
        if len(self._ring) == self._ring.maxlen:
            self._suspect(len(self.by_one) - 1 - _LATER, 0)

    def end(self) -> None:
        """No frame comes any more: look at the last ones."""
        for place in range(1, len(self._ring) - 1):
            if len(self._ring) == self._ring.maxlen:
                self._suspect(len(self.by_one) - 1 - _LATER + place, place)

    def _suspect(self, frame: int, place: int) -> None:
        """Look closer at a frame whose picture before lies at `place` in the ring, if it stands out so far."""
        change = self.by_one[frame]
        if change < LEAST_CHANGE:
            return
        around = max(self.by_one[max(0, frame - AROUND) : max(0, frame - 1)], default=0.0)
        if change < STANDS_OUT_ELSEWHERE * around:
            return
        before, here = self._ring[place], self._ring[place + 1]
        later = self._ring[-1]
        self.suspects.append(Suspect(frame, change, _difference(before, later), likeness(before, here)))


def _difference(one: Grey, other: Grey) -> float:
    return float(cv2.norm(one, other, cv2.NORM_L1)) / one.size


def likeness(one: NDArray[numpy.generic], other: NDArray[numpy.generic]) -> float:
    """Correlation of two pictures of the same size; 0 where one of them is even."""
    first, second = one.astype(numpy.float32), other.astype(numpy.float32)
    first -= first.mean()
    second -= second.mean()
    length = float(numpy.sqrt((first * first).sum() * (second * second).sum()))
    return float((first * second).sum()) / length if length > first.size else 0.0


class Sudden(NamedTuple):
    """A cut from one frame to the next."""

    frame: int
    kind: str
    strength: float


def cuts_of(changes: Changes) -> list[Sudden]:
    """Cuts among the suspects: those that stand out on both sides too, and are no flash."""
    found: list[Sudden] = []
    for suspect in changes.suspects:
        if found and suspect.frame - found[-1].frame < 3:
            continue
        if _stands_out(changes.by_one, suspect) and suspect.stays >= _STAYS * suspect.change:
            kind = "jump" if suspect.likeness >= _SAME_VIEW else "hard"
            strength = 1 - max(0.0, suspect.likeness)
            found.append(Sudden(suspect.frame, kind, round(strength, 3)))
    return found


def _stands_out(by_one: array[float], suspect: Suspect) -> bool:
    """Whether the change is larger by far than those around; its direct neighbours may hold half of it."""
    first, frame = max(1, suspect.frame - AROUND), suspect.frame
    around = [*islice(by_one, first, max(first, frame - 1)), *islice(by_one, frame + 2, frame + 2 + AROUND)]
    beside = [by_one[frame - 1] if frame > 1 else 0.0, by_one[frame + 1] if frame + 1 < len(by_one) else 0.0]
    # Where the view is another one, a frame that mixes both may lie between; where it is not, half a change is movement.
    elsewhere = suspect.likeness < _ELSEWHERE and suspect.change >= _LEAST_ELSEWHERE
    stands_out = STANDS_OUT_ELSEWHERE if elsewhere else STANDS_OUT
    apart = _MIXED if suspect.likeness < _SAME_VIEW else _MOVED
    return suspect.change >= stands_out * max(around, default=0.0) and suspect.change >= apart * max(beside)
