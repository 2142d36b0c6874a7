"""Sound read from a file as samples: from a moment on, for a length, without gaps or overlaps."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from typing import Any

import av
import numpy
from av.audio.codeccontext import AudioCodecContext
from av.audio.frame import AudioFrame
from av.container import InputContainer
from av.packet import Packet
from numpy.typing import NDArray

Samples = NDArray[numpy.float32]
"""(channels, samples), -1 to 1."""

RATE = 48_000
CHANNELS = 2
_JUMP = RATE // 20
"""Times of blocks that are off by less are rounding and drift of the recorder; more is a gap or an overlap."""
_LEAD = Fraction(1)
CODER = {"aac_coder": "fast"}
"""At 128 kbit/s what is spoken sounds no worse, in half the time."""
_BLOCK = 1024


def stretch(container: InputContainer, start: Fraction, length: int, *, rate: int = RATE) -> Iterator[Samples]:
    """`length` samples of the first sound from `start` seconds of the file's clock on; silence where there is none.

    What cannot be decoded is silent. Raises av.FFmpegError where the file cannot be read on.
    """
    at = 0
    if container.streams.audio and container.streams.audio[0].codec_context is not None:
        for place, block in _placed(container, start, rate):
            if place - at > 0:
                yield from _silence(min(place, length) - at)
                at = max(at, min(place, length))
            fresh = block[:, max(0, at - place) : max(0, length - place)]
            if fresh.shape[1]:
                yield fresh
                at += fresh.shape[1]
            if at >= length:
                return
    yield from _silence(length - at)


def _placed(container: InputContainer, start: Fraction, rate: int) -> Iterator[tuple[int, Samples]]:
    """Blocks of samples and where they lie, in samples from `start` on."""
    stream = container.streams.audio[0]
    base = stream.time_base or Fraction(1, 1000)
    container.seek(max(stream.start_time or 0, int((start - _LEAD) / base)), stream=stream, backward=True)
    resampler = av.AudioResampler(format="fltp", layout="stereo", rate=rate)
    expected: int | None = None
    for packet in container.demux(stream):
        try:
            frames = packet.decode()
        except av.FFmpegError:
            continue
        for frame in frames:
            if frame.pts is not None and frame.time_base is not None:
                at = round((frame.pts * frame.time_base - start) * rate)
                if expected is None or abs(at - expected) > _JUMP:
                    expected = at
            expected = expected or 0
            frame.pts = None
            for made in resampler.resample(frame):
                yield expected, _floats(made)
                expected += made.samples
    for made in resampler.resample(None):
        yield expected or 0, _floats(made)


def _floats(frame: AudioFrame) -> Samples:
    return frame.to_ndarray().astype(numpy.float32, copy=False)


def _silence(many: int) -> Iterator[Samples]:
    while many > 0:
        yield numpy.zeros((CHANNELS, min(many, RATE)), numpy.float32)
        many -= RATE


def muted(blocks: Iterable[Samples], spans: Sequence[tuple[int, int]]) -> Iterator[Samples]:
    """The blocks, silent in the spans (first sample, sample behind the last)."""
    at = 0
    for block in blocks:
        touched = [
            (max(0, first - at), last - at) for first, last in spans if first < at + block.shape[1] and last > at
        ]
        if touched:
            block = block.copy()
            for first, last in touched:
                block[:, first:last] = 0
        yield block
        at += block.shape[1]


def encoded(blocks: Iterable[Samples], encoder: AudioCodecContext) -> Iterator[Packet[Any]]:
    """AAC packets of the samples, times in samples from zero on; raises av.FFmpegError."""
    # An encoder of a kind of its own would name itself in the stream.
    encoder.flags |= av.codec.context.Flags.bitexact
    encoder.options = CODER
    fifo = av.AudioFifo()
    at = 0
    for block in blocks:
        frame = av.AudioFrame.from_ndarray(numpy.ascontiguousarray(block), format="fltp", layout="stereo")
        frame.sample_rate, frame.pts, frame.time_base = RATE, at, Fraction(1, RATE)
        at += block.shape[1]
        fifo.write(frame)
        while (whole := fifo.read(_BLOCK)) is not None:
            yield from encoder.encode(whole)
    if (rest := fifo.read(0, partial=True)) is not None:
        yield from encoder.encode(rest)
    yield from encoder.encode(None)
