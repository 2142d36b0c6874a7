"""What an intake tells while it runs, and what it says of each recording in the end."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal, NamedTuple

from indexer.models.frozen import Frozen


class Headway(NamedTuple):
    """How far one intake is."""

    job_id: str
    title: str
    doing: str
    """What goes on, for a person: `making a playable copy`."""
    share: float
    """Of this recording's whole way, 0 to 1."""


Tell = Callable[[Headway], None]


def tell_nobody(_headway: Headway) -> None:
    """For those who do not watch."""


class Outcome(Frozen):
    """What became of one recording."""

    how: Literal["added", "worded", "known", "refused", "waiting", "stopped"]
    """`worded`: the recording was known and had no words, now it has. `waiting`: its drive is away; it goes on once the
    drive is there. `stopped`: this machine could not go on (no space left); the next start does."""
    title: str
    case_id: str | None = None
    recording_id: str | None = None
    reason: str = ""
    remarks: tuple[str, ...] = ()
    """What a person should know of what was added."""
    transcript_fault: str = ""
    """Why the transcript that was named or found could not be used; the recording was added without it."""
    length_ms: int = 0
    steps: int = 0
    terms: int = 0

    @property
    def failed(self) -> bool:
        """Whether something that was asked for is not there now."""
        return self.how in ("refused", "waiting", "stopped") or bool(self.transcript_fault)
