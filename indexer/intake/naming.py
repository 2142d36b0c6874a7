"""The title of a case for which nobody gave one."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from indexer.intake.pairing import shared_stem

SPOKEN = re.compile(r"[^\W\d_]{3,}")
CAMERA = re.compile(r"[a-z]{0,5}[\W_]*[0-9][0-9\W_]*", re.IGNORECASE)
"""What recorders call their files: some letters, then numbers."""


def title_for(recordings: Sequence[Path]) -> str:
    """The name of the recording in words; where a recorder named it, when it was recorded, by the file's date."""
    stem = shared_stem(recordings)
    if SPOKEN.search(stem) and not CAMERA.fullmatch(stem):
        return " ".join(re.sub(r"[_\s]+", " ", stem).split())[:300]
    try:
        changed = datetime.fromtimestamp(recordings[0].stat().st_mtime)
    except (OSError, OverflowError, ValueError):
        return stem or "Recording"
    return f"Recording of {changed.day} {changed:%B %Y, %H:%M}"
