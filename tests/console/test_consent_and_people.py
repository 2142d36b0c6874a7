"""Consent and people, as they are stated on the console."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from indexer.catalogue.library import Library
from indexer.vocabulary.vocabulary import Vocabulary
from tests.console.conftest import Run


@pytest.fixture
def added(run: Run, film: Path) -> str:
    assert run("add", film, "--title", "Loose bag").exit_code == 0
    return "Loose bag"


def test_a_consent_is_stated_told_and_withdrawn(run: Run, added: str) -> None:
    assert run("consent", added).stdout == "Loose bag: private\n"
    given = ("--release", "teaching", "--purpose", "courses here", "--until", "2099-12-31", "--evidence", "folder 7")
    told = run("consent", added, *given).stdout
    assert "Loose bag: teaching\n" in told
    assert "teaching by owner; courses here; until 2099-12-31; folder 7" in told
    told = run("consent", added, "--withdraw").stdout
    assert "Loose bag: private\n" in told and "; withdrawn 2" in told


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("nothing of that name", "--withdraw"), "There is no case"),
        (("Loose bag", "--purpose", "courses"), "Say what the consent allows"),
        (("Loose bag", "--release", "public", "--withdraw"), "--withdraw goes alone"),
        (("Loose bag", "--release", "public", "--until", "2001-01-01"), "is over"),
    ],
)
def test_what_cannot_be_stated_is_said_and_changes_nothing(run: Run, added: str, arguments, says: str) -> None:
    result = run("consent", *arguments)
    assert result.exit_code != 0 and says in result.stderr
    assert run("consent", added).stdout == "Loose bag: private\n"


def test_cases_of_one_patient_go_together(run: Run, tmp_path: Path) -> None:
    from tests.films import write_film

    for number, title in enumerate(("Right eye", "Left eye")):
        film = write_film(tmp_path / f"eye{number}.mp4", 30 + number, options={"movflags": "faststart"})
        assert run("add", film, "--title", title).exit_code == 0
    run("consent", "Right eye", "Left eye", "--one-patient")
    assert (
        "Left eye: teaching (with 1 other case"
        in run("consent", "Right eye", "Left eye", "--release", "teaching").stdout
    )
    run("consent", "Right eye", "--withdraw")
    assert "Left eye: private" in run("consent", "Left eye").stdout


def test_people_are_added_listed_and_given_passwords(run: Run, tmp_path: Path) -> None:
    assert run("people", "add", "Heron", "--role", "surgeon").exit_code == 0
    result = run("people", "add", "Wren", "--role", "trainee", "--password", stdin="four hooks and a ring\n")
    assert "Wren  trainee  (signs in)" in result.stdout and "four hooks" not in result.stdout + result.stderr
    assert "Heron  surgeon  (no password)" in run("people", "list").stdout
    assert "new password" in run("people", "password", "Heron", stdin="a long enough one\n").stdout
    assert "cannot sign in" in run("people", "password", "Wren", "--none").stdout
    with Library.open(tmp_path / "library", vocabulary=Vocabulary([])) as library:
        assert library.password_fits("Heron", "a long enough one") is not None
        assert library.password_fits("Wren", "four hooks and a ring") is None


@pytest.mark.parametrize("said", ["", "short\n"])
def test_a_password_that_is_none_is_refused(run: Run, said: str) -> None:
    result = run("people", "add", "Wren", "--password", stdin=said)
    assert result.exit_code == 1 and "password" in result.stderr.lower()
    assert "Wren" not in run("people", "list").stdout


@pytest.mark.skipif(os.name != "posix", reason="modes are POSIX")
def test_all_that_is_in_the_library_is_for_its_owner_alone(run: Run, film: Path, tmp_path: Path) -> None:
    assert run("add", film, "--title", "Loose bag", "--copy").exit_code == 0
    found = [tmp_path / "library", *(tmp_path / "library").rglob("*")]
    assert len(found) > 8
    open_to_others = [path for path in found if stat.S_IMODE(path.stat().st_mode) & 0o077]
    assert open_to_others == []
