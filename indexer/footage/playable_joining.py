"""Chunks joined to one film without encoding again, with the sound of all parts; runs in a guarded process."""

from __future__ import annotations

import errno
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import av
from av.packet import Packet

from indexer.footage import sounding
from indexer.footage.clock import open_film
from indexer.footage.cutting_window import film_of
from indexer.footage.graph_pictures import TICKS_A_SECOND
from indexer.footage.guarded import Refused
from indexer.footage.muxing import decoding_times, write_film
from indexer.footage.sounding import RATE, Samples

_OF_THE_DISK = {errno.ENOSPC, errno.EFBIG, errno.EDQUOT, errno.EIO, errno.EROFS}


def join(
    path: Path, target: str, chunks: Sequence[tuple[str, int]], sound: Sequence[tuple[str, str, int]], last: int
) -> dict[str, Any]:
    """Write the chunks in the folder `path` to `target`, one after the other; frames it has, or why not (`failed`).

    `chunks` are names and ticks at which each begins; `last` is how many ticks the last frame is shown. `sound` are the
    parts' files, when their pictures begin (seconds of their clock, a fraction) and how many samples each is long;
    empty for a film without sound. Files are opened one after another.
    """
    try:
        shown, record = _shown(path, chunks)
        with open_film(path / chunks[0][0]) as first:
            like = film_of(first)
            heard = _heard(sound) if sound else None
            pictures = _pictures(path, chunks, shown, last)
            write_film(Path(target), pictures, like, time_base=Fraction(1, TICKS_A_SECOND), record=record, sound=heard)
    except av.FFmpegError as error:
        if error.errno not in _OF_THE_DISK:
            raise Refused(f"what was made of it cannot be joined ({error.strerror}).") from error
        return {"frames": 0, "failed": error.strerror}
    return {"frames": len(shown)}


def _shown(folder: Path, chunks: Sequence[tuple[str, int]]) -> tuple[list[int], bytes]:
    """When each picture is shown, in order of decoding, and the parameter sets, which all chunks have to share."""
    shown: list[int] = []
    records = set()
    for name, starts in chunks:
        with open_film(folder / name) as film:
            stream = film_of(film)
            records.add(bytes(stream.codec_context.extradata or b""))
            shown += [starts + (packet.pts or 0) for packet in film.demux(stream) if packet.size]
    if not shown:
        raise Refused("none of its pictures can be decoded.")
    if len(records) > 1:
        raise Refused("its parts were encoded differently by two versions of the encoder. Add it again.")
    return shown, records.pop()


def _pictures(
    folder: Path, chunks: Sequence[tuple[str, int]], shown: Sequence[int], last: int
) -> Iterator[Packet[Any]]:
    in_order, decoded = sorted(shown), iter(decoding_times(shown))
    lengths = {at: following - at for at, following in pairwise(in_order)}
    for name, starts in chunks:
        with open_film(folder / name) as film:
            for packet in film.demux(film_of(film)):
                if not packet.size:
                    continue
                made: Packet[Any] = Packet(bytes(packet))
                made.pts, made.dts, made.is_keyframe = starts + (packet.pts or 0), next(decoded), packet.is_keyframe
                made.duration = lengths.get(made.pts, last)
                yield made


def _heard(sound: Sequence[tuple[str, str, int]]) -> Iterator[Samples]:
    for path, start, length in sound:
        try:
            with open_film(Path(path)) as part:
                yield from sounding.stretch(part, Fraction(start), length, rate=RATE)
        except av.FFmpegError as error:
            raise Refused(f"the sound of {path} cannot be read ({error.strerror}).") from error
