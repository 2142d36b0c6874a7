"""Stills at even distances, written while the film goes by: no seeking, and only one frame is held."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from av.video.frame import VideoFrame

WINDOW_MS = 800
"""How far behind the asked time a better frame is looked for."""


class EvenStills:
    """Fed with looks in the order of their times; hands on the best frame of the window of each asked time."""

    def __init__(self, asked_ms: Sequence[int], write: Callable[[int, VideoFrame], None]) -> None:
        self.made: list[int] = []
        self._asked, self._write = sorted(asked_ms, reverse=True), write
        self._best: tuple[float, VideoFrame] | None = None
        self._last: tuple[float, VideoFrame] | None = None

    def take(self, at_ms: int, frame: VideoFrame, worth: float) -> None:
        """One look at a frame and what it is worth as a still."""
        while self._asked and at_ms > self._asked[-1] + WINDOW_MS:
            if self._best is None:
                # Nothing was seen within the window: what comes next has to do.
                self._best = (worth, frame)
            self._finish()
        if self._asked and at_ms >= self._asked[-1] and (self._best is None or worth > self._best[0]):
            self._best = (worth, frame)
        self._last = (worth, frame)

    def end(self) -> None:
        """No frame comes any more: what is open gets what there is, what was asked for behind the end the last look."""
        while self._asked and (self._best or self._last):
            self._best = self._best or self._last
            self._finish()

    def _finish(self) -> None:
        asked = self._asked.pop()
        assert self._best is not None
        self._write(asked, self._best[1])
        self.made.append(asked)
        self._best = None
