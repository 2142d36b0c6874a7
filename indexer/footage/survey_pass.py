"""The one pass over every frame of a film, inside the guarded process: frames come and go, numbers stay."""

from __future__ import annotations

import time
from array import array
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import av
import numpy
from av.container import InputContainer
from av.video.frame import VideoFrame
from av.video.stream import VideoStream

from indexer.footage import guarded, picking
from indexer.footage.clock import film_stream, open_film
from indexer.footage.guarded import Refused
from indexer.footage.survey_changes import Changes
from indexer.footage.survey_dissolves import LOOKS_A_SECOND, Dissolves
from indexer.footage.survey_even import EvenStills
from indexer.footage.survey_eye import Round, round_edge
from indexer.footage.survey_overlays import Overlays
from indexer.footage.survey_reading import Looks, read_numbers
from indexer.footage.survey_small import Grey, Shrinker, sharpness
from indexer.footage.survey_sprite import Sprite
from indexer.footage.survey_titles import is_card, stands

_SHARPNESS_A_SECOND = 6.0
_EYE_A_SECOND = 1.0
_TELL_S = 1.0


def survey(
    path: Path, folder: str, length_ms: int, joins_ms: Sequence[int], stills_ms: Sequence[int]
) -> dict[str, Any]:
    """Look at every frame; write sprite, numbers and stills into `folder`; return the fields of a Survey.

    `length_ms` is how long the film is said to be, `joins_ms` where its parts meet. Raises Refused.
    """
    try:
        with open_film(path) as container:
            stream = film_stream(container)
            if stream is None:
                raise Refused("there is no moving picture in it.")
            stream.thread_type = "AUTO"
            watching = _Watching(stream, Path(folder), length_ms, stills_ms)
            for frame in _frames(container, stream):
                watching.take(frame)
    except av.FFmpegError as error:
        raise Refused(f"its pictures cannot be read ({error}).") from error
    if not watching.times_ms:
        raise Refused("none of its pictures can be decoded.")
    return watching.end(joins_ms)


def _frames(container: InputContainer, stream: VideoStream) -> Iterator[VideoFrame]:
    """Every frame that can be decoded; what cannot is left out."""
    for packet in container.demux(stream):
        try:
            yield from packet.decode()
        except av.FFmpegError:
            continue


class _Watching:
    """All that is gathered while frames go by; each kind of look has its own pace."""

    def __init__(self, stream: VideoStream, folder: Path, length_ms: int, stills_ms: Sequence[int]) -> None:
        rate = float(stream.guessed_rate or stream.average_rate or 25)
        rate = rate if 1 <= rate <= 240 else 25.0
        self.frame_ms = 1000 / rate
        self.stream, self.folder, self.length_ms = stream, folder, max(1, length_ms)
        self.times_ms = array("d")
        self.looks = Looks()
        self.changes, self.dissolves, self.overlays = Changes(), Dissolves(), Overlays()
        self.sprite = Sprite(length_ms)
        self.even = EvenStills(stills_ms, self._write_still)
        self.round: list[Round] = []
        self.shrinker = Shrinker()
        self._dissolve_each = max(1, round(rate / LOOKS_A_SECOND))
        self._look_each = max(1, round(rate / _SHARPNESS_A_SECOND))
        self._next_eye_ms = 0.0
        self._looked: Grey | None = None
        self._told = time.monotonic()

    def take(self, frame: VideoFrame) -> None:
        """One frame, in the order of showing."""
        number = len(self.times_ms)
        at_ms = self._time(frame)
        luma = self.shrinker.luma(frame)
        small = self.shrinker.small(frame, luma)
        self.times_ms.append(at_ms)
        self.changes.take(small)
        if number % self._dissolve_each == 0:
            self.dissolves.take(number, small)
        if number % self._look_each == 0:
            self._look(number, at_ms, frame, luma, small)

    def _look(self, number: int, at_ms: float, frame: VideoFrame, luma: Any, small: Any) -> None:
        crisp = sharpness(luma, frame.format.name)
        mean = self.changes.mean[-1]
        card = self._looked is not None and is_card(small) and stands(self._looked, small)
        self._looked = small
        self.looks.add(number, at_ms, crisp, mean, card)
        self.even.take(round(at_ms), frame, worth(crisp, mean, self.changes.by_one[-1]))
        shown_ms = round(at_ms)
        eye_due = at_ms >= self._next_eye_ms
        if not (eye_due or self.sprite.due(shown_ms)):
            return
        colour = self.shrinker.colour(frame)
        self.sprite.take(shown_ms, colour)
        if eye_due:
            self._next_eye_ms = at_ms + 1000 / _EYE_A_SECOND
            self.overlays.take(small)
            if edge := round_edge(shown_ms, colour):
                self.round.append(edge)
        if time.monotonic() - self._told > _TELL_S:
            self._told = time.monotonic()
            guarded.tell(min(1.0, at_ms / self.length_ms))

    def _time(self, frame: VideoFrame) -> float:
        tick = frame.pts if frame.pts is not None else frame.dts
        if tick is None or frame.time_base is None:
            return self.times_ms[-1] + self.frame_ms if self.times_ms else 0.0
        return float(tick * frame.time_base * 1000)

    def _write_still(self, asked_ms: int, frame: VideoFrame) -> None:
        stills = self.folder / "stills"
        stills.mkdir(parents=True, exist_ok=True)
        picking.write(stills / f"{asked_ms}.jpg", picking.picture(frame, self.stream, picking.STILL_WIDTH))

    def end(self, joins_ms: Sequence[int]) -> dict[str, Any]:
        """What all of it says."""
        self.changes.end()
        self.even.end()
        self.folder.mkdir(parents=True, exist_ok=True)
        self.sprite.write(self.folder)
        times = numpy.frombuffer(self.times_ms, numpy.float64)
        found = read_numbers(
            times,
            self.frame_ms,
            self.changes,
            self.dissolves.found,
            self.looks,
            self.round,
            self.overlays.boxes(),
            joins_ms,
        )
        return {"survey": found.model_dump(mode="json"), "looks": self.looks.rows(), "stills": self.even.made}


def worth(crisp: float, mean: float, change: float) -> float:
    """How good a still a frame makes: sharp, not black, and not in the middle of a movement."""
    if mean < picking.BLACK:
        return mean / picking.BLACK - 1
    return crisp / (1 + change / 4)
