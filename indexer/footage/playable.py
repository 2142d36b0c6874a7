"""Whether a browser plays a recording as it is, and the copy that it plays where not."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from indexer.config import Settings
from indexer.errors import RecordingUnreadable, ToolFailed
from indexer.footage import ffmpeg, graph_pictures, guarded, playable_chunks
from indexer.footage.appearing import appearing
from indexer.footage.graph_pictures import TICKS_A_SECOND
from indexer.footage.joining import lay_out_parts, length_ms
from indexer.footage.playable_chunks import Chunk
from indexer.footage.probing import ends_early
from indexer.models.footage import Part, Probe

_PICTURES = {"mp4": {"h264", "av1", "vp9"}, "webm": {"vp8", "vp9", "av1"}}
_SOUNDS = {"mp4": {"aac", "mp3", "opus", "flac", None}, "webm": {"opus", "vorbis", None}}
_PIXEL_FORMATS = {"yuv420p", "yuvj420p"}
_LATEST_START_MS = 500

_SLOWEST = 30
"""Seconds of work that one second of film may take before the encoder is given up."""

_KEPT = {"vcodec": "copy", "bsf:v": "setts=pts=PTS-STARTPTS:dts=DTS-STARTPTS:duration=DURATION"}
_ENCODED = 0.97
"""Share of the whole work that is over when all chunks are encoded."""


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
    metadata is kept. What was encoded before a kill is not encoded again.
    The film appears under its name only when it is complete. `progress` is called with 0 to 1.
    Raises ToolFailed, and RecordingUnreadable where a part is named twice.
    """
    for place, source in enumerate(sources):
        if source in sources[:place]:
            raise RecordingUnreadable(source, "it is named twice among the parts of one recording. Name it once.")
    parts = lay_out_parts(sources, probes)
    if keeps_pictures(probes, settings):
        _repack(parts[0], target, settings, progress)
    else:
        _encode(parts, target, settings, progress)
    progress(1.0)


def _encode(parts: Sequence[Part], target: Path, settings: Settings, progress: Callable[[float], None]) -> None:
    """Encode chunk by chunk, keeping each that is done, and join them. An attempt that was cut off is gone on with."""
    probes = [part.probe for part in parts]
    size, rate = graph_pictures.frame_size(probes), max(probe.frame_rate for probe in probes)
    chunks = playable_chunks.divide(parts, settings, playable_chunks.CHUNK_MS)
    whole_s = sum(chunk.length_s for chunk in chunks)
    done_s = 0.0
    with (
        playable_chunks.kept_beside(target, parts, playable_chunks.CHUNK_MS) as folder,
        appearing(target) as unfinished,
    ):
        for chunk in chunks:

            def tell(share: float, before_s: float = done_s, length_s: float = chunk.length_s) -> None:
                progress(_ENCODED * (before_s + share * length_s) / whole_s)

            playable_chunks.encode(chunk, parts[chunk.part], folder, size, rate, settings, tell)
            done_s += chunk.length_s
            tell(1.0)
        _join(parts, chunks, folder, unfinished, settings)


def _join(parts: Sequence[Part], chunks: Sequence[Chunk], folder: Path, target: Path, settings: Settings) -> None:
    origins = {chunk.part: chunk.first for chunk in reversed(chunks)}
    sound = []
    for number, part in enumerate(parts):
        # By where they begin and end in the whole, so that rounding does not add up over many parts.
        begin, end = (
            at * graph_pictures.SAMPLES_A_SECOND // 1000
            for at in (part.start_ms, part.start_ms + part.probe.duration_ms)
        )
        sound.append((str(part.path), origins[number], end - begin))
    made = guarded.work_on(
        folder,
        "indexer.footage.playable_joining:join",
        {
            "target": str(target),
            "chunks": [(chunk.name, chunk.starts) for chunk in chunks],
            "sound": sound if any(part.probe.has_sound for part in parts) else [],
            "last": parts[-1].probe.last_frame_ms * TICKS_A_SECOND // 1000,
        },
        seconds=settings.probe_seconds + length_ms([part.probe for part in parts]) / 1000,
        memory_mb=settings.probe_memory_mb,
    )
    if "failed" in made:
        raise ToolFailed("joining", f"the copy could not be written ({made['failed']}).")


def _repack(part: Part, target: Path, settings: Settings, progress: Callable[[float], None]) -> None:
    """Put pictures that fit already into another container, with their sound as AAC."""
    import ffmpeg as graph

    source = graph.input(ffmpeg.file_address(part.path), **ffmpeg.GUARDS)
    outputs = [source["V:0"]]
    if part.probe.has_sound:
        length_s = part.probe.duration_ms / 1000
        outputs.append(graph_pictures.sound(graph, source, 0, part.probe.first_ms / 1000, length_s))
    how = {**_KEPT, **(graph_pictures.SOUND if part.probe.has_sound else {}), **graph_pictures.WRITING}
    length_s = part.probe.duration_ms / 1000
    with appearing(target) as unfinished:
        film = graph.output(*outputs, ffmpeg.file_address(unfinished), **how).global_args("-copyts")
        timeout_s = settings.probe_seconds + _SLOWEST * length_s
        ffmpeg.run(film, timeout_s=timeout_s, settings=settings, length_s=length_s, progress=progress)
        _check(unfinished)


def _check(film: Path) -> None:
    from indexer.footage.frames import frame_times

    if len(frame_times(film)) == 0:
        raise ToolFailed("ffmpeg", "the copy that it made has no pictures.")
