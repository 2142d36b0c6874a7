"""Files that appear under their name only when they are whole."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

from indexer.errors import RecordingUnreadable

UNFINISHED = ".unfinished"
BLOCK = 1 << 22


def write_whole(path: Path, data: bytes) -> None:
    """Write `data` beside and rename it, so that a reader sees all of it or nothing."""
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(path.name + UNFINISHED)
    beside.write_bytes(data)
    beside.replace(path)


def copy_whole(source: Path, target: Path, content_hash: str) -> None:
    """Copy an original and compare what was written with what was looked at.

    A copy that is there already and as long as its original is left as it is. Raises RecordingUnreadable where the
    file changed in the meantime.
    """
    if target.is_file() and target.stat().st_size == source.stat().st_size:
        return
    target.parent.mkdir(parents=True, exist_ok=True)
    beside = target.with_name(target.name + UNFINISHED)
    digest = hashlib.sha256()
    with source.open("rb") as original, beside.open("wb") as copy:
        while block := original.read(BLOCK):
            digest.update(block)
            copy.write(block)
        copy.flush()
        os.fsync(copy.fileno())
    if digest.hexdigest() != content_hash:
        beside.unlink()
        raise RecordingUnreadable(source, "it changed while it was copied. Add it again when nothing writes to it.")
    beside.replace(target)


def sweep_unfinished(folder: Path) -> None:
    """Take away what a killed intake was writing in a folder."""
    for left in folder.rglob(f"*{UNFINISHED}*"):
        left.unlink(missing_ok=True)
