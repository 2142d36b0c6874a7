"""A whole card or drive: which files are parts of one recording, which transcripts go with them, which cases they make.

Nothing is opened here. A recorder that writes one operation into several files starts a new one whenever the running
one reaches a fixed size, counts up a number in the name, and goes on without a pause. That is what is looked for: full
files of one size, numbers in a row, and a next file that is finished no later than its size explains (common practice,
no source). A transcript with the name that numbered files share, or names that say "part", say it as well.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

from indexer.errors import BadInput
from indexer.intake.pairing import SEPARATORS, common_start, transcript_for
from indexer.transcripts.reading import SUFFIXES

FILMS = frozenset(
    f".{suffix}"
    for suffix in (
        *("mp4", "m4v", "mov", "qt", "mkv", "webm", "avi", "ts", "mts", "m2ts", "m2t", "mpg", "mpeg", "mpe", "vob"),
        *("wmv", "asf", "flv", "mxf", "3gp", "dv", "ogv"),
    )
)
MOST_FILES = 20_000
ALIKE = 0.01
"""Files of one size differ by no more than this share of it."""
SMALLEST_FULL_BYTES = 64 * 2**20
"""No recorder splits below this (common practice, no source); smaller files of one size are so by chance."""
LIMITS_BYTES = tuple(size * unit for size in (1, 2, 3.9, 4, 8) for unit in (10**9, 2**30))
"""Where recorders split by themselves: file systems and their makers' round numbers."""
NEAR_LIMIT = 0.03
SLOWEST_BYTES_A_SECOND = 60_000
PAUSE_S = 60.0
SLACK = 1.5
SYSTEM = frozenset({"$recycle.bin", "system volume information", "lost+found", "__macosx"})


class Found(NamedTuple):
    """A file on the card."""

    path: Path
    size: int
    changed_s: float


class Proposal(NamedTuple):
    """Files that seem to be one recording, in order, and the transcript that seems to go with them."""

    parts: tuple[Found, ...]
    transcript: Path | None

    @property
    def recordings(self) -> tuple[Path, ...]:
        """The part files."""
        return tuple(part.path for part in self.parts)

    @property
    def size(self) -> int:
        """Bytes of all parts."""
        return sum(part.size for part in self.parts)


class Card(NamedTuple):
    """What lies in a folder."""

    proposals: tuple[Proposal, ...]
    lone_transcripts: tuple[Path, ...]
    """Transcripts that go with no film: captions and narrations alone, `.txt` and `.json` of other things not told."""


def look_through(folder: Path, *, but: Iterable[Path] = (), apart: bool = False) -> Card:
    """Propose cases for all films below `folder`, `but` the folders named; `apart`: one for each file.

    Raises BadInput where the folder holds no film, cannot be read, or holds more than a card can.
    """
    films, transcripts = _gather(folder, [path.resolve() for path in but])
    if not films:
        raise BadInput(f"{folder}: there is no film in it. Name the folder that the recorder wrote into.")
    proposals: list[Proposal] = []
    taken: set[Path] = set()
    for place in sorted({film.path.parent for film in films}):
        here = sorted((film for film in films if film.path.parent == place), key=lambda film: natural(film.path.name))
        beside = [path for path in transcripts if path.parent == place]
        for parts in [[film] for film in here] if apart else _recordings(here, beside):
            transcript = transcript_for([part.path for part in parts], beside)
            proposals.append(Proposal(tuple(parts), transcript))
            taken.update([transcript] if transcript else [])
    told = (".vtt", ".srt", ".sbv")
    lone = [path for path in transcripts if path not in taken and path.suffix.lower() in told]
    return Card(tuple(proposals), tuple(lone))


def _gather(folder: Path, but: Sequence[Path]) -> tuple[list[Found], list[Path]]:
    films, transcripts = [], []
    for path in _files(folder, but):
        suffix = path.suffix.lower()
        if suffix in FILMS:
            status = path.stat()
            films.append(Found(path, status.st_size, status.st_mtime))
        elif suffix in SUFFIXES:
            transcripts.append(path)
        if len(films) > MOST_FILES:
            raise BadInput(f"{folder}: it holds more than {MOST_FILES} films. Name the folders in it one by one.")
    return films, sorted(transcripts)


def _files(folder: Path, but: Sequence[Path]) -> Iterator[Path]:
    """Regular files below a folder; what is hidden, of the system or linked from elsewhere is passed over."""

    def told(error: OSError) -> None:
        if error.filename == str(folder):
            raise BadInput(f"{folder}: it cannot be read ({error.strerror}).") from error

    for place, folders, names in os.walk(folder, onerror=told):
        folders[:] = [
            name
            for name in folders
            if not name.startswith(".") and name.lower() not in SYSTEM and (Path(place) / name).resolve() not in but
        ]
        for name in names:
            path = Path(place) / name
            if not name.startswith(".") and path.is_file() and not path.is_symlink():
                yield path


def natural(name: str) -> list[tuple[int, int, str]]:
    """A key that sorts `clip 9` before `clip 10`."""
    return [(0, int(piece), "") if piece.isdigit() else (1, 0, piece) for piece in _pieces(name.casefold())]


def _pieces(name: str) -> list[str]:
    return [piece for piece in re.split(r"([0-9]+)", name) if piece]


def _recordings(films: Sequence[Found], transcripts: Sequence[Path]) -> Iterator[list[Found]]:
    """The films of one folder as recordings, each with its parts in order."""
    names = {path.stem.casefold() for path in transcripts}
    left = list(films)
    while left:
        row = [left.pop(0)]
        while following := next((film for film in left if follows(row[-1].path, film.path)), None):
            row.append(following)
            left.remove(following)
        yield from _split(row, names)


def follows(earlier: Path, later: Path) -> bool:
    """Whether two names differ in a single number, which is the next one in the later."""
    mine, its = _pieces(earlier.name.casefold()), _pieces(later.name.casefold())
    if len(mine) != len(its):
        return False
    other = [(a, b) for a, b in zip(mine, its, strict=True) if a != b]
    if len(other) != 1 or not (other[0][0].isdigit() and other[0][1].isdigit()):
        return False
    return int(other[0][1]) == int(other[0][0]) + 1


def _split(row: Sequence[Found], transcripts: set[str]) -> Iterator[list[Found]]:
    """A row of files with running numbers, cut where one recording ends and the next begins."""
    if len(row) > 1 and _said_to_be_one(row, transcripts):
        yield list(row)
        return
    part = [row[0]]
    for earlier, later in pairwise(row):
        if later.path.stem.casefold() not in transcripts and _goes_on(part, earlier, later, row):
            part.append(later)
            continue
        yield part
        part = [later]
    yield part


def _said_to_be_one(row: Sequence[Found], transcripts: set[str]) -> bool:
    """Whether the names say it: `... part 1`, or one transcript with the name that all share."""
    stems = [film.path.stem.casefold() for film in row]
    shared = common_start(stems).rstrip("0123456789")
    bare = shared.rstrip(SEPARATORS)
    first = int(re.match(r"[0-9]*", stems[0][len(shared) :])[0] or 2)  # type: ignore[index]
    if first > 1:
        return False
    return bool(re.search(r"(?:^|[\W_])(?:part|pt)$", bare)) or (bare in transcripts and not set(stems) & transcripts)


def _goes_on(part: Sequence[Found], earlier: Found, later: Found, row: Sequence[Found]) -> bool:
    """Whether `later` was written right after `earlier` was full."""
    full = part[0].size
    if earlier.size < SMALLEST_FULL_BYTES or abs(earlier.size - full) > ALIKE * full or later.size > full * (1 + ALIKE):
        return False
    others = [film for film in row if film is not earlier and abs(film.size - earlier.size) <= ALIKE * earlier.size]
    limit = any(0 <= bound - earlier.size <= NEAR_LIMIT * bound for bound in LIMITS_BYTES)
    return bool(others or limit) and _without_a_pause(part, earlier, later)


def _without_a_pause(part: Sequence[Found], earlier: Found, later: Found) -> bool:
    """Whether the time between both files' last changes is no longer than writing the later one takes."""
    took_s = later.changed_s - earlier.changed_s
    if took_s < 0:
        return True  # copied in another order: their times say nothing
    rates = [b.size / (b.changed_s - a.changed_s) for a, b in pairwise(part) if b.changed_s > a.changed_s]
    slowest = min(rates) if rates else SLOWEST_BYTES_A_SECOND
    return took_s <= SLACK * later.size / slowest + PAUSE_S
