"""What `tag` prints."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from indexer.console import tagged
from tests.console.conftest import SAID, Run


@pytest.fixture
def said(tmp_path: Path) -> Path:
    path = tmp_path / "said.txt"
    path.write_text(SAID)
    return path


def test_a_line_for_each_file_in_order(run: Run, said: Path, tmp_path: Path) -> None:
    bad = tmp_path / "bad.vtt"
    bad.write_text("nothing")
    told = run("tag", "--json", said, bad, tmp_path / "missing.srt")
    lines = [json.loads(line) for line in told.stdout.splitlines()]
    assert [line["file"] for line in lines] == [str(said), str(bad), str(tmp_path / "missing.srt")]
    assert told.exit_code == 0 and [("error" in line) for line in lines] == [False, True, True]
    assert all(line["language"] and line["segments"] is not None for line in lines)
    assert lines[1]["error"] in told.stderr


def test_times_are_seconds_and_marks_are_whole(run: Run, said: Path) -> None:
    (line,) = map(json.loads, run("tag", said, "--json").stdout.splitlines())
    rhexis = next(mention for mention in line["mentions"] if mention["concept"] == "capsulorhexis")
    assert rhexis["assertion"] == "done" and "rhexis" in rhexis["heard"]
    assert 1 <= rhexis["start"] < rhexis["end"] < 6
    assert {"start", "end", "step", "confidence"} <= set(line["segments"][0])
    assert (line["measures"][0]["measure"], line["measures"][0]["low"]) == ("capsulorhexis-diameter", 5)
    assert line["language"] == "en" and isinstance(line["findings"], list)


def test_without_any_that_can_be_read_it_failed(run: Run, tmp_path: Path) -> None:
    told = run("tag", tmp_path / "missing.srt", "--json")
    assert told.exit_code == 1 and "missing.srt" in told.stderr
    assert json.loads(told.stdout)["error"]


def test_a_person_reads_steps_and_things(run: Run, said: Path) -> None:
    told = run("tag", said).stdout
    assert "Capsulorhexis (0:" in told and "Capsulorhexis diameter (mm): 5\n" in told


def test_many_files_by_two_processes_are_told_as_by_one(tmp_path: Path) -> None:
    paths = []
    for number in range(tagged.FEWEST_FOR_PROCESSES + 3):
        paths.append(tmp_path / f"{number}.txt")
        paths[-1].write_text(SAID if number % 3 else "nothing")
    many = list(tagged.taggings(paths))
    assert many == [told for path in paths for told in tagged.taggings([path])]
