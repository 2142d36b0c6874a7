"""What a recording is, read from the file itself and never believed from its name or its head."""

from __future__ import annotations

import stat
from pathlib import Path

from indexer.config import Settings
from indexer.errors import RecordingUnreadable
from indexer.footage.guarded import work_on
from indexer.models.footage import Probe

_SLOWEST_BYTES_A_SECOND = 4_000_000
"""A slow drive or network share; a large file is given the time that reading it there takes."""


def probe(path: Path, settings: Settings) -> Probe:
    """Look at one foreign file in a guarded process: bounded in time and memory.

    Raises RecordingUnreadable with one clear reason where it is no film that can be used.
    """
    size = _size_of_file(path)
    seconds = settings.probe_seconds + size / _SLOWEST_BYTES_A_SECOND
    found = work_on(path, "indexer.footage.looking:look", {}, seconds=seconds, memory_mb=settings.probe_memory_mb)
    return Probe(**found)


def ends_early(length_ms: int, claimed_ms: int) -> bool:
    """Whether a film is so much shorter than its head says that part of it is missing."""
    return length_ms < claimed_ms - max(1000, claimed_ms // 50)


def _size_of_file(path: Path) -> int:
    """Bytes of a regular file that is not empty; a pipe or a device would be waited on for ever."""
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise RecordingUnreadable(path, "it is a folder, not a file.")
        if not stat.S_ISREG(status.st_mode):
            raise RecordingUnreadable(path, "it is not a file that can be read from start to end.")
        with path.open("rb"):
            pass
    except FileNotFoundError:
        raise RecordingUnreadable(path, "there is no such file.") from None
    except (OSError, ValueError) as error:
        raise RecordingUnreadable(path, f"it cannot be opened ({error}).") from error
    if status.st_size == 0:
        raise RecordingUnreadable(path, "it is empty (0 bytes). Copy it again from the recorder.")
    return status.st_size
