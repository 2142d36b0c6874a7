"""The commands `times` and `steplog`, from a table of step changes to what is printed."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tests.timing.logs import BY_HAND, PHASES, VIDEO_269
from web.console import console

Run = Callable[..., Result]
CALLS = [word for phase, step in PHASES.items() for word in ("--call", f"{phase}={step}")]
TABLE = ["--step", "Phase", "--frame", "FrameNo", "--rate", "25", "--operation", "VideoID", *CALLS]


@pytest.fixture
def run(tmp_path: Path) -> Run:
    def running(*arguments: str) -> Result:
        return CliRunner().invoke(console, ["--library", str(tmp_path / "library"), *arguments], prog_name="scrubmark")

    return running


@pytest.fixture
def logged(run: Run, tmp_path: Path) -> Result:
    (tmp_path / "changes.csv").write_text(VIDEO_269, encoding="utf-8")
    return run("steplog", str(tmp_path / "changes.csv"), *TABLE)


@pytest.fixture
def many(run: Run, tmp_path: Path) -> None:
    """Thirty operations, the last fifteen with a quicker capsulorhexis."""
    lines = ["step,time,film,on"]
    for number in range(30):
        took = 40 + number % 5 - 15 * (number >= 15)
        rows = (("incision", 0), ("rhexis", 10), ("hydrodissection", 10 + took), ("end", 30 + took))
        lines += [f"{step},{at},{number},2026-01-{number + 1:02}" for step, at in rows]
    (tmp_path / "many.csv").write_text("\n".join(lines), encoding="utf-8")
    told = run("steplog", str(tmp_path / "many.csv"), "--operation", "film", "--date", "on")
    assert (told.exit_code, told.stderr) == (0, "")


def test_a_log_comes_in_and_its_times_are_told(logged: Result, run: Run) -> None:
    assert (logged.exit_code, logged.stdout, logged.stderr) == (0, "changes.csv: 1 operation came in.\n", "")
    told = json.loads(run("times", "--json").stdout)
    assert {each["step"]: each["time_s"]["median"] for each in told["steps"]} == {
        step: time for step, (time, _) in BY_HAND.items()
    }
    assert (told["operations"], told["logs"], told["proposals_count"]) == (1, 1, False)
    assert told["no_step"]["time_s"]["median"] == 2.72


def test_a_persons_report_carries_the_cautions(logged: Result, run: Run) -> None:
    told = " ".join(run("times").stdout.split())
    assert "Time per step: confirmed steps of 1 operation, 1 of them from step logs" in told
    assert "Faster is not better" in told and "They rank nobody" in told and "Not a medical device" in told


def test_csv_has_a_line_a_step_and_says_its_cautions(logged: Result, run: Run) -> None:
    lines = run("times", "--csv").stdout.splitlines()
    assert any(line.startswith("# Faster is not better") for line in lines)
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    assert {row["step"]: float(row["median_s"]) for row in rows if row["step"]} == {
        step: time for step, (time, _) in BY_HAND.items()
    }
    assert [row["label"] for row in rows][-1] == "no step"


def test_what_is_proposed_is_said_everywhere(logged: Result, run: Run) -> None:
    assert "These figures count steps that the machine proposed" in " ".join(run("times", "--proposals").stdout.split())
    assert json.loads(run("times", "--proposals", "--json").stdout)["proposals_count"] is True
    assert run("times", "--proposals", "--csv").stdout.count(",yes\n") == len(BY_HAND) + 1


def test_a_step_over_time(many: None, run: Run) -> None:
    (series,) = json.loads(run("times", "--step", "rhexis", "--json").stdout)["over_time"]
    assert [each["time_s"] for each in series["values"]][:2] == [40, 41]
    assert series["runs"]["unusual"] and series["runs"]["crossings"] == 1
    assert series["slope_s_per_ten"][2] < 0
    told = " ".join(run("times", "--step", "rhexis").stdout.split())
    assert "It goes down" in told and "A hint that something changed, not a proof" in told


def test_two_periods_side_by_side(many: None, run: Run) -> None:
    told = json.loads(run("times", "--step", "capsulorhexis", "--beside", "2026-01-16", "--json").stdout)
    (compared,) = told["comparisons"]
    assert [each["n"] for each in compared["groups"]] == [15, 15]
    assert compared["shift_s"][0] == -15 and compared["p"] < 0.001 and compared["warnings"] == []
    compared = json.loads(run("times", "--step", "capsulorhexis", "--beside", "2026-01-05", "--json").stdout)
    assert "Only 4 operations" in compared["comparisons"][0]["warnings"][0]


def test_a_yes_or_no_event(many: None, run: Run) -> None:
    rates = ("--acceptable", "0.05", "--unacceptable", "0.1")
    told = json.loads(run("times", "--event", "posterior capsule rupture", *rates, "--json").stdout)["event"]
    assert (told["operations"], told["events"], told["alarms"]) == (30, 0, [])


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--step", "coffee"], "There is no step or part 'coffee'"),
        (["--beside", "small-pupil"], "Name one with --step"),
        (["--event", "posterior-capsule-rupture"], "--acceptable 0.02"),
        (["--event", "posterior-capsule-rupture", "--acceptable", "0.2", "--unacceptable", "0.1"], "--acceptable 0.02"),
    ],
)
def test_what_cannot_be_told_is_one_clear_line(run: Run, arguments: list[str], told: str) -> None:
    result = run("times", *arguments)
    assert result.exit_code == 1 and told in result.stderr and result.stdout == ""


def test_an_empty_library_says_what_to_do(run: Run) -> None:
    assert "once a person has confirmed both its edges" in " ".join(run("times").stdout.split())


def test_a_log_that_tells_nothing_is_an_error(run: Run, tmp_path: Path) -> None:
    (tmp_path / "none.csv").write_text("step,time\ncoffee,10\nend,20\n", encoding="utf-8")
    told = run("steplog", str(tmp_path / "none.csv"))
    assert told.exit_code == 1
    assert "--call 'coffee=STEP'" in told.stderr and "no operation could be read" in told.stderr
