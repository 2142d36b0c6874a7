"""Clips: a stretch of a recording as a film of its own, exact to the frame at both ends."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from indexer.config import Settings
from indexer.errors import BadInput, ToolFailed
from indexer.footage import cutting_whole, guarded
from indexer.footage.appearing import appearing
from indexer.footage.cutting_whole import Piece
from indexer.footage.joining import lay_out_parts
from indexer.footage.playable import reasons_for_copy
from indexer.models.covered import Covered
from indexer.models.footage import Probe
from indexer.timespan import Span, clock

_MEMORY_MB = 4096
"""An encoder keeps some dozen pictures; at the largest size of a recorder that is two gigabytes."""
_SLOWEST = 30
"""Seconds of work that one second of film may take before it is given up."""
_SMALLEST = 16
_SLOWEST_BYTES_A_SECOND = 4_000_000
_ALL_MS = 60_000


class Clip(NamedTuple):
    """What was cut."""

    path: Path
    copied: int
    """Pictures that were taken as they are."""
    encoded: int | None
    """Pictures that were encoded anew; None where all were."""


def cut(
    sources: Sequence[Path],
    probes: Sequence[Probe],
    start_ms: int,
    end_ms: int,
    target: Path,
    settings: Settings,
    *,
    whole: bool,
    cover: Sequence[Covered] = (),
    mute: Sequence[Span] = (),
    silent: bool = False,
    size: tuple[int, int] | None = None,
    progress: Callable[[float], None] = lambda done: None,
) -> Clip:
    """Write what `sources` show from `start_ms` to before `end_ms` to `target`, an MP4 with H.264 and AAC.

    `sources` are the parts of a recording in their order with the `probes` of each; or the film that plays in the
    library (`RecordingDetail.film`) alone, whose probe may be left out (`probes=()`). All times are those of the
    recording, in milliseconds, as marks and cues have them. The first frame is the one that is shown at `start_ms`; a
    frame that begins at `end_ms` is not part of the clip any more. Frames keep their distances; the clip begins at zero.

    `whole=True` is for what leaves: every picture is encoded anew, and nothing but pictures and sound rides along: no
    metadata, no user data in the stream, no times of day, one parameter set, no name of an encoder. `whole=False` is for use
    inside the library: copied where possible and encoded only where a picture needs one that is outside; sound is
    always encoded. `cover` fills regions with black for as long as a frame is shown in their span (and makes the clip
    wholly encoded); `mute` makes spans silent; `silent` leaves the sound out. `size` is the width and height that the
    picture is made to fit into, never larger than it is. `progress` is called with 0 to 1.

    The clip appears under its name only when it is complete. Raises BadInput for a span that is none,
    RecordingUnreadable for a source that cannot be read or ends before `start_ms`, ToolFailed (also for a full disk).
    """
    if not 0 <= start_ms < end_ms:
        raise BadInput(f"{clock(start_ms)} to {clock(end_ms)} is no stretch of time. Name an end behind the start.")
    if size is not None and min(size) < _SMALLEST:
        raise BadInput(f"a picture of {size[0]} x {size[1]} pixels is too small to see anything in it.")
    if len(sources) != max(1, len(probes)):
        raise BadInput("a recording of several files can be cut only with what is known of each.")
    progress(0.0)
    with _room(target), appearing(target) as unfinished:
        clip = None
        if not (whole or cover or silent or size):
            clip = _joined(sources, probes, start_ms, end_ms, unfinished, settings, mute)
        if clip is None:
            pieces = _pieces(sources, probes, start_ms, end_ms, settings)
            film = cutting_whole.describe(pieces, unfinished, cover, () if silent else mute, size, silent=silent)
            length_s = sum(piece.length_s for piece in pieces)
            cutting_whole.run(film, length_s, settings, progress)
            clip = Clip(target, 0, None)
    progress(1.0)
    return clip._replace(path=target)


@contextlib.contextmanager
def _room(target: Path) -> Iterator[None]:
    """Tell of a folder that cannot be written to as a person understands it."""
    try:
        yield
    except OSError as error:
        raise ToolFailed("writing the clip", f"{target.parent} cannot be written to ({error.strerror}).") from error


def _joined(
    sources: Sequence[Path],
    probes: Sequence[Probe],
    start_ms: int,
    end_ms: int,
    unfinished: Path,
    settings: Settings,
    mute: Sequence[Span],
) -> Clip | None:
    """Copy what can be copied; None where nothing can."""
    parts = lay_out_parts(sources, probes)
    if any(probe.interlaced or probe.rotation or probe.remarks or not probe.square_pixels for probe in probes):
        return None
    source, begins_ms = sources[0], 0
    if len(parts) > 1:
        holding = [
            part for part in parts if part.start_ms <= start_ms and end_ms <= part.start_ms + part.probe.duration_ms
        ]
        if not holding:
            return None
        source, begins_ms = holding[0].path, holding[0].start_ms
    made = guarded.work_on(
        source,
        "indexer.footage.cutting_joined:write",
        {
            "target": str(unfinished),
            "start_ms": start_ms - begins_ms,
            "end_ms": end_ms - begins_ms,
            "own_clock": _by_own_clock(probes, settings),
            "mute": [(span.start_ms - begins_ms, span.end_ms - begins_ms) for span in mute],
        },
        seconds=settings.probe_seconds + _SLOWEST * (end_ms - start_ms) / 1000,
        memory_mb=_MEMORY_MB,
    )
    if "failed" in made:
        raise ToolFailed("cutting", f"the clip could not be written ({made['failed']}).")
    return Clip(unfinished, made["copied"], made["encoded"]) if made["copied"] else None


def _by_own_clock(probes: Sequence[Probe], settings: Settings) -> bool:
    """Whether times count by the film's own clock: it is the film that plays. Otherwise from its first frame on."""
    return not probes or not reasons_for_copy(probes, settings)


def _pieces(
    sources: Sequence[Path], probes: Sequence[Probe], start_ms: int, end_ms: int, settings: Settings
) -> list[Piece]:
    """What of each part is in the clip, with its place in the recording."""
    own_clock = _by_own_clock(probes, settings)
    if not probes:
        return [_piece(sources[0], None, 0, start_ms, end_ms, settings, own_clock)]
    parts = lay_out_parts(sources, probes)
    pieces: list[Piece] = []
    for part in parts:
        behind_ms = part.start_ms + part.probe.duration_ms
        if (start_ms < behind_ms and part.start_ms < end_ms) or (part is parts[-1] and not pieces):
            begin = max(0, start_ms - part.start_ms)
            # Nothing of a part that goes on in the next is left behind for a rounded length.
            end = end_ms - part.start_ms if end_ms < behind_ms else part.probe.duration_ms + _ALL_MS
            pieces.append(_piece(part.path, part.probe, part.start_ms, begin, end, settings, own_clock))
    return pieces


def _piece(
    path: Path, probe: Probe | None, begins_ms: int, start_ms: int, end_ms: int, settings: Settings, own_clock: bool
) -> Piece:
    seconds = settings.probe_seconds + (probe.size_bytes if probe else path.stat().st_size) / _SLOWEST_BYTES_A_SECOND
    found = guarded.work_on(
        path,
        "indexer.footage.cutting_window:measure",
        {"start_ms": start_ms, "end_ms": end_ms, "own_clock": own_clock},
        seconds=seconds,
        memory_mb=settings.probe_memory_mb,
    )
    return Piece.of(path, probe, begins_ms, found, own_clock=own_clock)
