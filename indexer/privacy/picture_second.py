"""A second reader of pictures, that shares nothing with the first: lines found by arithmetic, then read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import av
import cv2
import numpy
from numpy.typing import NDArray

from indexer.footage.clock import film_stream, open_film
from indexer.footage.guarded import Refused
from indexer.privacy.picture_reading import TextNetworks
from indexer.privacy.picture_watching import upright

EVERY_MS = 700
"""No multiple of what the first reader looks at."""
_FIRST_MS = 150
_MOST_LINES = 14
"""Lines read of one picture, the strongest first."""
_FEWEST_LETTERS = 3
_SURE = 0.85
_STROKE = 9
_CONTRAST = 12

Gray = NDArray[numpy.uint8]
Place = tuple[int, int, int, int]


def read_again(film: Path, known: Sequence[Sequence[float]]) -> list[tuple[str, int]]:
    """What can be read in a film outside the known regions (shares of the picture), and when (ms)."""
    networks, found = TextNetworks(1), []
    try:
        with open_film(film) as container:
            stream = film_stream(container)
            if stream is None:
                raise Refused("there is no moving picture in it.")
            due = _FIRST_MS
            for frame in container.decode(stream):
                if frame.time is not None and frame.time * 1000 >= due:
                    due += EVERY_MS
                    picture = upright(frame, stream)
                    found += [(text, round(frame.time * 1000)) for text in _texts(picture, known, networks)]
    except av.FFmpegError as error:
        raise Refused(f"its pictures cannot be read ({error}).") from error
    return found


def _texts(picture: Any, known: Sequence[Sequence[float]], networks: TextNetworks) -> Iterator[str]:
    height, width = picture.shape[:2]
    gray = numpy.asarray(cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY), dtype=numpy.uint8)
    for left, top, right, bottom in likely_lines(gray)[:_MOST_LINES]:
        if _known((left / width, top / height, right / width, bottom / height), known):
            continue
        line = networks.line(picture[top:bottom, left:right])
        letters = sum(letter.isalnum() for letter in line.text)
        if letters >= _FEWEST_LETTERS and line.certainty >= _SURE:
            yield line.text


def _known(place: tuple[float, float, float, float], known: Sequence[Sequence[float]]) -> bool:
    """Whether the middle of a line lies in a known region."""
    x, y = (place[0] + place[2]) / 2, (place[1] + place[3]) / 2
    return any(box[0] <= x <= box[2] and box[1] <= y <= box[3] for box in known)


def likely_lines(gray: Gray) -> list[Place]:
    """Where thin strokes stand side by side (left, top, right, bottom), the strongest first."""
    kernel = cv2.getStructuringElement(cv2.MORPH_RECT, (_STROKE, _STROKE))
    light = cv2.morphologyEx(gray, cv2.MORPH_TOPHAT, kernel)
    dark = cv2.morphologyEx(gray, cv2.MORPH_BLACKHAT, kernel)
    found: list[tuple[float, Place]] = []
    for strokes in (light, dark):
        marked = (strokes > _CONTRAST).astype(numpy.uint8)
        joined = cv2.morphologyEx(marked, cv2.MORPH_CLOSE, cv2.getStructuringElement(cv2.MORPH_RECT, (15, 3)))
        joined = cv2.morphologyEx(joined, cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_RECT, (5, 4)))
        found += _lines_of(joined, marked, strokes)
    return [place for _, place in sorted(found, reverse=True)]


def _lines_of(joined: Any, marked: Any, strokes: Any) -> Iterator[tuple[float, Place]]:
    height, width = marked.shape
    count, _, stats, _ = cv2.connectedComponentsWithStats(joined)
    for left, top, across, down, _ in stats[1:count].tolist():
        if not (7 <= down <= 60 and across >= 1.8 * down and across >= 20):
            continue
        part = (slice(top, top + down), slice(left, left + across))
        share = float(marked[part].mean())
        if 0.12 <= share <= 0.75:
            place = max(0, left - 4), max(0, top - 3), min(width, left + across + 4), min(height, top + down + 3)
            yield float(strokes[part].mean()) * min(across / down, 8), place
