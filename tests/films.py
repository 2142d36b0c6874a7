"""Small films drawn for tests, each frame with its number in the picture, and the reader of that number.

The number is a strip of 20 squares at the very top, from the left, each 1/40 of the width: white, black, 16 bits of the
number with the most significant first, a bit that makes the count of white bits even, white.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy
from av.audio.stream import AudioStream
from av.container import InputContainer, OutputContainer
from av.video.stream import VideoStream
from numpy.typing import NDArray

Picture = NDArray[numpy.uint8]

PAL = Fraction(25)
NTSC = Fraction(30000, 1001)
NTSC_DOUBLE = Fraction(60000, 1001)

_SQUARES = 20
_SAMPLES_A_SECOND = 48_000
_TICK = Fraction(1, 120_000)


def draw_strip(picture: Picture, number: int) -> None:
    """Draw `number` (0 to 65535) into `picture` (height, width) or (height, width, 3), in place."""
    bits = [number >> place & 1 for place in range(15, -1, -1)]
    squares = [1, 0, *bits, sum(bits) % 2, 1]
    side = picture.shape[1] / 40
    for place, white in enumerate(squares):
        picture[: round(side), round(place * side) : round((place + 1) * side)] = 255 * white


def read_strip(picture: Picture) -> int | None:
    """The number in a picture, (height, width) or (height, width, 3), or None where there is no sound strip."""
    gray = picture if picture.ndim == 2 else picture.mean(axis=2)
    side = gray.shape[1] / 40
    row = gray[int(side / 4) : max(int(side / 4) + 1, round(side * 3 / 4))].mean(axis=0)
    squares = [row[int((place + 0.3) * side) : int((place + 0.7) * side) + 1].mean() > 127 for place in range(_SQUARES)]
    first, second, *bits, even, last = squares
    if not first or second or not last or sum(bits) % 2 != even:
        return None
    return int("".join("1" if bit else "0" for bit in bits), 2)


def draw_frame(number: int, size: tuple[int, int]) -> Picture:
    """A gray picture (height, width, 3) with a bright disc that wanders, and its number."""
    width, height = size
    y, x = numpy.mgrid[0:height, 0:width]
    picture = numpy.repeat((40 + 80 * x / width + 60 * y / height)[:, :, None], 3, axis=2)
    centre = width * (0.5 + 0.3 * numpy.sin(number / 9)), height * (0.55 + 0.2 * numpy.cos(number / 7))
    picture[(x - centre[0]) ** 2 + (y - centre[1]) ** 2 < (height / 6) ** 2] = (60, 200, 220)
    drawn: Picture = picture.astype(numpy.uint8)
    draw_strip(drawn, number)
    return drawn


def write_film(
    path: Path,
    frames: int,
    fps: Fraction | int = PAL,
    *,
    size: tuple[int, int] = (160, 120),
    gop: int = 12,
    codec: str = "libx264",
    pixel_format: str = "yuv420p",
    b_frames: int = 0,
    vfr: Sequence[float] | None = None,
    sound: str | None = None,
    first: int = 0,
    rotation: int = 0,
    pixel_shape: Fraction | None = None,
    interlaced: bool = False,
    pictures: Sequence[Picture] | None = None,
    container: str | None = None,
    options: dict[str, str] | None = None,
) -> Path:
    """Write a film whose frames are numbered from `first` on; the container goes by the name, or by `container`.

    `vfr` gives the time of each frame in seconds, instead of `fps`. `sound` names an audio codec; the sound is a tone
    as long as the pictures. `rotation` is how many degrees clockwise a player has to turn the picture.
    """
    with av.open(path, "w", format=container, options=options or {}) as film:
        stream = _video_stream(film, codec, fps, size, pixel_format, gop, b_frames, interlaced)
        if rotation:
            stream.set_display_rotation(-rotation)
        if pixel_shape:
            stream.codec_context.sample_aspect_ratio = pixel_shape
        audio = _audio_stream(film, sound) if sound else None
        ticks = [round(Fraction(at) / _TICK) for at in vfr] if vfr else [round(n / fps / _TICK) for n in range(frames)]
        for index, tick in enumerate(ticks):
            drawn = pictures[index] if pictures else draw_frame(first + index, size)
            frame = av.VideoFrame.from_ndarray(numpy.ascontiguousarray(drawn), format="bgr24")
            frame = frame.reformat(format=pixel_format)
            frame.pts, frame.time_base = (index, Fraction(1) / fps) if vfr is None else (tick, _TICK)
            film.mux(stream.encode(frame))
        film.mux(stream.encode(None))
        if audio:
            _write_tone(film, audio, float((ticks[-1] - ticks[0]) * _TICK + 1 / Fraction(fps)))
    return path


def _video_stream(
    film: OutputContainer,
    codec: str,
    fps: Fraction | int,
    size: tuple[int, int],
    pixel_format: str,
    gop: int,
    b_frames: int,
    interlaced: bool,
) -> VideoStream:
    stream: Any = film.add_stream(codec, rate=Fraction(fps))
    stream.width, stream.height = size
    stream.pix_fmt = pixel_format
    stream.gop_size = gop
    stream.codec_context.max_b_frames = b_frames
    stream.codec_context.time_base = _TICK if codec in {"libx264", "libx265", "ffv1"} else Fraction(1) / fps
    if codec == "libx264":
        more = ":tff=1" if interlaced else ""
        stream.options = {"crf": "16", "preset": "ultrafast", "x264-params": f"scenecut=0:bframes={b_frames}{more}"}
    elif codec == "libx265":
        stream.options = {"preset": "ultrafast", "x265-params": f"keyint={gop}:log-level=none:bframes={b_frames}"}
    elif codec in {"mpeg4", "mpeg2video", "mjpeg"}:
        stream.bit_rate = 4_000_000
    return stream  # type: ignore[no-any-return]


def _audio_stream(film: OutputContainer, codec: str) -> AudioStream:
    stream: Any = film.add_stream(codec, rate=_SAMPLES_A_SECOND)
    stream.layout = "mono"
    return stream  # type: ignore[no-any-return]


def _write_tone(film: OutputContainer, stream: AudioStream, length_s: float) -> None:
    tone = 0.2 * numpy.sin(2 * numpy.pi * 440 * numpy.arange(round(length_s * _SAMPLES_A_SECOND)) / _SAMPLES_A_SECOND)
    block = 1024
    for start in range(0, len(tone), block):
        samples = tone[None, start : start + block].astype(numpy.float32)
        frame = av.AudioFrame.from_ndarray(samples, format="fltp", layout="mono")
        frame.sample_rate, frame.pts, frame.time_base = _SAMPLES_A_SECOND, start, Fraction(1, _SAMPLES_A_SECOND)
        film.mux(stream.encode(frame))
    film.mux(stream.encode(None))


def read_film(path: Path) -> list[tuple[float, int | None]]:
    """Decode a whole film: the time in seconds and the number of each frame, in order of showing."""
    with av.open(path) as film:
        assert isinstance(film, InputContainer)
        return [(float(frame.time or 0), read_strip(frame.to_ndarray(format="gray"))) for frame in film.decode(video=0)]


def tone_stretches(path: Path, window_s: float = 0.02) -> list[bool]:
    """Whether there is sound, for each stretch of `window_s` seconds of a film."""
    with av.open(path) as film:
        assert isinstance(film, InputContainer)
        resampler = av.AudioResampler(format="flt", layout="mono", rate=_SAMPLES_A_SECOND)
        blocks = [out.to_ndarray()[0] for frame in film.decode(audio=0) for out in resampler.resample(frame)]
    samples = numpy.concatenate(blocks)
    step = round(window_s * _SAMPLES_A_SECOND)
    return [bool(numpy.abs(samples[at : at + step]).max() > 0.05) for at in range(0, len(samples) - step + 1, step)]
