"""Pieces of ffmpeg graphs that playable copies and clips share: pictures made even and upright, sound made whole."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from indexer.models.footage import Probe

TICKS_A_SECOND = 120_000
"""The clock of what is made: whole ticks for 24, 25, 29.97, 30, 50, 59.94 and 60 frames a second and for milliseconds."""
SAMPLES_A_SECOND = 48_000
SOUND = {"acodec": "aac", "audio_bitrate": "128k", "aac_coder": "fast"}
WRITING = {"map_metadata": -1, "map_chapters": -1, "movflags": "+faststart", "f": "mp4"}


def upright(stream: Any, probe: Probe | None, width: int, height: int) -> Any:
    """Pictures progressive, with square pixels, of the common size, 8 bit 4:2:0, with times in `TICKS_A_SECOND`.

    `probe` None: a film that plays as it is.
    """
    if probe is not None and probe.interlaced:
        stream = stream.filter("bwdif", mode="send_frame", parity="auto", deint="interlaced")
    # Some cameras use the full range of values, which not every browser gives back right.
    narrow = {} if probe is not None and probe.pixel_format == "yuv420p" else {"out_range": "tv"}
    stream = stream.filter("scale", w="round(iw*sar)", h="ih", **narrow).filter("setsar", "1")
    if probe is None or max(abs(probe.width - width), abs(probe.height - height)) > 1:
        stream = stream.filter("scale", w=width, h=height, force_original_aspect_ratio="decrease")
    stream = stream.filter("pad", w=width, h=height, x="(ow-iw)/2", y="(oh-ih)/2").filter("format", "yuv420p")
    return stream.filter("settb", f"1/{TICKS_A_SECOND}")


def merged(graph: Any, pictures: Sequence[Any]) -> Any:
    """One stream of all parts' pictures in order of their times, which stay as they are."""
    if len(pictures) == 1:
        return pictures[0]
    return graph.filter(list(pictures), "interleave", nb_inputs=len(pictures)).filter("settb", f"1/{TICKS_A_SECOND}")


def even_size(width: int, height: int) -> tuple[int, int]:
    """The size made even, as 4:2:0 asks for."""
    return 2 * math.ceil(width / 2), 2 * math.ceil(height / 2)


def frame_size(probes: Sequence[Probe]) -> tuple[int, int]:
    """Width and height of the whole: those of the largest part, made even."""
    largest = max(probes, key=lambda probe: probe.width * probe.height)
    return even_size(largest.width, largest.height)


def sound(graph: Any, source: Any | None, number: int, start_s: float, length_s: float) -> Any:
    """A stretch of a file's sound from `start_s` of its own clock on, exactly `length_s` long; silence without one."""
    if source is not None:
        stream = source["a:0"].filter("asetpts", f"PTS-({start_s!r})/TB")
        stream = stream.filter("aresample", SAMPLES_A_SECOND, **{"async": 1, "first_pts": 0}).filter("apad")
    else:
        # The size of a block makes no difference, but two equal silences would be one and the same node of the graph.
        stream = graph.input(f"anullsrc=r={SAMPLES_A_SECOND}:cl=stereo:n={1024 + number}", f="lavfi").audio
    stream = stream.filter("atrim", end=length_s).filter("asetpts", "PTS-STARTPTS")
    return stream.filter("aformat", sample_fmts="fltp", sample_rates=SAMPLES_A_SECOND, channel_layouts="stereo")
