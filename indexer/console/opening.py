"""Settings and library for a command."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.vocabulary.loading import load_vocabulary


def settings(library: Path | None, ffmpeg: str | None, **more: Any) -> Settings:
    """The settings, those that are None left as they are by default."""
    given = {"library": library, "ffmpeg": ffmpeg, **more}
    return Settings(**{name: value for name, value in given.items() if value is not None})


@contextmanager
def opened(chosen: Settings) -> Iterator[Library]:
    """The library of the settings, with every field of the vocabulary that ships. Raises LibraryUnusable.

    Whatever is written meanwhile, by programs that are called too, is for its owner's eyes alone.
    """
    before = os.umask(0o077)
    try:
        with Library.open(chosen.library, vocabulary=load_vocabulary()) as library:
            yield library
    finally:
        os.umask(before)
