"""What is laid over the picture and stays: sharp edges that stand still while the rest of the picture changes."""

from __future__ import annotations

import cv2
import numpy
from numpy.typing import NDArray

_FEWEST_LOOKS = 20
_STEADY = 5.0
"""Standard deviation over time, of 255, below which a place stays as it is."""
_EDGE = 24.0
_LIVELY = 8.0
"""Standard deviation over time of the usual place, below which too little changes to tell an overlay."""
_SMALLEST = 12
"""Pixels of the small picture with steady edges that make an overlay."""
_MOST = 20


class Overlays:
    """Fed with small grey pictures, one a second or so; keeps sums alone."""

    def __init__(self) -> None:
        self.looks = 0
        self._sum = self._squares = numpy.zeros((0, 0), numpy.float64)

    def take(self, small: NDArray[numpy.uint8]) -> None:
        """One look; a film that changes its size begins anew."""
        picture = small.astype(numpy.float64)
        if picture.shape != self._sum.shape:
            self.looks, self._sum, self._squares = 0, numpy.zeros_like(picture), numpy.zeros_like(picture)
        self.looks += 1
        self._sum += picture
        self._squares += picture * picture

    def boxes(self) -> list[tuple[float, float, float, float]]:
        """Left, top, width and height of each overlay, in shares of the picture, the largest first."""
        if self.looks < _FEWEST_LOOKS:
            return []
        mean = self._sum / self.looks
        spread = numpy.sqrt(numpy.maximum(0, self._squares / self.looks - mean * mean))
        if float(numpy.median(spread)) < _LIVELY:
            return []
        across, down = cv2.Sobel(mean, cv2.CV_64F, 1, 0), cv2.Sobel(mean, cv2.CV_64F, 0, 1)
        steady = (numpy.hypot(across, down) / 4 > _EDGE) & (spread < _STEADY)
        return _boxes(steady.astype(numpy.uint8))


def _boxes(steady: NDArray[numpy.uint8]) -> list[tuple[float, float, float, float]]:
    # Letters stand a little apart.
    joined = cv2.dilate(steady, numpy.ones((3, 7), numpy.uint8))
    many, labels = cv2.connectedComponents(joined)
    height, width = steady.shape
    found = []
    for label in range(1, many):
        rows, columns = numpy.nonzero((labels == label) & (steady > 0))
        if len(rows) < _SMALLEST:
            continue
        left, top = int(columns.min()), int(rows.min())
        box = (
            left / width,
            top / height,
            (int(columns.max()) + 1 - left) / width,
            (int(rows.max()) + 1 - top) / height,
        )
        found.append((len(rows), tuple(round(each, 4) for each in box)))
    found.sort(key=lambda each: -each[0])
    return [box for _, box in found[:_MOST]]
