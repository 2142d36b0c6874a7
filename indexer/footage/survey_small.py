"""Small grey pictures of frames, made as cheaply as decoded frames allow."""

from __future__ import annotations

import cv2
import numpy
from av.video.frame import VideoFrame
from av.video.reformatter import VideoReformatter
from numpy.typing import NDArray

Grey = NDArray[numpy.uint8]

WIDTH = 160
"""About how wide a small picture is, in pixels."""
_PLAIN = {"yuv420p", "yuvj420p", "yuv422p", "yuvj422p", "yuv444p", "yuvj444p", "nv12", "gray"}
_DEEP = {"yuv420p10le": 2, "yuv422p10le": 2, "yuv444p10le": 2, "p010le": 8, "yuv420p12le": 4, "yuv422p12le": 4}
"""Formats whose first plane is 16 bits a pixel, and by how many bits it is more than 8."""
_TURNS = (None, cv2.ROTATE_90_CLOCKWISE, cv2.ROTATE_180, cv2.ROTATE_90_COUNTERCLOCKWISE)


class Shrinker:
    """Frames of one film as small pictures, upright. A film that changes its size is followed."""

    def __init__(self) -> None:
        self._reformatter = VideoReformatter()

    def luma(self, frame: VideoFrame) -> NDArray[numpy.integer]:
        """The brightness of a frame in full size, (height, width), as a view of the decoder's own memory if possible."""
        name = frame.format.name
        if (name not in _PLAIN and name not in _DEEP) or frame.planes[0].line_size <= 0:
            frame = self._reformatter.reformat(frame, format="gray")
        plane = frame.planes[0]
        kind = numpy.dtype("<u2") if frame.format.name in _DEEP else numpy.dtype(numpy.uint8)
        across = plane.line_size // kind.itemsize
        whole = numpy.frombuffer(plane, kind, count=across * frame.height)  # type: ignore[call-overload]
        return whole.reshape(frame.height, across)[:, : frame.width]  # type: ignore[no-any-return]

    def small(self, frame: VideoFrame, luma: NDArray[numpy.integer]) -> Grey:
        """The frame about `WIDTH` pixels wide, upright, 8 bits."""
        # Whole factors are many times as fast as others, which is worth a few pixels at the edge.
        factor = max(1, round(frame.width / WIDTH))
        rows, columns = frame.height // factor, frame.width // factor
        cropped = luma[: rows * factor, : columns * factor]
        shrunk = cv2.resize(cropped, (columns, rows), interpolation=cv2.INTER_AREA)
        return self._upright(eight_bits(numpy.asarray(shrunk, luma.dtype), frame.format.name), frame)

    def colour(self, frame: VideoFrame) -> NDArray[numpy.uint8]:
        """The frame about `WIDTH` pixels wide, upright, (height, width, 3) in the order blue, green, red."""
        height = max(2, round(frame.height * WIDTH / frame.width))
        small = self._reformatter.reformat(frame, WIDTH, height, "bgr24")
        return self._upright(numpy.asarray(small.to_ndarray(), numpy.uint8), frame)

    def _upright(self, picture: Grey, frame: VideoFrame) -> Grey:
        turn = _TURNS[round(-frame.rotation / 90) % 4]
        return picture if turn is None else numpy.asarray(cv2.rotate(picture, turn), numpy.uint8)


def eight_bits(picture: NDArray[numpy.integer], pixel_format: str) -> Grey:
    """A picture of more than 8 bits brought down to them."""
    shift = _DEEP.get(pixel_format, 0)
    return numpy.asarray(picture >> shift if shift else picture, numpy.uint8)


def sharpness(luma: NDArray[numpy.integer], pixel_format: str) -> float:
    """Variance of the Laplacian over the middle of a frame; every second pixel of large ones, whose finest is noise."""
    height, width = luma.shape
    step = 2 if width > 960 else 1
    middle = luma[height // 4 : height - height // 4 : step, width // 4 : width - width // 4 : step]
    edges = cv2.Laplacian(eight_bits(numpy.ascontiguousarray(middle), pixel_format), cv2.CV_16S)
    _, spread = cv2.meanStdDev(edges)
    return float(spread.flat[0] ** 2)
