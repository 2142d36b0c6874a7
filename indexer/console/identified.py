"""What commands print of identifiers and of the list of names."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from typing import Any

from indexer.catalogue.library import Library
from indexer.errors import BadInput
from indexer.identifying import CaseIdentifiers, RecordingIdentifiers, case_named, identifiers_of
from indexer.models.identifying import WORDS, Identifier, IdentifierKind, KnownName, ListedName
from indexer.privacy.masking import to_remove
from indexer.timespan import clock

CAUTION = "A search finds much, not all. Look and listen through what leaves; local rules on consent come first."


def found(library: Library, asked: str | None) -> list[dict[str, Any]]:
    """Every identifier of one case or of all, as it is printed; raises NotFound."""
    if asked is None:
        ids = [case.id for case in library.cases(library.owner)]
    else:
        ids = [case_named(library, library.owner, asked).id]
    rows: list[dict[str, Any]] = []
    for case_id in ids:
        case = library.case(library.owner, case_id)
        told = identifiers_of(library, library.owner, case_id)
        rows += [_row(told, case.title, None, one) for one in told.title]
        rows += [_row(told, case.title, recording, one) for recording in told.recordings for one in recording.found]
    return rows


def _row(told: CaseIdentifiers, title: str, recording: RecordingIdentifiers | None, one: Identifier) -> dict[str, Any]:
    return {
        "case": told.case_id,
        "title": title,
        "recording": recording.recording_id if recording else None,
        "class": one.kind.letter,
        "kind": one.kind.value,
        "text": one.text,
        "where": one.field,
        "start_ms": one.start_ms,
        "end_ms": one.end_ms,
        "how": one.how,
        "certainty": one.certainty,
        "goes": bool(to_remove([one], told.decisions)),
    }


def for_a_person(rows: Sequence[dict[str, Any]]) -> Iterator[str]:
    """Lines: a heading for each case, then time to play or field, kind, text, and what becomes of it."""
    title = None
    for row in rows:
        if row["case"] != title:
            title = row["case"]
            yield f"{row['title']} ({row['case']})"
        where = clock(row["start_ms"]) if row["where"] == WORDS else row["where"]
        yield f"  {where:<12} {row['class']} {row['kind']:<16} {row['text']!r}  {row['how']}, {'goes' if row['goes'] else 'stays'}"
    yield f"{len(rows)} found." if rows else "Nothing was found."
    yield CAUTION


def as_json(rows: Sequence[dict[str, Any]]) -> str:
    """One JSON array."""
    return json.dumps(rows, ensure_ascii=False, indent=1)


def add_names(library: Library, texts: Sequence[str], kind: str, asked: str | None) -> list[int]:
    """Put names on the list; of one case only, where one is named. Raises NotFound, BadInput."""
    case_id = case_named(library, library.owner, asked).id if asked else None
    if any(not text.strip() or len(text) > 200 for text in texts):
        raise BadInput("A name has between 1 and 200 letters.")
    entries = [KnownName(kind=IdentifierKind(kind), text=text.strip()) for text in texts]
    return [library.add_name(library.owner, entry, case_id=case_id) for entry in entries]


def names(library: Library) -> Iterator[str]:
    """The list, a line each."""
    listed: list[ListedName] = library.names(library.owner)
    for name in listed:
        yield f"{name.id:>5}  {name.kind.value:<16} {name.text}" + (f"  (case {name.case_id})" if name.case_id else "")
    if not listed:
        yield "No names are listed yet."
