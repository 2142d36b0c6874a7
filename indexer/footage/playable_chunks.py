"""A playable copy in chunks: each encoded by itself and kept, so that what was done before a kill is not done again."""

from __future__ import annotations

import contextlib
import json
import shutil
from array import array
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any, NamedTuple

from indexer.config import Settings
from indexer.footage import ffmpeg, graph_pictures, guarded
from indexer.footage.appearing import appearing
from indexer.footage.graph_pictures import TICKS_A_SECOND
from indexer.models.footage import Part, Probe

CHUNK_MS = 120_000
"""A kill costs at most the work on so much film."""
_SOUGHT = {"mov", "mp4", "matroska", "webm", "mpegts"}
_LEAD_S = 1.0
_SLOWEST = 30
_SLOWEST_BYTES_A_SECOND = 4_000_000
_MANIFEST = "chunks.json"


class Chunk(NamedTuple):
    """A run of frames of one part, encoded by itself."""

    name: str
    part: int
    starts: int
    """Ticks of the whole copy's clock at which its first frame is shown."""
    opens: str
    """A moment between its first frame and the one before, in seconds of the part's clock; empty: from the beginning."""
    closes: str
    """A moment behind its last frame; empty: to the end."""
    first: str
    """When its first frame is shown, in seconds of the part's clock, as a fraction."""
    length_s: float


def plan(path: Path, chunk_ms: int) -> list[list[Any]]:
    """Where a part can be divided, as JSON: opens, closes, first and length of each chunk; a guarded task."""
    from indexer.footage.clock import film_stream, open_film, read_clock
    from indexer.footage.guarded import Refused

    with open_film(path) as container:
        stream = film_stream(container)
        if stream is None:
            raise Refused("there is no moving picture in it.")
        clock = read_clock(container, stream)
    base, times = clock.time_base, clock.times
    if not times:
        raise Refused("no picture of it can be read.")
    bounds = _bounds(times, clock.keys, int(Fraction(chunk_ms, 1000) / base)) if not clock.jumps else [0]
    found = []
    for first, behind in zip(bounds, [*bounds[1:], len(times)], strict=True):
        opens = _between(times, first, base) if first else ""
        closes = _between(times, behind, base) if behind < len(times) else ""
        end = times[behind] if behind < len(times) else times[-1] + clock.last_length
        found.append([opens, closes, str(times[first] * base), float((end - times[first]) * base)])
    return found


def _bounds(times: array[int], keys: array[int], length: int) -> list[int]:
    """Frames at which a chunk begins: at key frames where there are some, so that little is decoded twice."""
    bounds, wanted = [0], times[0] + length
    # A rest that is shorter than half a chunk is not worth one.
    while wanted < times[-1] - length // 2:
        place = bisect_right(keys, wanted) - 1
        at = keys[place] if place >= 0 and keys[place] > times[bounds[-1]] + length // 2 else wanted
        bounds.append(bisect_left(times, at))
        wanted = times[bounds[-1]] + length
    return bounds


def _between(times: array[int], behind: int, base: Fraction) -> str:
    return f"{float(Fraction(times[behind - 1] + times[behind], 2) * base):.6f}"


def divide(parts: Sequence[Part], settings: Settings, chunk_ms: int = CHUNK_MS) -> list[Chunk]:
    """The chunks of a recording, in order. Raises RecordingUnreadable."""
    chunks: list[Chunk] = []
    for number, part in enumerate(parts):
        found = guarded.work_on(
            part.path,
            "indexer.footage.playable_chunks:plan",
            {"chunk_ms": chunk_ms if _can_be_sought(part.probe) else 10**9},
            seconds=settings.probe_seconds + part.probe.size_bytes / _SLOWEST_BYTES_A_SECOND,
            memory_mb=settings.probe_memory_mb,
        )
        origin = Fraction(found[0][2])
        for place, (opens, closes, first, length_s) in enumerate(found):
            starts = part.start_ms * TICKS_A_SECOND // 1000 + round((Fraction(first) - origin) * TICKS_A_SECOND)
            chunks.append(Chunk(f"{number}-{place}.mp4", number, starts, opens, closes, first, length_s))
    return chunks


def _can_be_sought(probe: Probe) -> bool:
    return probe.container in _SOUGHT and not probe.remarks


@contextlib.contextmanager
def kept_beside(target: Path, parts: Sequence[Part], chunk_ms: int) -> Iterator[Path]:
    """The folder in which chunks of these parts are kept; those of anything else are taken away first.

    It goes when the block ends well, and stays for the next attempt when it does not.
    """
    folder = target.parent / f".{target.stem}.chunks"
    of = {"chunk_ms": chunk_ms, "parts": [[part.probe.content_hash, part.start_ms] for part in parts]}
    manifest = folder / _MANIFEST
    with contextlib.suppress(OSError, ValueError):
        if json.loads(manifest.read_bytes()) != of:
            shutil.rmtree(folder, ignore_errors=True)
    if not manifest.is_file():
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir(parents=True, mode=0o700)
        with appearing(manifest) as unfinished:
            unfinished.write_text(json.dumps(of))
    yield folder
    shutil.rmtree(folder, ignore_errors=True)


def encode(
    chunk: Chunk,
    part: Part,
    folder: Path,
    size: tuple[int, int],
    rate: float,
    settings: Settings,
    progress: Callable[[float], None],
) -> Path:
    """Encode a chunk's pictures, unless that was done before. Raises ToolFailed."""
    target = folder / chunk.name
    if not target.is_file():
        with appearing(target) as unfinished:
            film = _describe(chunk, part, unfinished, size, rate)
            timeout_s = settings.probe_seconds + _SLOWEST * (chunk.length_s + _LEAD_S)
            ffmpeg.run(film, timeout_s=timeout_s, settings=settings, length_s=chunk.length_s, progress=progress)
    return target


def _describe(chunk: Chunk, part: Part, target: Path, size: tuple[int, int], rate: float) -> Any:
    import ffmpeg as graph

    source = graph.input(ffmpeg.file_address(part.path), **ffmpeg.GUARDS, **_place(chunk, part.probe))
    stream = source["V:0"]
    if chunk.closes:
        stream = stream.filter("trim", end=chunk.closes)
    stream = graph_pictures.upright(stream, part.probe, *size)
    if chunk.opens:
        # Only now, so that what is made of several pictures has those in front as well.
        stream = stream.filter("trim", start=chunk.opens)
    # The very first frame is where it is, whatever the file's head says of it.
    zero = round(Fraction(chunk.first) * TICKS_A_SECOND) if chunk.opens else "STARTPTS"
    stream = stream.filter("setpts", f"PTS-({zero})")
    return graph.output(stream, ffmpeg.file_address(target), **_encoding(rate)).global_args("-copyts")


def _place(chunk: Chunk, probe: Probe) -> dict[str, Any]:
    """Where reading begins, by the file's own clock: not behind the last key frame before the chunk."""
    if not chunk.opens:
        return {}
    # A transport stream is sought by its bytes, and may be entered behind the key frame that is meant.
    lead_s = _LEAD_S + (probe.key_frame_gap_ms / 1000 if probe.container == "mpegts" else 0)
    return {"ss": f"{float(chunk.opens) - lead_s:.6f}", "seek_timestamp": 1, "noaccurate_seek": None}


def _encoding(rate: float) -> dict[str, Any]:
    return {
        "vcodec": "libx264",
        "preset": "veryfast",
        # Only what the stream says of its rate, and by it which level a decoder needs; times of frames are not touched.
        "x264-params": f"fps={max(1, round(rate * 1000))}/1000",
        "crf": 23,
        "pix_fmt": "yuv420p",
        "fps_mode": "passthrough",
        "enc_time_base": f"1/{TICKS_A_SECOND}",
        "video_track_timescale": TICKS_A_SECOND,
        "force_key_frames": "expr:gte(t,n_forced)",
        "map_metadata": -1,
        "map_chapters": -1,
        "f": "mp4",
    }
