"""Text in a picture by two small networks that travel in a package: where letters are likely, and what a line says.

Only the package's model files are used, run here, with nothing fetched; so no picture leaves this machine.
"""

from __future__ import annotations

import functools
from importlib import resources
from pathlib import Path
from typing import Any, NamedTuple

import cv2
import numpy
from numpy.typing import NDArray

from indexer.errors import ToolFailed

Picture = NDArray[numpy.uint8]
Plane = NDArray[numpy.float32]

_STEP = 32
"""Sides that the first network takes are multiples of this."""
_LINE_HEIGHT = 48
_LONGEST_LINE = 1600


class Line(NamedTuple):
    """What a line says, and how sure the network is, 0 to 1."""

    text: str
    certainty: float


class TextNetworks:
    """Both networks, loaded when first asked. Not for several threads at once."""

    def __init__(self, threads: int = 1) -> None:
        self._threads = threads

    @functools.cached_property
    def _finder(self) -> Any:
        return _session("det", self._threads)

    @functools.cached_property
    def _reader(self) -> Any:
        return _session("rec", self._threads)

    @functools.cached_property
    def _letters(self) -> list[str]:
        """Letter of each output; the first stands for none, the last for a space."""
        known = self._reader.get_modelmeta().custom_metadata_map["character"].splitlines()
        return ["", *known, " "]

    def likeness(self, picture: Picture) -> Plane:
        """How likely each pixel lies within a line of text (height, width; 0 to 1), of a picture in blue, green, red."""
        height, width = picture.shape[:2]
        size = -(-width // _STEP) * _STEP, -(-height // _STEP) * _STEP
        taken = cv2.resize(picture, size) if size != (width, height) else picture
        found = self._finder.run(None, {self._finder.get_inputs()[0].name: _scaled(taken)})[0][0, 0]
        return numpy.asarray(cv2.resize(found, (width, height)), dtype=numpy.float32)

    def line(self, picture: Picture) -> Line:
        """What a picture of a single line says."""
        height, width = picture.shape[:2]
        if not height or not width:
            return Line("", 0.0)
        across = min(_LONGEST_LINE, max(_LINE_HEIGHT, round(width * _LINE_HEIGHT / height)))
        taken = _scaled(cv2.resize(picture, (across, _LINE_HEIGHT), interpolation=cv2.INTER_CUBIC))
        found = self._reader.run(None, {self._reader.get_inputs()[0].name: taken})[0][0]
        return _spelled(found, self._letters)


def _spelled(found: Plane, letters: list[str]) -> Line:
    """The likeliest letters along a line (places, letters), repeats of neighbours taken out."""
    best = found.argmax(axis=1)
    new = (best != 0) & (best != numpy.concatenate(([0], best[:-1])))
    text = "".join(letters[place] if place < len(letters) else "" for place in best[new])
    return Line(text.strip(), float(found.max(axis=1)[new].mean()) if new.any() else 0.0)


def _scaled(picture: NDArray[Any]) -> Plane:
    """A picture as the networks take it: (1, 3, height, width), -1 to 1."""
    return numpy.ascontiguousarray((picture.astype(numpy.float32) / 127.5 - 1).transpose(2, 0, 1)[None])


def _session(task: str, threads: int) -> Any:
    """A network of the package. Raises ToolFailed where the package does not carry it."""
    import onnxruntime

    path = _model(task)
    options = onnxruntime.SessionOptions()
    options.log_severity_level = 4
    options.intra_op_num_threads, options.inter_op_num_threads = threads, 1
    options.enable_cpu_mem_arena = False
    return onnxruntime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])


def _model(task: str) -> Path:
    try:
        folder = Path(str(resources.files("rapidocr"))) / "models"
    except ModuleNotFoundError:
        folder = Path()
    found = sorted(folder.glob(f"*_{task}_*.onnx"))
    if not found:
        raise ToolFailed(
            "Reading text in pictures", "its networks are missing. Install scrubmark anew, with the package rapidocr."
        )
    return found[-1]
