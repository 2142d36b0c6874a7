"""Whether a browser plays a recording as it is, and the copy that it plays where not."""

from __future__ import annotations

import contextlib
import math
import os
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from indexer.config import Settings
from indexer.errors import RecordingUnreadable, ToolFailed
from indexer.footage import ffmpeg
from indexer.footage.joining import lay_out_parts, length_ms
from indexer.footage.probing import ends_early
from indexer.models.footage import Part, Probe

_PICTURES = {"mp4": {"h264", "av1", "vp9"}, "webm": {"vp8", "vp9", "av1"}}
_SOUNDS = {"mp4": {"aac", "mp3", "opus", "flac", None}, "webm": {"opus", "vorbis", None}}
_PIXEL_FORMATS = {"yuv420p", "yuvj420p"}
_LATEST_START_MS = 500

_TICKS_A_SECOND = 120_000
"""The copy's clock: whole ticks for 24, 25, 29.97, 30, 50, 59.94 and 60 frames a second and for milliseconds."""
_SAMPLES_A_SECOND = 48_000
_SLOWEST = 30
"""Seconds of work that one second of film may take before the encoder is given up."""

_KEPT = {"vcodec": "copy", "bsf:v": "setts=pts=PTS-STARTPTS:dts=DTS-STARTPTS:duration=DURATION"}
_SOUND = {"acodec": "aac", "audio_bitrate": "128k"}
_WRITING = {"map_metadata": -1, "map_chapters": -1, "movflags": "+faststart", "f": "mp4"}


def reasons_for_copy(probes: Sequence[Probe], settings: Settings) -> tuple[str, ...]:
    """Why a recording needs a playable copy, each reason a clause for a person; none where the original plays."""
    reasons = [f"it is in {len(probes)} part files"] if len(probes) > 1 else []
    for probe in probes:
        reasons += [reason for reason in _reasons_of(probe, settings) if reason not in reasons]
    return tuple(reasons)


def _reasons_of(probe: Probe, settings: Settings) -> list[str]:
    gap_s = probe.key_frame_gap_ms / 1000
    reasons = {
        f"browsers do not play its container ({probe.container})": probe.container not in _PICTURES,
        f"browsers do not play its kind of picture ({probe.codec})": probe.codec
        not in _PICTURES.get(probe.container, _PICTURES["mp4"]),
        f"browsers do not play its kind of colour ({probe.pixel_format})": probe.pixel_format not in _PIXEL_FORMATS,
        f"browsers do not play its kind of sound ({probe.audio_codec})": probe.audio_codec
        not in _SOUNDS.get(probe.container, _SOUNDS["mp4"]),
        "it is interlaced": probe.interlaced,
        f"its key frames are up to {gap_s:.1f} s apart": gap_s > settings.key_frame_gap_s,
        "its clock does not begin at zero": not 0 <= probe.first_ms <= _LATEST_START_MS,
        "it ends before its head says": probe.claimed_ms is not None
        and ends_early(probe.duration_ms, probe.claimed_ms),
    }
    return [reason for reason, holds in reasons.items() if holds]


def keeps_pictures(probes: Sequence[Probe], settings: Settings) -> bool:
    """Whether the pictures themselves can go into the copy as they are, so that only the container and sound change."""
    probe = probes[0]
    return (
        len(probes) == 1
        and (probe.codec, probe.pixel_format) == ("h264", "yuv420p")
        # Others carry no exact times for pictures, or would have to be moved to zero by less than they can say.
        and (probe.container in {"matroska", "mpegts"} or (probe.container in {"mov", "mp4"} and probe.first_ms == 0))
        and probe.square_pixels
        and not (probe.interlaced or probe.rotation or probe.remarks)
        and probe.key_frame_gap_ms <= settings.key_frame_gap_s * 1000
    )


def make_playable(
    sources: Sequence[Path],
    probes: Sequence[Probe],
    target: Path,
    settings: Settings,
    progress: Callable[[float], None],
) -> None:
    """Write `sources`, laid end to end, as one film that browsers play and seek in quickly.

    H.264 8 bit, a key frame each second, AAC where any part has sound, the index in front. Pictures that fit
    already are not encoded again. Times of frames are kept as they are, never made even. Nothing of the originals'
    metadata is kept. The film appears under its name only when it is complete. `progress` is called with 0 to 1.
    Raises ToolFailed, and RecordingUnreadable where a part is named twice.
    """
    for place, source in enumerate(sources):
        if source in sources[:place]:
            raise RecordingUnreadable(source, "it is named twice among the parts of one recording. Name it once.")
    parts = lay_out_parts(sources, probes)
    length_s = length_ms(probes) / 1000
    target.parent.mkdir(parents=True, exist_ok=True)
    _sweep(target)
    handle, name = tempfile.mkstemp(prefix=f".{target.stem}-", suffix=".unfinished.mp4", dir=target.parent)
    os.close(handle)
    unfinished = Path(name)
    try:
        film = _describe(parts, unfinished, keep=keeps_pictures(probes, settings))
        timeout_s = settings.probe_seconds + _SLOWEST * length_s
        ffmpeg.run(film, timeout_s=timeout_s, settings=settings, length_s=length_s, progress=progress)
        _check(unfinished)
        unfinished.replace(target)
    finally:
        unfinished.unlink(missing_ok=True)
    progress(1.0)


def _sweep(target: Path) -> None:
    """Take away what an earlier attempt left when it was killed."""
    for left in target.parent.glob(f".{target.stem}-*.unfinished.mp4"):
        with contextlib.suppress(OSError):
            left.unlink()


def _check(film: Path) -> None:
    from indexer.footage.frames import frame_times

    if len(frame_times(film)) == 0:
        raise ToolFailed("ffmpeg", "the copy that it made has no pictures.")


def _describe(parts: Sequence[Part], target: Path, *, keep: bool) -> Any:
    """The whole work as one graph of ffmpeg-python: pictures by their times, sound cut to each part's length."""
    import ffmpeg as graph

    with_sound = any(part.probe.has_sound for part in parts)
    width, height = _frame_size([part.probe for part in parts])
    pictures, sounds = [], []
    for number, part in enumerate(parts):
        # The clock of the file is kept, so that sound and picture are moved by the same amount.
        source = graph.input(ffmpeg.file_address(part.path), **ffmpeg.GUARDS)
        pictures.append(source["V:0"] if keep else _picture(source, part, width, height))
        if with_sound:
            sounds.append(_sound(graph, source, part, number))
    outputs = [_merged(graph, pictures)]
    if with_sound:
        outputs.append(graph.concat(*sounds, v=0, a=1) if len(sounds) > 1 else sounds[0])
    encoding = {**(_KEPT if keep else _encoding(parts)), **(_SOUND if with_sound else {}), **_WRITING}
    return graph.output(*outputs, ffmpeg.file_address(target), **encoding).global_args("-copyts")


def _merged(graph: Any, pictures: Sequence[Any]) -> Any:
    """One stream of all parts' pictures in order of their times, which stay as they are."""
    if len(pictures) == 1:
        return pictures[0]
    merged = graph.filter(list(pictures), "interleave", nb_inputs=len(pictures))
    return merged.filter("settb", f"1/{_TICKS_A_SECOND}")


def _picture(source: Any, part: Part, width: int, height: int) -> Any:
    """A part's pictures: progressive, upright, with square pixels, of the common size, from the part's start on."""
    stream = source["V:0"]
    if part.probe.interlaced:
        stream = stream.filter("bwdif", mode="send_frame", parity="auto", deint="interlaced")
    # Some cameras use the full range of values, which not every browser gives back right.
    narrow = {} if part.probe.pixel_format == "yuv420p" else {"out_range": "tv"}
    stream = stream.filter("scale", w="round(iw*sar)", h="ih", **narrow).filter("setsar", "1")
    if max(abs(part.probe.width - width), abs(part.probe.height - height)) > 1:
        stream = stream.filter("scale", w=width, h=height, force_original_aspect_ratio="decrease")
    stream = stream.filter("pad", w=width, h=height, x="(ow-iw)/2", y="(oh-ih)/2").filter("format", "yuv420p")
    start = part.start_ms * _TICKS_A_SECOND // 1000
    return stream.filter("settb", f"1/{_TICKS_A_SECOND}").filter("setpts", f"PTS-STARTPTS+{start}")


def _sound(graph: Any, source: Any, part: Part, number: int) -> Any:
    """A part's sound, begun with its first picture and exactly as long as its pictures; silence where it has none."""
    length_s = part.probe.duration_ms / 1000
    if part.probe.has_sound:
        stream = source["a:0"].filter("asetpts", f"PTS-({part.probe.first_ms / 1000})/TB")
        stream = stream.filter("aresample", _SAMPLES_A_SECOND, **{"async": 1, "first_pts": 0}).filter("apad")
    else:
        # The size of a block makes no difference, but two equal silences would be one and the same node of the graph.
        stream = graph.input(f"anullsrc=r={_SAMPLES_A_SECOND}:cl=stereo:n={1024 + number}", f="lavfi").audio
    stream = stream.filter("atrim", end=length_s).filter("asetpts", "PTS-STARTPTS")
    return stream.filter("aformat", sample_fmts="fltp", sample_rates=_SAMPLES_A_SECOND, channel_layouts="stereo")


def _frame_size(probes: Sequence[Probe]) -> tuple[int, int]:
    """Width and height of the copy: those of the largest part, made even."""
    largest = max(probes, key=lambda probe: probe.width * probe.height)
    return 2 * math.ceil(largest.width / 2), 2 * math.ceil(largest.height / 2)


def _encoding(parts: Sequence[Part]) -> dict[str, Any]:
    rate = max(part.probe.frame_rate for part in parts)
    return {
        "vcodec": "libx264",
        "preset": "veryfast",
        # Only what the stream says of its rate, and by it which level a decoder needs; times of frames are not touched.
        "x264-params": f"fps={max(1, round(rate * 1000))}/1000",
        "crf": 23,
        "pix_fmt": "yuv420p",
        "fps_mode": "passthrough",
        "enc_time_base": f"1/{_TICKS_A_SECOND}",
        "video_track_timescale": _TICKS_A_SECOND,
        # Merging forgets how long a frame is shown; without a length, players leave out the very last one.
        "bsf:v": f"setts=pts=PTS:dts=DTS:duration={parts[-1].probe.last_frame_ms * _TICKS_A_SECOND // 1000}",
        "force_key_frames": "expr:gte(t,n_forced)",
    }
