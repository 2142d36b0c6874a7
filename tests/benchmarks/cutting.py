"""How fast clips and playable copies are made, as ratios in one run, medians of five.

    python -m tests.benchmarks.cutting FOLDER [--seconds 120] [--size 1280x720] [--rounds 5]

`FOLDER` takes the film that is drawn for it: noise that moves, so that it is as hard to encode as real film, with 250
frames a group. A clip of 20 s from the middle is cut in three ways (copied where possible, wholly encoded by the
clip cutter, wholly encoded by the bare encoder from a decoder that stands there already), a playable copy is made
beside the bare encoder with the same settings, and ten clips are cut one after the other.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import av
import ffmpeg as graph
import numpy

from indexer.config import Settings
from indexer.footage import ffmpeg
from indexer.footage.cutting import cut
from indexer.footage.looking import look
from indexer.footage.playable import make_playable
from indexer.models.footage import Probe

CLIP_S = 20


def draw(path: Path, seconds: int, size: tuple[int, int], rate: int = 30) -> Path:
    """A film of soft noise that drifts, and a tone, with a key frame every 250 frames and B-frames."""
    width, height = size
    soft = numpy.random.default_rng(3).integers(60, 200, (height // 8 + 32, width // 8 + 32)).astype(numpy.uint8)
    with av.open(str(path), "w") as film:
        stream = film.add_stream("libx264", rate=rate)
        stream.width, stream.height, stream.pix_fmt, stream.gop_size = width, height, "yuv420p", 250
        stream.options = {"preset": "veryfast", "crf": "20", "x264-params": "scenecut=0:keyint=250"}
        sound = film.add_stream("aac", rate=48_000, layout="stereo")
        for number in range(seconds * rate):
            x, y = number % 29, number // 3 % 29
            ground = soft[y : y + height // 8, x : x + width // 8].repeat(8, axis=0).repeat(8, axis=1)
            picture = numpy.full((height * 3 // 2, width), 128, numpy.uint8)
            picture[:height, :width] = ground
            frame = av.VideoFrame.from_ndarray(picture, format="yuv420p")
            frame.pts, frame.time_base = number, Fraction(1, rate)
            film.mux(stream.encode(frame))
        film.mux(stream.encode(None))
        for number in range(seconds * 48_000 // 1024):
            tone = numpy.random.default_rng(number).normal(0, 0.05, (2, 1024)).astype(numpy.float32)
            block = av.AudioFrame.from_ndarray(tone, format="fltp", layout="stereo")
            block.sample_rate, block.pts, block.time_base = 48_000, number * 1024, Fraction(1, 48_000)
            film.mux(sound.encode(block))
        film.mux(sound.encode(None))
    return path


def timed(work: Callable[[], object]) -> float:
    """Seconds that `work` takes."""
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def bare(source: Path, target: Path, settings: Settings, *, start_s: float = 0, length_s: float | None = None) -> None:
    """The encoder alone: ffmpeg with the settings of a playable copy, sound as well, nothing asked of it."""
    given = {"ss": start_s, **({"t": length_s} if length_s else {})}
    film = graph.input(str(source), **given)
    how = {"vcodec": "libx264", "preset": "veryfast", "crf": 23, "acodec": "aac", "aac_coder": "fast"}
    made = graph.output(film.video, film.audio, str(target), force_key_frames="expr:gte(t,n_forced)", **how)
    ffmpeg.run(made, timeout_s=3600, settings=settings)


def main() -> None:
    """Draw the film where it is not there, measure, and print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("folder", type=Path)
    asked.add_argument("--seconds", type=int, default=120)
    asked.add_argument("--size", default="1280x720")
    asked.add_argument("--rounds", type=int, default=5)
    told = asked.parse_args()
    told.folder.mkdir(parents=True, exist_ok=True)
    width, height = (int(side) for side in told.size.split("x"))
    film = told.folder / f"drawn-{told.seconds}-{told.size}.mp4"
    if not film.exists():
        draw(film, told.seconds, (width, height))
    probe = Probe(**look(film))
    settings = Settings(library=told.folder)
    middle_ms = told.seconds * 500
    out = told.folder / "made.mp4"

    def clip(start_ms: int, *, whole: bool) -> None:
        cut([film], (), start_ms, start_ms + CLIP_S * 1000, out, settings, whole=whole)

    def ten() -> None:
        last_ms = (told.seconds - CLIP_S) * 1000
        for number in range(10):
            clip(137 + number * (last_ms - 137) // 9, whole=False)

    works: dict[str, Callable[[], object]] = {
        "clip, copied where possible": lambda: clip(middle_ms, whole=False),
        "clip, wholly encoded": lambda: clip(middle_ms, whole=True),
        "clip, bare encoder": lambda: bare(film, out, settings, start_s=middle_ms / 1000, length_s=CLIP_S),
        "playable copy": lambda: make_playable([film], [probe], out, settings, lambda done: None),
        "whole film, bare encoder": lambda: bare(film, out, settings),
        "ten clips": ten,
    }
    taken: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(told.rounds):
        for name, work in works.items():
            taken[name].append(timed(work))
    middle = {name: statistics.median(each) for name, each in taken.items()}
    print(f"{told.seconds} s of {told.size} at 30 frames a second, 250 frames a group, medians of {told.rounds}:")
    for name, seconds in middle.items():
        print(f"  {name:30} {seconds:7.2f} s   ({min(taken[name]):.2f} to {max(taken[name]):.2f})")
    ratios = [
        statistics.median(a / b for a, b in zip(taken[one], taken[other], strict=True))
        for one, other in (
            ("clip, copied where possible", "clip, wholly encoded"),
            ("clip, wholly encoded", "clip, bare encoder"),
            ("playable copy", "whole film, bare encoder"),
        )
    ]
    print(f"  copied : wholly encoded {ratios[0]:.2f};  wholly encoded : bare encoder {ratios[1]:.2f}")
    print(f"  playable copy : bare encoder {ratios[2]:.2f};  one of ten clips {middle['ten clips'] / 10:.2f} s")


if __name__ == "__main__":
    main()
