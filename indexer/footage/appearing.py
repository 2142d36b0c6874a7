"""Files that appear under their name only when they are whole."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path


@contextlib.contextmanager
def appearing(target: Path) -> Iterator[Path]:
    """A path beside `target` to write to; renamed to it when the block ends well, taken away when it does not.

    What an earlier attempt left when it was killed is swept up first.
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    sweep(target)
    handle, name = tempfile.mkstemp(prefix=f".{target.stem}-", suffix=f".unfinished{target.suffix}", dir=target.parent)
    os.close(handle)
    unfinished = Path(name)
    try:
        yield unfinished
        unfinished.replace(target)
    finally:
        unfinished.unlink(missing_ok=True)


def sweep(target: Path) -> None:
    """Take away what an earlier attempt at `target` left when it was killed."""
    for left in target.parent.iterdir():
        if left.name.startswith(f".{target.stem}-") and left.name.endswith(f".unfinished{target.suffix}"):
            with contextlib.suppress(OSError):
                left.unlink()
