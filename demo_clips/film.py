"""Frames drawn one after the other and piped to ffmpeg."""

from __future__ import annotations

import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from demo_clips.geometry import FRAME, Picture
from demo_clips.painter import Painter
from demo_clips.scenario import Scenario
from demo_clips.strip import draw_strip

LOUD_ACTS = {"sculpt", "crack", "chop", "remove", "bowl", "flip", "cortex", "vitrectomy", "wash_out"}
FORMATS = {"mp4": "mp4", "ts": "mpegts", "mkv": "matroska"}


def frames(scenario: Scenario, start: int, end: int) -> Iterator[Picture]:
    """The pictures (360, 640, 3; blue, green, red) of a film from one frame up to another, each with its number.

    Above 30 frames a second every other picture is shown twice; each step starts with its own.
    """
    painter = Painter(scenario.look)
    every = 2 if scenario.film.rate > 30 else 1
    firsts = {start, *scenario.starts}
    for frame in range(start, end):
        if frame % every == 0 or frame in firsts:
            picture = painter.frame(scenario.eye_at(frame), float(frame / scenario.film.rate))
        draw_strip(picture, frame)
        yield picture


def hum(scenario: Scenario, start: int, end: int) -> str:
    """A quiet machine hum as an expression for ffmpeg, a little higher while the machine works."""
    rate = scenario.film.rate
    spans = [
        f"between(t,{float((a - start) / rate):.3f},{float((b - start) / rate):.3f})"
        for scene, a, b in zip(scenario.scenes, scenario.starts, scenario.starts[1:], strict=False)
        if scene.act in LOUD_ACTS and b > start and a < end
    ]
    working = "+".join(spans) or "0"
    return (
        "0.02*sin(2*PI*98*t)+0.012*sin(2*PI*147.3*t)*(1+0.3*sin(2*PI*0.4*t))"
        f"+0.014*({working})*sin(2*PI*(392+9*sin(2*PI*1.7*t))*t)"
    )


def command(scenario: Scenario, start: int, end: int, target: Path, executable: str) -> list[str]:
    """The ffmpeg command line that reads raw frames from its input and writes a film."""
    import ffmpeg

    plan = scenario.film
    rate = f"{plan.rate.numerator}/{plan.rate.denominator}"
    inputs: list[Any] = [
        ffmpeg.input("pipe:", format="rawvideo", pix_fmt="yuv420p", s=f"{FRAME[0]}x{FRAME[1]}", framerate=rate)
    ]
    options: dict[str, Any] = {
        "vcodec": "libx264", "preset": "veryfast", "crf": 24, "threads": 1, "g": plan.key_frames, "bf": 0,
        "colorspace": "smpte170m", "color_primaries": "smpte170m", "color_trc": "smpte170m", "color_range": "tv",
        "format": FORMATS[plan.container], "fflags": "+bitexact", "flags": "+bitexact", "map_metadata": -1,
    }
    if plan.key_frames >= 250:
        options["sc_threshold"] = 0  # no key frame but the ones asked for
    if plan.container == "mp4":
        options["movflags"] = "+faststart"
    if plan.sound:
        seconds = float((end - start) / plan.rate)
        source = f"aevalsrc=exprs='{hum(scenario, start, end)}':s=44100:d={seconds:.3f}"
        inputs.append(ffmpeg.input(source, format="lavfi"))
        options |= {"acodec": "aac", "audio_bitrate": "48k", "ac": 1}
    quiet = ("-hide_banner", "-loglevel", "error", "-nostats")
    stream = ffmpeg.output(*inputs, str(target), **options).global_args(*quiet)
    return [str(word) for word in ffmpeg.compile(stream, cmd=executable, overwrite_output=True)]


def draw_film(
    scenario: Scenario, start: int, end: int, target: Path, executable: str,
    progress: Callable[[int], None] = lambda done: None,
) -> None:
    """Draw a stretch of a film into a file; the file appears under its name only when it is whole.

    Raises RuntimeError with ffmpeg's own words where it cannot write the film.
    """
    partial = target.with_name(f".{target.name}.unfinished")
    with subprocess.Popen(
        command(scenario, start, end, partial, executable), stdin=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdin and process.stderr
        try:
            for done, picture in enumerate(frames(scenario, start, end), start=1):
                process.stdin.write(cv2.cvtColor(picture, cv2.COLOR_BGR2YUV_I420).data)
                if done % 50 == 0:
                    progress(done)
            process.stdin.close()
        except BrokenPipeError:
            pass  # ffmpeg gave up; what it said tells why
        except BaseException:
            process.kill()
            raise
        said = process.stderr.read().decode(errors="replace").strip()
        if process.wait(timeout=60) != 0:
            partial.unlink(missing_ok=True)
            raise RuntimeError(f"{target.name} could not be written: {said or 'ffmpeg stopped'}")
    partial.replace(target)


def still(scenario: Scenario, frame: int) -> Picture:
    """One frame of a film, as it will be before it is encoded."""
    return np.ascontiguousarray(next(frames(scenario, frame, frame + 1)))
