"""The JSON Schema of a vocabulary file, for editors and for anybody who writes one."""

from __future__ import annotations

import json
from pathlib import Path

import schemas
from indexer.vocabulary.concepts import VocabularyFile

SCHEMA = Path(schemas.__file__).parent / "vocabulary.schema.json"


def schema_text() -> str:
    """The schema as it stands in the file (JSON Schema 2020-12)."""
    schema = {"$schema": "https://json-schema.org/draft/2020-12/schema", **VocabularyFile.model_json_schema()}
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def write_schema(path: Path = SCHEMA) -> None:
    """Put the schema in its place; a test says when that is due."""
    path.write_text(schema_text(), encoding="utf-8")


if __name__ == "__main__":
    write_schema()
