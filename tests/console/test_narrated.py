"""The command that lays a narration onto its film."""

from __future__ import annotations

from pathlib import Path

import numpy
from click.testing import CliRunner

from indexer.cli import console
from tests.films import read_film, write_film
from tests.footage.test_sounds import RATE, write_sound


def run(folder: Path, *words: str) -> tuple[int, str]:
    done = CliRunner().invoke(console, ["--library", str(folder / "lib"), "narrate", *words])
    return done.exit_code, done.output


def test_by_hand_and_not_without_being_sure(tmp_path: Path) -> None:
    film = write_film(tmp_path / "a.mp4", 200, sound="aac")
    noise = numpy.random.default_rng(3).normal(0, 0.1, 8 * RATE)
    voice = write_sound(tmp_path / "voice.wav", noise)
    code, told = run(tmp_path, str(film), str(voice))
    assert code == 1 and "--at" in told and len(told.strip().splitlines()) == 1
    code, told = run(tmp_path, str(film), str(voice), "--at", "1.5")
    assert code == 0 and "0:01.5" in told
    assert read_film(tmp_path / "a-narrated.mp4") == read_film(film)


def test_what_is_not_there(tmp_path: Path) -> None:
    code, told = run(tmp_path, str(tmp_path / "a.mp4"), str(tmp_path / "b.wav"))
    assert code == 1 and "no such file" in told
