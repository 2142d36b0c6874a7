"""The whole library written as plain files: JSON by schemas, WebVTT chapters, and films by reference or copied."""

from __future__ import annotations

import base64
import os
import shutil
from collections import defaultdict
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Row, select

from indexer.catalogue.tables import SCHEMA, metadata, recordings, segments
from indexer.errors import LibraryUnusable
from indexer.models import Standing
from indexer.models.saved import SavedCase, SavedLibrary
from indexer.timespan import webvtt_clock
from indexer.vocabulary.vocabulary import Vocabulary

LEFT_OUT = frozenset({"sign_ins", "leases", "spoken", "spoken_texts", "alembic_version"})
"""Who is signed in and at work ends with the library; the lists of words are made anew."""
NAMES = "known_names"
OF_LIBRARY = frozenset({"jobs", NAMES})
"""These name a case, but may be there without it."""
LIBRARY = "library.json"


def save(
    connection: Connection, media: Path, folder: Path, vocabulary: Vocabulary, *, copy_media: bool, with_names: bool
) -> list[str]:
    """Write everything into a new or empty folder, closed to others; return the ids of the cases.

    Raises LibraryUnusable where the folder holds something already.
    """
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    if any(folder.iterdir()):
        raise LibraryUnusable(folder, "there is something in it already. Name a new folder to save into.")
    of_case, rest = _sorted_out(connection, with_names)
    for case_id, rows in of_case.items():
        place = folder / "cases" / case_id
        place.mkdir(parents=True, mode=0o700)
        _write(place / "case.json", SavedCase(case_id=case_id, rows=_frozen(rows)).model_dump_json(indent=1))
        for recording in rows["recordings"]:
            chapters = "\n".join(_chapters(connection, str(recording["id"]), vocabulary))
            _write(place / f"{recording['id']}.chapters.vtt", chapters)
    if copy_media and media.is_dir():
        shutil.copytree(media, folder / "media", copy_function=shutil.copyfile)
    saved = SavedLibrary(
        saved_at=datetime.now(UTC),
        catalogue=SCHEMA,
        media=None if copy_media else str(media),
        with_names=with_names,
        cases=tuple(of_case),
        rows=_frozen(rest),
    )
    # Last: without this file nothing of a save that was cut off is taken for a whole one.
    _write(folder / LIBRARY, saved.model_dump_json(indent=1))
    return list(of_case)


Found = dict[str, list[dict[str, Any]]]


def _sorted_out(connection: Connection, with_names: bool) -> tuple[dict[str, Found], Found]:
    """Rows of each case, and those of none."""
    case_of = {row.id: row.case_id for row in connection.execute(select(recordings.c.id, recordings.c.case_id))}
    of_case: dict[str, Found] = defaultdict(lambda: defaultdict(list))
    rest: Found = defaultdict(list)
    for table in metadata.sorted_tables:
        if table.name in LEFT_OUT or (table.name == NAMES and not with_names):
            continue
        for row in connection.execute(select(table).order_by(*table.primary_key.columns)):
            case_id = None if table.name in OF_LIBRARY else _case_of(table.name, row, case_of)
            (rest if case_id is None else of_case[case_id])[table.name].append(
                {name: plain(value) for name, value in row._mapping.items()}
            )
    return dict(of_case), rest


def _case_of(table: str, row: Row[Any], case_of: dict[str, str]) -> str | None:
    if table == "cases":
        return str(row.id)
    values = row._mapping
    found: str | None = values["case_id"] if "case_id" in values else case_of.get(values.get("recording_id", ""))
    return found


def plain(value: Any) -> Any:
    """A value of the catalogue as JSON has it."""
    if isinstance(value, bytes):
        return base64.b64encode(value).decode()
    return value.isoformat() if isinstance(value, date) else value


def _frozen(rows: Found) -> dict[str, Any]:
    return {name: tuple(found) for name, found in rows.items()}


def _chapters(connection: Connection, recording_id: str, vocabulary: Vocabulary) -> Iterator[str]:
    """The steps of a recording as WebVTT chapters, refused ones left out."""
    yield "WEBVTT"
    kept = (segments.c.recording_id == recording_id, segments.c.standing != Standing.REFUSED)
    for row in connection.execute(select(segments).where(*kept).order_by(segments.c.start_ms)):
        label = vocabulary[row.step].label if row.step in vocabulary else row.step
        yield from ("", f"{webvtt_clock(row.start_ms)} --> {webvtt_clock(row.end_ms)}", label)
    yield ""


def _write(path: Path, text: str) -> None:
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="utf-8") as file:
        file.write(text)
