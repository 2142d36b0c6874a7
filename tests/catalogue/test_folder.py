"""The library's folder: closed to others, and refused with one clear reason where it cannot be used."""

import os
import sqlite3
import stat
from pathlib import Path

import pytest

from indexer.catalogue import folder
from indexer.catalogue.library import Library
from indexer.errors import LibraryUnusable
from indexer.vocabulary.vocabulary import Vocabulary


def _mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@pytest.mark.skipif(os.name != "posix", reason="modes are POSIX")
def test_the_folder_is_closed_to_others(library: Library) -> None:
    assert _mode(library.folder) == 0o700
    for name in ("catalogue.sqlite", "catalogue.sqlite-wal", "catalogue.sqlite-shm"):
        assert _mode(library.folder / name) == 0o600


@pytest.mark.skipif(os.name != "posix", reason="modes are POSIX")
def test_a_folder_that_was_open_is_closed(tmp_path: Path, vocabulary: Vocabulary) -> None:
    (tmp_path / "library").mkdir(mode=0o755)
    Library.open(tmp_path / "library", vocabulary=vocabulary).close()
    assert _mode(tmp_path / "library") == 0o700


def test_missing_parents_are_made(tmp_path: Path, vocabulary: Vocabulary) -> None:
    with Library.open(tmp_path / "a" / "b", vocabulary=vocabulary) as library:
        assert library.cases(library.owner) == []


def _file(path: Path) -> None:
    path.write_text("hello")


def _other_things(path: Path) -> None:
    path.mkdir()
    (path / "taxes.ods").write_text("1")


def _damaged(path: Path) -> None:
    path.mkdir()
    (path / "catalogue.sqlite").write_bytes(b"no database at all, but long enough to be read as one" * 40)


def _foreign(path: Path) -> None:
    path.mkdir()
    with sqlite3.connect(path / "catalogue.sqlite") as connection:
        connection.execute("CREATE TABLE recipes (name TEXT)")
    connection.close()


def _newer(path: Path) -> None:
    path.mkdir()
    with sqlite3.connect(path / "catalogue.sqlite") as connection:
        connection.execute("CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL)")
        connection.execute("INSERT INTO alembic_version VALUES ('of_the_future')")
    connection.close()


@pytest.mark.parametrize(
    ("make", "reason"),
    [
        (_file, "it is a file"),
        (_other_things, "taxes.ods"),
        (_damaged, "damaged"),
        (_foreign, "another program's database"),
        (_newer, "newer program"),
    ],
)
def test_an_unusable_folder_is_told_in_one_line(tmp_path: Path, vocabulary: Vocabulary, make, reason: str) -> None:
    place = tmp_path / "library"
    make(place)
    with pytest.raises(LibraryUnusable) as told:
        Library.open(place, vocabulary=vocabulary)
    assert reason in str(told.value)
    assert "\n" not in str(told.value)


def test_a_folder_without_permission_is_told(
    tmp_path: Path, vocabulary: Vocabulary, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(path: Path, **given: object) -> None:
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(Path, "mkdir", refused)
    with pytest.raises(LibraryUnusable, match=r"permission denied .* mend its permissions"):
        Library.open(tmp_path / "library", vocabulary=vocabulary)


def test_a_place_below_a_file_is_told(tmp_path: Path, vocabulary: Vocabulary) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(LibraryUnusable, match="permissions"):
        Library.open(tmp_path / "file" / "library", vocabulary=vocabulary)


def test_a_network_share_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(folder, "file_system", lambda path: "nfs4")
    with pytest.raises(LibraryUnusable, match="network share"):
        folder.prepare(tmp_path / "library")


def test_a_catalogue_damaged_in_the_middle_is_told(tmp_path: Path, vocabulary: Vocabulary) -> None:
    place = tmp_path / "library"
    Library.open(place, vocabulary=vocabulary).close()
    catalogue = place / "catalogue.sqlite"
    data = bytearray(catalogue.read_bytes())
    data[200:] = os.urandom(len(data) - 200)
    catalogue.write_bytes(bytes(data))
    with pytest.raises(LibraryUnusable, match="damaged"):
        Library.open(place, vocabulary=vocabulary)
