"""A library is written as plain files, and an equal one is made from them."""

import json
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import select

from indexer.catalogue.library import Library
from indexer.catalogue.saving import LIBRARY
from indexer.catalogue.tables import metadata
from indexer.consent import Release, Role
from indexer.errors import BadInput, LibraryUnusable
from indexer.models import Query
from indexer.models.saved import schemas
from indexer.vocabulary.vocabulary import Vocabulary

PASSAGES = [("capsule-support", "two capsular hooks go in", [("capsular-hooks", "done", "capsular hooks")])]
GONE = {"sign_ins", "leases", "revisions"}
SCHEMAS = Path(__file__).parents[2] / "schemas"


def rows(library: Library) -> dict[str, list[tuple[object, ...]]]:
    with library._database.reading() as connection:
        return {
            table.name: [tuple(row) for row in connection.execute(select(table).order_by(*table.primary_key.columns))]
            for table in metadata.sorted_tables
            if table.name not in GONE
        }


@pytest.fixture
def filled(library: Library, add) -> Library:
    library.add_person(library.owner, "Heron", [Role.SURGEON], "four hooks and a ring")
    first = add("Right eye", PASSAGES, operator="Heron", operated_on=date(2031, 5, 2), findings=["dense-nucleus"])
    second = add("Left eye", PASSAGES, release="teaching")
    library.tie_cases(library.owner, (first, second))
    library.state_consent(library.owner, first, Release.PUBLIC, on=date(2031, 6, 1), purpose="courses")
    return library


@pytest.mark.parametrize("copy_media", [False, True])
def test_a_restored_library_is_equal_table_by_table(
    filled: Library, tmp_path: Path, vocabulary: Vocabulary, copy_media: bool
) -> None:
    recording = filled.case(filled.owner, filled.cases(filled.owner)[0].id).recordings[0].id
    (filled.media(recording) / "stills").mkdir(parents=True)
    (filled.media(recording) / "stills" / "0.jpg").write_bytes(b"a still")
    filled.save(tmp_path / "saved", copy_media=copy_media, with_names=True)
    with Library.open(tmp_path / "again", vocabulary=vocabulary) as other:
        assert other.restore(tmp_path / "saved")
        mine, theirs = rows(filled), rows(other)
        for table in mine:
            assert theirs[table] == mine[table], table
        assert len(mine["consents"]) >= 3 and mine["spoken"] and mine["mentions"]
        query = Query(text="capsular hooks")
        assert other.find(other.owner, query).total == filled.find(filled.owner, query).total == 2
        assert other.password_fits("Heron", "four hooks and a ring") is not None
        assert (other.media(recording) / "stills" / "0.jpg").read_bytes() == b"a still"


def test_chapters_stand_beside_each_film(filled: Library, tmp_path: Path) -> None:
    filled.save(tmp_path / "saved")
    chapters = sorted((tmp_path / "saved").rglob("*.chapters.vtt"))
    assert len(chapters) == 2
    assert "WEBVTT\n\n00:00:00.000 --> 00:00:02.000\nCapsule support\n" in chapters[0].read_text()


def test_a_folder_that_is_in_use_is_left_alone(filled: Library, tmp_path: Path) -> None:
    filled.save(tmp_path / "saved")
    with pytest.raises(LibraryUnusable, match="new folder"):
        filled.save(tmp_path / "saved")
    with pytest.raises(LibraryUnusable, match="has cases already"):
        filled.restore(tmp_path / "saved")


@pytest.mark.parametrize("damage", ["", "{}", '{"saved_at": 1'])
def test_a_damaged_save_is_refused_whole(filled: Library, tmp_path: Path, vocabulary: Vocabulary, damage: str) -> None:
    filled.save(tmp_path / "saved")
    (tmp_path / "saved" / LIBRARY).write_text(damage)
    with Library.open(tmp_path / "again", vocabulary=vocabulary) as other:
        with pytest.raises(BadInput, match="damaged"):
            other.restore(tmp_path / "saved")
        assert other.cases(other.owner) == []


@pytest.mark.parametrize("name", schemas())
def test_the_schemas_are_those_that_the_code_writes(name: str) -> None:
    assert json.loads((SCHEMAS / name).read_text(encoding="utf-8")) == schemas()[name]
