"""What is done inside the guarded process to find text in a film: look, follow, look again where something is new."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import av
import cv2
import numpy
from numpy.typing import NDArray

from indexer.footage.clock import film_stream, open_film
from indexer.footage.guarded import Refused
from indexer.privacy.picture_reading import TextNetworks
from indexer.privacy.picture_tracks import Crop, Moment, Rect, Sighting, Track, detail

Picture = NDArray[numpy.uint8]

LOOK_MS = 100
"""From one look (cheap: is what stood there still there, is there anything new) to the next."""
READ_MS = 500
"""From one reading by the networks to the next, where nothing new asks for one earlier."""
READ_AGAIN_MS = 2000
"""The same where nothing at all has changed in the picture."""
LARGEST = (960, 544)
"""Pictures are looked at no larger than this."""
LIKELY = 0.2
"""Least likeness of a pixel to lie in text."""
PEAK = 0.45
"""Least likeness that some of a text's pixels must have."""
_REMEMBERED_MS = 3000
_LOST_MS = 1600
"""A text that was not seen for so long is gone."""
_FINE = 14.0
"""Contrast of fine detail, in grey values, above which a stroke may be a letter's."""
_CELL = 8
_SAME = 6.0
"""Mean difference of fine detail in a cell, in grey values, that noise and coding make."""
_NEW_CELLS = 4
"""Cells side by side in which new strokes stayed, for the networks to look early."""
_FORGOTTEN_MS = 1000
_FEWEST_PIXELS = 10


class Look(NamedTuple):
    """One picture of the film, upright."""

    at_ms: int
    picture: Picture


def watch(film: Path, threads: int) -> dict[str, Any]:
    """Find all text in a film; answers with lists that JSON can carry (see `picture.find_picture_text`)."""
    try:
        with open_film(film) as container:
            stream = film_stream(container)
            if stream is None:
                raise Refused("there is no moving picture in it.")
            stream.thread_type = "AUTO"
            watcher = Watcher(TextNetworks(threads))
            for look in looks(container, stream):
                watcher.take(look)
    except av.FFmpegError as error:
        raise Refused(f"its pictures cannot be read ({error}).") from error
    return watcher.told()


def looks(container: Any, stream: Any) -> Iterator[Look]:
    """Pictures of a film, LOOK_MS apart, made smaller where they are large; times by the film's own clock."""
    due: int | None = None
    for frame in container.decode(stream):
        if frame.time is None:
            continue
        at_ms = round(frame.time * 1000)
        if due is None or at_ms >= due:
            due = at_ms + LOOK_MS
            yield Look(at_ms, upright(frame, stream))


def upright(frame: Any, stream: Any) -> Picture:
    """A frame as it is shown: square pixels, upright, no larger than LARGEST."""
    shape = stream.sample_aspect_ratio or 1
    width = frame.width * (float(shape) if 0.25 < shape < 4 else 1.0)
    scale = min(1.0, max(LARGEST) / max(width, frame.height))
    size = max(32, round(width * scale)), max(32, round(frame.height * scale))
    picture = frame.to_ndarray(format="bgr24", width=size[0], height=size[1], interpolation="AREA")
    turns = round(-frame.rotation / 90) % 4
    return numpy.ascontiguousarray(numpy.rot90(picture, -turns)) if turns else picture


class Watcher:
    """Takes one look after the other and knows, at the end, which texts stood where and when."""

    def __init__(self, networks: TextNetworks) -> None:
        self._networks = networks
        self._before: deque[Moment] = deque(maxlen=_REMEMBERED_MS // LOOK_MS)
        self._standing: list[Track] = []
        self._gone: list[Track] = []
        self._read_at: int | None = None
        self._read: Moment | None = None
        self._stroke_at: NDArray[numpy.int64] | None = None
        """When each cell last held strokes."""
        self._fresh: NDArray[numpy.bool_] = numpy.zeros((0, 0), bool)
        """Cells in which strokes appeared at the last look."""
        self._readings = 0
        self._size = (0, 0)
        self._last_ms = 0
        self._equaliser = cv2.createCLAHE(3.0, (8, 8))

    def take(self, look: Look) -> None:
        """Look at the next picture."""
        gray = numpy.asarray(cv2.cvtColor(look.picture, cv2.COLOR_BGR2GRAY), dtype=numpy.uint8)
        if self._size != (gray.shape[1], gray.shape[0]):
            self._begin_anew((gray.shape[1], gray.shape[0]))
        self._last_ms = look.at_ms
        now = Moment(look.at_ms, detail(gray))
        for track in self._standing:
            track.follow(now)
        if self._due(now):
            self._let_read(look, now)
        self._let_go(look.at_ms)
        self._before.append(now)

    def _begin_anew(self, size: tuple[int, int]) -> None:
        """The picture has another size from here on; what stood is over."""
        self._gone += self._standing
        self._standing, self._size, self._stroke_at = [], size, None
        self._before.clear()
        self._read_at = None

    def _due(self, now: Moment) -> bool:
        """Whether the networks are to look: it is time, or something new that letters could be made of stays."""
        strokes = _strokes(now.detail)
        if self._stroke_at is None:
            self._stroke_at = numpy.where(strokes, now.at_ms, -_FORGOTTEN_MS - 1)
            self._fresh = numpy.zeros_like(strokes)
        appeared = strokes & (now.at_ms - self._stroke_at > _FORGOTTEN_MS)
        stayed = strokes & self._fresh
        self._stroke_at[strokes] = now.at_ms
        self._fresh = appeared
        gone_by = READ_AGAIN_MS if self._read_at is None else now.at_ms - self._read_at
        if gone_by >= READ_MS - LOOK_MS // 2 and (gone_by >= READ_AGAIN_MS or self._changed(now)):
            return True
        return gone_by >= 2 * LOOK_MS and _joined(stayed) >= _NEW_CELLS

    def _changed(self, now: Moment) -> bool:
        """Whether any part of the picture, as small as a letter, differs from what was read last."""
        if self._read is None or self._read.detail.shape != now.detail.shape:
            return True
        cells = cv2.blur(numpy.abs(now.detail - self._read.detail), (_CELL, _CELL))
        return float(cells.max()) > _SAME

    def _let_read(self, look: Look, now: Moment) -> None:
        """Let the networks look, at every other reading with the contrast raised everywhere."""
        self._read_at, self._read = look.at_ms, now
        self._readings += 1
        picture = look.picture if self._readings % 2 else self._contrasted(look.picture)
        likeness = self._networks.likeness(picture)
        seen: dict[int, tuple[Track, Rect, Crop]] = {}
        new: list[Track] = []
        for line in lines(likeness):
            crop = Crop(look.at_ms, line.likeness, cut_along(look.picture, line.along))
            same = next((track for track in self._standing if track.is_at(line.rect)), None)
            if same is None:
                track = Track(Sighting(look.at_ms, line.rect, line.likeness, True), now, crop)
                track.follow_back(reversed(self._before))
                new.append(track)
            else:
                # A line may be seen in pieces: all that lie on one text are that text.
                _, before, best = seen.get(id(same), (same, line.rect, crop))
                seen[id(same)] = same, before.with_(line.rect), max(best, crop, key=_wide)
        for track, rect, crop in seen.values():
            track.see(Sighting(look.at_ms, rect, crop.likeness, True), now, crop)
        self._standing += new

    def _contrasted(self, picture: Picture) -> Picture:
        lab = cv2.cvtColor(picture, cv2.COLOR_BGR2LAB)
        lab[..., 0] = self._equaliser.apply(lab[..., 0])
        return numpy.asarray(cv2.cvtColor(lab, cv2.COLOR_LAB2BGR), dtype=numpy.uint8)

    def _let_go(self, at_ms: int) -> None:
        lost = [track for track in self._standing if at_ms - track.last.at_ms > _LOST_MS]
        self._gone += lost
        self._standing = [track for track in self._standing if track not in lost]

    def told(self) -> dict[str, Any]:
        """All texts as lists: where (ms, ms, shares), what was read, how sure."""
        width, height = self._size
        texts = []
        for track in [*self._gone, *self._standing]:
            line = max((self._networks.line(crop.picture) for crop in track.crops), key=lambda line: line.certainty)
            where = [(a, b, *_shares(rect, width, height)) for a, b, rect in track.where()]
            texts.append(
                {
                    "where": where,
                    "at_ms": track.crops[0].at_ms,
                    "read": line.text,
                    "read_certainty": line.certainty,
                    "likeness": track.likeness,
                    "times": track.times_sure,
                }
            )
        return {"texts": texts, "readings": self._readings, "last_ms": self._last_ms}


def _wide(crop: Crop) -> int:
    return int(crop.picture.shape[1])


class Seen(NamedTuple):
    """A line that the networks see: upright box with a margin, the box along the line, and how likely it is text."""

    rect: Rect
    along: tuple[tuple[float, float], tuple[float, float], float]
    """Middle, size and turn, as OpenCV has them."""
    likeness: float
    """Mean over what is marked."""


def lines(likeness: NDArray[numpy.float32]) -> list[Seen]:
    """Where lines of text are likely."""
    height, width = likeness.shape
    likely = (likeness > LIKELY).astype(numpy.uint8)
    count, marks, stats, _ = cv2.connectedComponentsWithStats(likely, connectivity=8)
    found = []
    for index in range(1, count):
        left, top, across, down, area = (int(value) for value in stats[index])
        if area < _FEWEST_PIXELS:
            continue
        mask = marks[top : top + down, left : left + across] == index
        inside = likeness[top : top + down, left : left + across][mask]
        if float(inside.max()) < PEAK:
            continue
        rows, columns = numpy.nonzero(mask)
        points = numpy.stack([columns + left, rows + top], axis=1).astype(numpy.float32)
        (x, y), size, turn = cv2.minAreaRect(points)
        # The network marks the middle of a line: letters reach as far again as half of what it marks.
        margin = 0.75 * min(size) + 3
        along = (x, y), (size[0] + 2 * margin, size[1] + 2 * margin), turn
        corners = cv2.boxPoints(along)
        low, high = corners.min(axis=0), corners.max(axis=0)
        rect = Rect(int(low[0]), int(low[1]), int(high[0]) + 1, int(high[1]) + 1).grown(0, width, height)
        found.append(Seen(rect, along, float(inside.mean())))
    return found


def cut_along(picture: Picture, along: tuple[tuple[float, float], tuple[float, float], float]) -> Picture:
    """The picture of a line, turned so that it lies."""
    (x, y), (across, down), turn = along
    if across < down:
        across, down, turn = down, across, turn + 90
    if turn > 45:
        turn -= 180 if turn > 135 else 0
    matrix = cv2.getRotationMatrix2D((x, y), turn, 1.0)
    matrix[:, 2] += numpy.array([across / 2 - x, down / 2 - y])
    size = max(1, round(across)), max(1, round(down))
    return numpy.asarray(cv2.warpAffine(picture, matrix, size, borderMode=cv2.BORDER_REPLICATE), dtype=numpy.uint8)


def _shares(rect: Rect, width: int, height: int) -> tuple[float, float, float, float]:
    return rect.left / width, rect.top / height, rect.right / width, rect.bottom / height


def _strokes(fine: NDArray[numpy.float32]) -> NDArray[numpy.bool_]:
    """Cells of the picture that hold about as much fine detail as letters do."""
    strong = (numpy.abs(fine) > _FINE).astype(numpy.float32)
    height, width = strong.shape
    cells = cv2.resize(strong, (width // _CELL, height // _CELL), interpolation=cv2.INTER_AREA)
    return (cells > 0.12) & (cells < 0.9)


def _joined(cells: NDArray[numpy.bool_]) -> int:
    """How many cells the longest row of new ones has, as letters stand side by side."""
    count, _, stats, _ = cv2.connectedComponentsWithStats(cells.astype(numpy.uint8), connectivity=8)
    return int(stats[1:, cv2.CC_STAT_WIDTH].max()) if count > 1 else 0
