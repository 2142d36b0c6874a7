"""A step log read: a table with a line for each change of step, as people kept them long before there was a library."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

from indexer.errors import BadInput
from indexer.models.frozen import Frozen
from indexer.models.timing import LoggedOperation, Stay, StepLogRow
from indexer.timespan import parse_clock
from indexer.vocabulary.asking import read_query
from indexer.vocabulary.vocabulary import Vocabulary
from indexer.vocabulary.words import normalise

LARGEST_BYTES = 50_000_000
SEPARATORS = ";\t,"
END = "end"
"""What stands in the column of steps on the line that says when the last step ended."""
GUESSED = frozenset({"sound", "asked"})
"""Readings that are not taken here: a table is written with care. Short forms are, since a step is what is meant."""


class LogColumns(Frozen):
    """Which columns hold what, by their headings; case and space do not matter."""

    step: str = "step"
    time: str | None = None
    """Times as people write them (7:05, 425.2); without it and without `frame`, a column of that name is looked for."""
    frame: str | None = None
    """Numbers of frames, counted from 0."""
    rate: str | None = None
    """Frames a second, as `25`, `29.97` or `30000/1001`."""
    operation: str | None = None
    """Tells which operation a line belongs to; without it the file is one operation."""
    date: str | None = None
    """Day of the operation, as 2026-03-31."""
    ends: str | None = None
    """Time or frame at which the operation was over; for a file that is one operation."""


class StepLog(Frozen):
    """What a file tells."""

    operations: tuple[LoggedOperation, ...]
    left_out: tuple[StepLogRow, ...]
    unmapped: tuple[tuple[str, int], ...]
    """Names that no step of the vocabulary answers to, with how many lines have them; their time is under no step."""
    read_as: tuple[tuple[str, str], ...]
    """Names and the steps that the vocabulary read in them."""
    without_end: tuple[str, ...]
    """Operations that do not say when their last step ended; it is left out."""


class _Change(NamedTuple):
    line: int
    at_ms: int
    name: str


def read_log(path: Path, columns: LogColumns, names: Mapping[str, str], vocabulary: Vocabulary) -> StepLog:
    """Read a file. `names` maps names of steps to ids, an empty id to no step. Raises BadInput for what is no log."""
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise BadInput(f"{path}: this is too large for a step log. Name a CSV file with a line for each change.")
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise BadInput(f"{path}: it cannot be read ({error.strerror}).") from error
    except UnicodeDecodeError as error:
        raise BadInput(f"{path}: it is no text in UTF-8. Save the table as CSV in UTF-8.") from error
    return parse_log(text, path.name, path.stem, columns, names, vocabulary)


def parse_log(
    text: str, file: str, stem: str, columns: LogColumns, names: Mapping[str, str], vocabulary: Vocabulary
) -> StepLog:
    """The same of a text that was read already; `stem` names the operation where no column does."""
    rows = _Rows(text, file, columns)
    read_as: dict[str, str] = {}
    step_of = _namer(names, vocabulary, read_as)
    changes: dict[str, list[_Change]] = {}
    torn: dict[str, set[int]] = {}
    days: dict[str, date] = {}
    left_out: list[StepLogRow] = []
    for line, row in rows:
        try:
            operation = rows.operation(row) or stem
        except ValueError as error:
            left_out.append(StepLogRow(line, str(error)))
            continue
        mine = changes.setdefault(operation, [])
        try:
            change = rows.change(line, row, mine[-1] if mine else None)
            day = rows.day(row)
        except ValueError as error:
            left_out.append(StepLogRow(line, str(error)))
            # When the step before this line ended is not known now.
            torn.setdefault(operation, set()).add(len(mine) - 1)
            continue
        mine.append(change)
        if day is not None:
            days[operation] = day
    ends_ms = rows.end_ms()
    unmapped: dict[str, int] = {}
    operations, without_end = [], []
    for operation, mine in changes.items():
        stays, open_end = _stays(mine, torn.get(operation, set()), ends_ms, step_of, unmapped)
        if open_end:
            without_end.append(operation)
        if stays:
            length = ends_ms or mine[-1].at_ms
            day = days.get(operation)
            operations.append(LoggedOperation(name=operation, length_ms=length, stays=tuple(stays), day=day))
    return StepLog(
        operations=tuple(operations),
        left_out=tuple(left_out),
        unmapped=tuple(unmapped.items()),
        read_as=tuple(read_as.items()),
        without_end=tuple(without_end),
    )


class _Rows:
    """The lines of a table, with what its columns say."""

    def __init__(self, text: str, file: str, columns: LogColumns) -> None:
        first = text.lstrip("\r\n").split("\n", 1)[0]
        separator = max(SEPARATORS, key=first.count)
        self._reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
        headings = [_plain(name) for name in next(self._reader, [])]
        self._file, self._headings = file, headings
        self._step = self._at(columns.step)
        self._frames = columns.frame is not None
        self._time = self._at(columns.frame or columns.time or "time")
        self._operation = self._at(columns.operation) if columns.operation else None
        self._date = self._at(columns.date) if columns.date else None
        self._rate = _rate(columns.rate, needed=self._frames)
        self._ends = columns.ends
        if columns.ends and columns.operation:
            raise BadInput("One end for many operations cannot be. Give each a last line whose step is “end”.")

    def __iter__(self) -> Iterator[tuple[int, list[str]]]:
        try:
            for row in self._reader:
                if any(cell.strip() for cell in row):
                    yield self._reader.line_num, row
        except csv.Error as error:
            raise BadInput(f"{self._file}, line {self._reader.line_num}: this is no table ({error}).") from error

    def operation(self, row: Sequence[str]) -> str:
        """Which operation a line belongs to; empty where there is only one."""
        if self._operation is None:
            return ""
        if not (name := self._cell(row, self._operation)):
            raise ValueError("it does not say which operation it belongs to")
        return name

    def change(self, line: int, row: Sequence[str], before: _Change | None) -> _Change:
        """What a line says."""
        at_ms = self._ms(self._cell(row, self._time))
        if before is not None and at_ms < before.at_ms:
            raise ValueError("it lies before the line above it")
        name = self._cell(row, self._step)
        if not name:
            raise ValueError("it names no step")
        return _Change(line, at_ms, name)

    def day(self, row: Sequence[str]) -> date | None:
        """The day of the operation, None where the line does not say it."""
        said = self._cell(row, self._date) if self._date is not None else ""
        if not said:
            return None
        try:
            return date.fromisoformat(said)
        except ValueError:
            raise ValueError(f"{said!r} is no day such as 2026-03-31") from None

    def end_ms(self) -> int | None:
        """When the operation was over, as it was told beside the file."""
        if self._ends is None:
            return None
        try:
            return self._ms(self._ends)
        except ValueError as error:
            raise BadInput(f"The end of the operation: {error}.") from None

    def _ms(self, said: str) -> int:
        if self._frames:
            if not (said.isascii() and said.isdigit() and len(said) <= 9):
                raise ValueError(f"{said!r} is no frame number")
            return round(int(said) * 1000 / self._rate)
        found = parse_clock(said)
        if found is None:
            raise ValueError(f"{said!r} is no time such as 7:05 or 425.2")
        return found

    def _cell(self, row: Sequence[str], at: int) -> str:
        return " ".join(row[at].split()) if at < len(row) else ""

    def _at(self, name: str) -> int:
        if (wanted := _plain(name)) in self._headings:
            return self._headings.index(wanted)
        there = ", ".join(each for each in self._headings if each) or "none"
        raise BadInput(f"{self._file}: there is no column {name!r}. Its columns are: {there}. Say which holds what.")


def _plain(name: str) -> str:
    return " ".join(name.split()).casefold()


def _rate(said: str | None, *, needed: bool) -> Fraction:
    if not needed:
        return Fraction(1)
    try:
        rate = Fraction(said or "")
    except (ValueError, ZeroDivisionError):
        rate = Fraction(0)
    if not 1 <= rate <= 1000:
        raise BadInput("Frame numbers need the frames a second, such as 25 or 30000/1001.")
    return rate


def _namer(names: Mapping[str, str], vocabulary: Vocabulary, read_as: dict[str, str]) -> Callable[[str], str | None]:
    """From a name in the log to a step: its id, nothing where it is no step, None where nobody knows.

    What the vocabulary read is noted in `read_as`.
    """
    given = {_plain(name): step for name, step in names.items()}
    for step in given.values():
        if step and vocabulary[step].facet not in ("step", "part"):
            raise BadInput(f"{vocabulary[step].label} is no step.")
    known: dict[str, str | None] = {}

    def step_of(name: str) -> str | None:
        if (plain := _plain(name)) not in known:
            known[plain] = found = given[plain] if plain in given else named_step(name, vocabulary)
            if found and plain not in given:
                read_as[name] = found
        return known[plain]

    return step_of


def named_step(name: str, vocabulary: Vocabulary) -> str | None:
    """The one step that the whole of a name means, None where there is none or more than one."""
    if name in vocabulary and vocabulary[name].facet in ("step", "part"):
        return name
    words = normalise(name)
    found = {
        each.concept
        for each in read_query(vocabulary, name).concepts
        if each.facet in ("step", "part") and each.how not in GUESSED and len(each.text.split()) == len(words)
    }
    return found.pop() if len(found) == 1 else None


def _stays(
    changes: Sequence[_Change],
    torn: set[int],
    ends_ms: int | None,
    step_of: Callable[[str], str | None],
    unmapped: dict[str, int],
) -> tuple[list[Stay], bool]:
    """The stays between changes, and whether the last one has no end."""
    stays = []
    for at, change in enumerate(changes):
        if _plain(change.name) == END:
            continue
        step = step_of(change.name)
        if step is None:
            unmapped[change.name] = unmapped.get(change.name, 0) + 1
        end_ms = changes[at + 1].at_ms if at + 1 < len(changes) else ends_ms
        if end_ms is not None and step and end_ms > change.at_ms:
            stays.append(Stay(step, change.at_ms, end_ms, confirmed=at not in torn))
    return stays, bool(changes) and ends_ms is None and _plain(changes[-1].name) != END
