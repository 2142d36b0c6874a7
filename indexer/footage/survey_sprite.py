"""A sheet of small pictures for scrubbing, and its index."""

from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy
from numpy.typing import NDArray

SHEET, INDEX = "sprite.jpg", "sprite.json"
MOST_TILES = 200
_COLUMNS = 10
_SHORTEST_MS = 1000
_QUALITY = 75

Picture = NDArray[numpy.uint8]


def apart_ms(length_ms: int) -> int:
    """How far the pictures lie apart in a film of this length."""
    return max(_SHORTEST_MS, -(-length_ms // MOST_TILES))


class Sprite:
    """Fed with the moments that frames are shown at; asks for a picture where the next one is due."""

    def __init__(self, length_ms: int) -> None:
        self.apart_ms = apart_ms(length_ms)
        self.tiles: list[Picture] = []

    def due(self, at_ms: int) -> bool:
        """Whether a picture of this moment is wanted."""
        return at_ms >= len(self.tiles) * self.apart_ms and len(self.tiles) < MOST_TILES

    def take(self, at_ms: int, picture: Picture) -> None:
        """A picture for every tile that is due by now; a gap in the film shows what comes behind it."""
        if self.tiles and picture.shape != self.tiles[0].shape:
            height, width = self.tiles[0].shape[:2]
            picture = numpy.asarray(cv2.resize(picture, (width, height)), numpy.uint8)
        while self.due(at_ms):
            self.tiles.append(picture)

    def write(self, folder: Path) -> None:
        """Write the sheet and its index, each whole or not at all; nothing where there is no picture."""
        if not self.tiles:
            return
        height, width = self.tiles[0].shape[:2]
        columns = min(_COLUMNS, len(self.tiles))
        rows = -(-len(self.tiles) // columns)
        sheet = numpy.zeros((rows * height, columns * width, 3), numpy.uint8)
        for place, tile in enumerate(self.tiles):
            row, column = divmod(place, columns)
            sheet[row * height : (row + 1) * height, column * width : (column + 1) * width] = tile
        done, data = cv2.imencode(".jpg", sheet, [cv2.IMWRITE_JPEG_QUALITY, _QUALITY])
        if done:
            index = {
                "width": width,
                "height": height,
                "columns": columns,
                "apart_ms": self.apart_ms,
                "tiles": len(self.tiles),
            }
            _write(folder / SHEET, data.tobytes())
            _write(folder / INDEX, json.dumps(index).encode())


def _write(path: Path, data: bytes) -> None:
    unfinished = path.with_name(path.name + ".unfinished")
    unfinished.write_bytes(data)
    unfinished.replace(path)
