"""One MP4 of pictures from several encoders and sound from several files: times of decoding anew, index in front."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
from av.packet import Packet
from av.video.stream import VideoStream

from indexer.footage.sounding import RATE, Samples, encoded


def decoding_times(shown: Sequence[int]) -> list[int]:
    """Times of decoding for packets in their order, by when each is `shown`: rising, and never later than shown.

    The n-th packet is decoded when the n-th picture is shown, all of them earlier by what the most delayed one needs.
    """
    in_order = sorted(shown)
    delay = max((at - mine for at, mine in zip(in_order, shown, strict=True)), default=0)
    return [at - delay for at in in_order]


def write_film(
    target: Path,
    pictures: Iterable[Packet[VideoStream]],
    like: VideoStream,
    *,
    time_base: Fraction,
    record: bytes | None = None,
    sound: Iterable[Samples] | None = None,
) -> None:
    """Write H.264 `pictures`, with their times in `time_base`, and `sound` from time zero on as AAC.

    `like` is a stream with their size and parameter sets; `record` replaces the sets. No metadata is written.
    Raises av.FFmpegError.
    """
    with av.open(str(target), "w", format="mp4", options={"movflags": "+faststart", "fflags": "+bitexact"}) as film:
        stream = film.add_stream_from_template(like, time_base=time_base)
        stream.metadata.clear()
        if record is not None:
            stream.codec_context.extradata = record
        heard: Iterator[Packet[Any]] = iter(())
        if sound is not None:
            track = film.add_stream("aac", rate=RATE, layout="stereo", bit_rate=128_000)
            heard = encoded(sound, track.codec_context)
        waiting = next(heard, None)
        for packet in pictures:
            packet.time_base, packet.stream = time_base, stream
            at = (packet.dts or 0) * time_base
            while waiting is not None and Fraction(waiting.pts or 0, RATE) <= at:
                waiting.stream = track
                film.mux(waiting)
                waiting = next(heard, None)
            film.mux(packet)
        while waiting is not None:
            waiting.stream = track
            film.mux(waiting)
            waiting = next(heard, None)
