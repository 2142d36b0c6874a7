"""Vocabulary files into a Vocabulary; whatever is wrong in any of them is told at once, with its place."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from pathlib import Path

from pydantic import ValidationError

import schemas
from indexer.errors import VocabularyFaulty
from indexer.vocabulary.checking import SourcedFile, faults_of
from indexer.vocabulary.concepts import FACETS, Concept, VocabularyFile
from indexer.vocabulary.vocabulary import Vocabulary

SHIPPED = Path(schemas.__file__).parent / "vocabulary"
OTHER_FILES = frozenset({"published.json"})
"""Files that lie beside the facets of a field and are no facet themselves."""


def load_vocabulary(*folders: Path) -> Vocabulary:
    """Load fields of surgery side by side; without a folder, every field that ships.

    A folder holds the files of one field, one a facet, or folders of fields.
    Raises VocabularyFaulty with all faults of all files.
    """
    roots = folders or (SHIPPED,)
    read: list[SourcedFile] = []
    faults: list[str] = []
    for path in _files(roots, faults):
        found = _read(path)
        if isinstance(found, VocabularyFile):
            read.append(SourcedFile(_place(path), found))
        else:
            faults.extend(f"{_place(path)}: {fault}" for fault in found)
    # What a broken file would have defined is not known, so references are only judged once all files can be read.
    faults.extend(faults_of(read, references=not faults))
    if faults:
        raise VocabularyFaulty(", ".join(str(root) for root in roots), faults)
    read.sort(key=lambda each: FACETS.index(each.file.facet))
    return Vocabulary(_concepts(each.file for each in read))


def _concepts(files: Iterable[VocabularyFile]) -> list[Concept]:
    return [
        Concept.model_construct(**entry.__dict__, facet=file.facet, field=file.field)
        for file in files
        for entry in file.concepts
    ]


def _files(roots: Sequence[Path], faults: list[str]) -> list[Path]:
    files: list[Path] = []
    for root in roots:
        here = _field_files(root) or [file for each in sorted(_folders(root)) for file in _field_files(each)]
        if not here:
            faults.append(f"{root}: no vocabulary file here; expected a folder with one .json file a facet")
        files.extend(file for file in here if file not in files)
    return files


def _folders(root: Path) -> list[Path]:
    return [each for each in root.iterdir() if each.is_dir()] if root.is_dir() else []


def _field_files(folder: Path) -> list[Path]:
    return sorted(file for file in folder.glob("*.json") if file.name not in OTHER_FILES)


def _place(path: Path) -> str:
    return f"{path.parent.name}/{path.name}"


def _read(path: Path) -> VocabularyFile | list[str]:
    try:
        data = path.read_bytes()
    except OSError as error:
        return [f"cannot be read: {error.strerror or error}"]
    try:
        return VocabularyFile.model_validate_json(data)
    except ValidationError as error:
        return _told(error, data)


def _told(error: ValidationError, data: bytes) -> list[str]:
    """Each of the faults with the concept's id and field, where the file is JSON at all."""
    try:
        raw = json.loads(data)
    except (ValueError, RecursionError) as unreadable:
        return [f"is no JSON: {unreadable}"]
    return [f"{_where(each['loc'], raw)}: {_said(each['type'], each['msg'])}" for each in error.errors()]


def _said(kind: str, message: str) -> str:
    return {"extra_forbidden": "there is no such field", "missing": "is missing"}.get(kind, message)


def _where(loc: Sequence[int | str], raw: object) -> str:
    """`capsulorhexis, spoken 3` from ("concepts", 4, "spoken", 2)."""
    places = list(loc)
    named = ""
    if len(places) >= 2 and places[0] == "concepts" and isinstance(places[1], int):
        named = _name(raw, places[1])
        places = places[2:]
    # Persons count from one.
    rest = " ".join(str(part + 1) if isinstance(part, int) else part for part in places)
    return ", ".join(part for part in (named, rest) if part) or "the file"


def _name(raw: object, index: int) -> str:
    try:
        entry = raw["concepts"][index]  # type: ignore[index]
        return str(entry["id"])
    except (KeyError, IndexError, TypeError):
        return f"concept number {index + 1}"
