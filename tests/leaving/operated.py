"""The one operation that the tests of leaving know: who is named in it, and what is said."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from indexer.catalogue.library import Library
from indexer.config import Settings

NAME, NUMBER = "Ysolde Underfell", "MRN 40718823"
SAID = (
    ("We place the main incision now.", 0),
    ("This is Ysolde Underfell, an old friend.", 1500),
    ("The wound is tight.", 2600),
)
LENGTH_MS = 3000
RATE = 25


class Operated(NamedTuple):
    """A library, its one case, and the recording with its original file."""

    library: Library
    case_id: str
    recording_id: str
    original: Path
    settings: Settings
