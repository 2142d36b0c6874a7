"""A library as plain files: what is written out, and read back."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any

from pydantic import Field, JsonValue

from indexer.models.frozen import Frozen

Row = dict[str, JsonValue]
"""Values by the name of their column; days and moments as ISO 8601, bytes as base64."""
Rows = Annotated[
    dict[str, tuple[Row, ...]], Field(description="Rows by the name of their table, in the order they were made.")
]


class SavedCase(Frozen):
    """One case with all that belongs to it: consents, recordings, words, marks, decisions."""

    case_id: str
    rows: Rows


class SavedLibrary(Frozen):
    """What belongs to no single case, and what is needed to read the rest."""

    saved_at: datetime
    catalogue: str = Field(description="Name of the catalogue's schema that the rows are of.")
    media: str | None = Field(description="Folder of the films and stills; None where they lie beside this file.")
    with_names: bool = Field(description="Whether the library's own list of names was written.")
    cases: tuple[str, ...]
    rows: Rows


def schemas() -> dict[str, dict[str, Any]]:
    """The JSON Schema of each kind of file, by the name it has in schemas/."""
    return {
        "saved_case.schema.json": SavedCase.model_json_schema(),
        "saved_library.schema.json": SavedLibrary.model_json_schema(),
    }
