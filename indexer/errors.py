"""Everything that can go wrong and is told to a person, in one tree.

ScrubmarkError
├── BadInput                 what was handed in cannot be used
│   ├── TranscriptUnreadable   (path, line, expected)
│   ├── RecordingUnreadable    (path, reason)
│   ├── VocabularyFaulty       (path, faults: every fault of every file at once)
│   └── QueryUnreadable        (query, reason)
├── NotFound                 nothing has that name (or the Viewer may not know of it)
├── NotAllowed               a consent or a role does not cover what was asked
├── Conflict                 somebody decided something else in the meantime
├── LibraryUnusable          (folder, reason)
│   └── LibraryBusy            another intake holds the lease
└── ToolFailed               a program that we rely on (ffmpeg) failed or took too long

Each error carries its data and builds its sentence in `__str__`: what happened, and what to do. The console and the
site catch `ScrubmarkError` at one place each.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path


class ScrubmarkError(Exception):
    """Something that a person can understand and act on."""


class BadInput(ScrubmarkError):
    """What was handed in cannot be used."""


class TranscriptUnreadable(BadInput):
    """A transcript is not of the form that its reader expects."""

    def __init__(self, path: Path | str, line: int | None, expected: str) -> None:
        super().__init__(path, line, expected)
        self.path, self.line, self.expected = path, line, expected

    def __str__(self) -> str:
        place = f"{self.path}, line {self.line}" if self.line else str(self.path)
        return f"{place}: {self.expected}"


class RecordingUnreadable(BadInput):
    """A file is no recording that can be used."""

    def __init__(self, path: Path | str, reason: str) -> None:
        super().__init__(path, reason)
        self.path, self.reason = path, reason

    def __str__(self) -> str:
        return f"{self.path}: {self.reason}"


class VocabularyFaulty(BadInput):
    """A vocabulary has faults; all of them are listed, each with its place."""

    def __init__(self, path: Path | str, faults: Sequence[str]) -> None:
        super().__init__(path, faults)
        self.path, self.faults = path, tuple(faults)

    def __str__(self) -> str:
        many = f"{len(self.faults)} faults" if len(self.faults) != 1 else "1 fault"
        return f"{self.path}: {many} in the vocabulary:\n" + "\n".join(f"  {fault}" for fault in self.faults)


class QueryUnreadable(BadInput):
    """A query cannot be asked."""

    def __init__(self, query: str, reason: str) -> None:
        super().__init__(query, reason)
        self.query, self.reason = query, reason

    def __str__(self) -> str:
        return self.reason


class NotFound(ScrubmarkError):
    """Nothing has that name, or the Viewer may not know of it: the two look alike on purpose."""

    def __init__(self, what: str) -> None:
        super().__init__(what)
        self.what = what

    def __str__(self) -> str:
        return f"There is no {self.what} here."


class NotAllowed(ScrubmarkError):
    """A consent or a role does not cover what was asked."""

    def __init__(self, what: str, reason: str) -> None:
        super().__init__(what, reason)
        self.what, self.reason = what, reason

    def __str__(self) -> str:
        return f"{self.what}: {self.reason}"


class Conflict(ScrubmarkError):
    """Somebody decided something else in the meantime; nothing was changed."""

    def __init__(self, what: str, theirs: str) -> None:
        super().__init__(what, theirs)
        self.what, self.theirs = what, theirs

    def __str__(self) -> str:
        return f"{self.what} was changed in the meantime ({self.theirs}). Nothing was overwritten; look again."


class LibraryUnusable(ScrubmarkError):
    """The library's folder cannot be used as it is."""

    def __init__(self, folder: Path | str, reason: str) -> None:
        super().__init__(folder, reason)
        self.folder, self.reason = folder, reason

    def __str__(self) -> str:
        return f"The library at {self.folder} cannot be used: {self.reason}"


class LibraryBusy(LibraryUnusable):
    """Another intake is at work in this library."""


class ToolFailed(ScrubmarkError):
    """A program that we rely on failed, or took longer than it was given."""

    def __init__(self, tool: str, reason: str) -> None:
        super().__init__(tool, reason)
        self.tool, self.reason = tool, reason

    def __str__(self) -> str:
        return f"{self.tool} failed: {self.reason}"
