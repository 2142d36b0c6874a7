"""The command that cuts clips for own use."""

from __future__ import annotations

from pathlib import Path

from click.testing import CliRunner

from indexer.catalogue.library import Library
from indexer.cli import console
from tests.films import read_film, write_film
from tests.web.invented import put_case, small_vocabulary


def run(folder: Path, *words: str) -> tuple[int, str]:
    done = CliRunner().invoke(console, ["--library", str(folder / "lib"), "cut", *words])
    return done.exit_code, done.output


def test_a_film_on_the_disk(tmp_path: Path) -> None:
    path = write_film(tmp_path / "a.mp4", 200, gop=25)
    code, told = run(tmp_path, str(path), "--from", "1.2", "--to", "0:03.2", "--out", str(tmp_path / "b.mp4"))
    assert code == 0 and "0:02.0" in told and "copied" in told
    assert [number for _, number in read_film(tmp_path / "b.mp4")] == list(range(30, 80))
    assert not (tmp_path / "lib").exists()


def test_a_case_stays_inside_the_library(tmp_path: Path) -> None:
    film = write_film(tmp_path / "a.mp4", 200, gop=25)
    with Library.open(tmp_path / "lib", vocabulary=small_vocabulary()) as library:
        _, recording_id = put_case(library, film, "A quiet eye", ())
        folder = library.media(recording_id)
    code, _ = run(tmp_path, "A quiet eye", "--from", "1", "--to", "2")
    (made,) = (folder / "clips").iterdir()
    assert code == 0 and made.stat().st_mode & 0o777 == 0o600
    assert [number for _, number in read_film(made)] == list(range(25, 50))
    code, told = run(tmp_path, recording_id, "--from", "1", "--to", "2", "--out", str(tmp_path / "b.mp4"))
    assert code == 1 and "give" in told and not (tmp_path / "b.mp4").exists()


def test_what_cannot_be_cut_is_told_in_one_line(tmp_path: Path) -> None:
    path = write_film(tmp_path / "a.mp4", 50)
    for words in (
        (str(path), "--from", "soon", "--to", "2"),
        (str(path), "--from", "2", "--to", "1"),
        (str(path), "--from", "0", "--to", "1", "--out", str(path)),
        ("nothing of the kind", "--from", "0", "--to", "1"),
    ):
        code, told = run(tmp_path, *words)
        assert code == 1 and len(told.strip().splitlines()) == 1, told
    assert len(read_film(path)) == 50
