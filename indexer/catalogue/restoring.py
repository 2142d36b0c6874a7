"""An equal library made from one that was saved."""

from __future__ import annotations

import base64
import shutil
from datetime import date, datetime
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from sqlalchemy import JSON, Connection, Date, LargeBinary, delete, func, insert, select

from indexer.catalogue import revision, wordlist
from indexer.catalogue.saving import LEFT_OUT, LIBRARY
from indexer.catalogue.tables import SCHEMA, Moment, cases, metadata, recordings
from indexer.errors import BadInput, LibraryUnusable
from indexer.models.saved import Row, SavedCase, SavedLibrary

Kind = TypeVar("Kind", bound=BaseModel)


def read(folder: Path) -> tuple[SavedLibrary, list[SavedCase]]:
    """What was saved, checked whole before anything is written. Raises BadInput with the file that is at fault."""
    library = _parsed(folder / LIBRARY, SavedLibrary)
    if library.catalogue != SCHEMA:
        raise BadInput(f"{folder} was saved by another version ({library.catalogue}). Restore it with that version.")
    return library, [_parsed(folder / "cases" / case_id / "case.json", SavedCase) for case_id in library.cases]


def _parsed(path: Path, kind: type[Kind]) -> Kind:
    try:
        return kind.model_validate_json(path.read_bytes())
    except OSError as error:
        raise BadInput(f"{path} cannot be read. Name a folder that `scrubmark save` has written to its end.") from error
    except ValidationError as error:
        raise BadInput(f"{path} is damaged: {error.errors()[0]['msg']}. Take another copy.") from error


def restore(connection: Connection, at: Path, saved: SavedLibrary, of_cases: list[SavedCase]) -> None:
    """Fill an empty library with what was saved. Raises LibraryUnusable where it has cases already."""
    if connection.scalar(select(func.count()).select_from(cases)):
        raise LibraryUnusable(at, "it has cases already. Restore into a new folder, named by --library.")
    for table in reversed(metadata.sorted_tables):
        connection.execute(delete(table))
    for table in metadata.sorted_tables:
        if table.name not in LEFT_OUT:
            rows = [saved.rows, *(each.rows for each in of_cases)]
            found = [row for each in rows for row in each.get(table.name, ())]
            if found:
                connection.execute(insert(table), [_values(table, row) for row in found])
    for recording_id in connection.scalars(select(recordings.c.id)).all():
        wordlist.renew(connection, recording_id)
    revision.changed(connection)


def put_media(saved: SavedLibrary, folder: Path, media: Path) -> bool:
    """Copy films and stills to where they belong; False where they are not to be had now."""
    source = Path(saved.media) if saved.media else folder / "media"
    if source.resolve() == media.resolve() or not source.is_dir():
        return source.is_dir()
    shutil.copytree(source, media, dirs_exist_ok=True, copy_function=shutil.copyfile)
    return True


def _values(table: Any, row: Row) -> dict[str, Any]:
    return {name: _value(table.c[name].type, value) for name, value in row.items() if name in table.c}


def _value(kind: Any, value: Any) -> Any:
    if value is None or isinstance(kind, JSON):
        return value
    if isinstance(kind, Moment):
        return datetime.fromisoformat(value)
    if isinstance(kind, Date):
        return date.fromisoformat(value)
    return base64.b64decode(value) if isinstance(kind, LargeBinary) else value
