"""`identifiers` and `names`, as they are typed."""

from __future__ import annotations

import json
from pathlib import Path

from tests.console.conftest import Run
from tests.films import write_film


def test_a_listed_name_is_found_with_the_time_to_play(run: Run, tmp_path: Path) -> None:
    film = write_film(tmp_path / "vantoor_19600403.mp4", 60)
    (tmp_path / "vantoor_19600403.vtt").write_text(
        "WEBVTT\n\n00:00.500 --> 00:02.000\nthis is misses fan tour right eye\n", encoding="utf-8"
    )
    assert run("add", film, "--title", "Small pupil, ring").exit_code == 0
    assert run("names", "add", "Mirela Vantoor").exit_code == 0
    found = json.loads(run("identifiers", "Small pupil, ring", "--json").output)
    spoken = [one for one in found if one["where"] == "words"]
    assert [(one["class"], one["goes"]) for one in spoken] == [("A", True)]
    assert 500 <= spoken[0]["start_ms"] < 2000
    assert {(one["class"], one["text"]) for one in found if one["where"] == "file name 1"} == {
        ("A", "vantoor"),
        ("C", "19600403"),
    }
    assert "0:01" in run("identifiers").output


def test_names_are_listed_and_taken_off(run: Run) -> None:
    run("names", "add", "Lindenhof Eye Clinic", "--kind", "hospital")
    assert "hospital" in run("names", "list").output
    assert run("names", "remove", "1").exit_code == 0
    assert "No names" in run("names", "list").output
    assert run("names", "remove", "1").exit_code == 1


def test_an_unknown_case_is_told_in_one_line(run: Run) -> None:
    told = run("identifiers", "no such case")
    assert (told.exit_code, told.output.count("\n")) == (1, 1)
