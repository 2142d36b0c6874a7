"""Which transcript belongs to which recording, by their names."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from itertools import takewhile
from pathlib import Path

from indexer.transcripts.reading import SUFFIXES

LANGUAGE = re.compile(r"[._ -][a-z]{2,3}(?:-[A-Za-z]{2,4})?", re.IGNORECASE)
SEPARATORS = " ._-([#"


def transcript_beside(recordings: Sequence[Path]) -> Path | None:
    """The transcript in the folder of a recording that bears its name, or the name that its parts share."""
    folder = recordings[0].parent
    try:
        there = sorted(path for path in folder.iterdir() if path.suffix.lower() in SUFFIXES and path.is_file())
    except OSError:
        return None
    return transcript_for(recordings, there)


def transcript_for(recordings: Sequence[Path], transcripts: Iterable[Path]) -> Path | None:
    """The best of some transcripts for the parts of one recording, or None.

    A name equal to the whole recording's goes before one with a language behind it; of several forms, that which says
    most of times goes first, in the order of `SUFFIXES`.
    """
    stems = [stem.casefold() for stem in (shared_stem(recordings), recordings[0].stem) if stem]
    found = []
    for path in transcripts:
        name = path.stem.casefold()
        for rank, stem in enumerate(stems):
            if name == stem or name == recordings[0].name.casefold():
                found.append((2 * rank, SUFFIXES.index(path.suffix.lower()), str(path)))
            elif name.startswith(stem) and LANGUAGE.fullmatch(name[len(stem) :]):
                found.append((2 * rank + 1, SUFFIXES.index(path.suffix.lower()), str(path)))
    return Path(min(found)[2]) if found else None


def shared_stem(recordings: Sequence[Path]) -> str:
    """The name that the parts of a recording share: `rhexis` of `rhexis_001.mp4` and `rhexis_002.mp4`."""
    if len(recordings) == 1:
        return recordings[0].stem
    shared = common_start([path.stem for path in recordings])
    bare = shared.rstrip("0123456789").rstrip(SEPARATORS)
    return re.sub(r"(?:part|pt)$", "", bare, flags=re.IGNORECASE).rstrip(SEPARATORS)


def common_start(names: Sequence[str]) -> str:
    """The letters with which all names begin."""
    same = takewhile(lambda letters: len(set(letters)) == 1, zip(*names, strict=False))
    return "".join(letters[0] for letters in same)
