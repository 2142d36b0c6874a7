"""README and DEVELOPERS say what is so."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from indexer import cautions

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def names(requirements: list[str]) -> list[str]:
    found = [re.split(r"[<>=\[ ]", requirement)[0] for requirement in requirements]
    return [name for name in found if name != PROJECT["project"]["name"]]


@pytest.mark.parametrize("package", names(PROJECT["project"]["dependencies"]))
def test_every_dependency_stands_with_its_reason(package: str) -> None:
    assert re.search(rf"^\| `{re.escape(package)}` \| .{{20,}} \|$", DEVELOPERS, flags=re.MULTILINE)


def test_no_reason_is_left_for_what_is_not_used_any_more() -> None:
    listed = DEVELOPERS.split("| package |")[1].split("\n\n")[0]
    assert set(re.findall(r"^\| `([^`]+)`", listed, flags=re.MULTILINE)) == set(names(PROJECT["project"]["dependencies"]))


@pytest.mark.parametrize("group", sorted(PROJECT["project"]["optional-dependencies"]))
def test_every_tool_for_tests_and_developing_is_named(group: str) -> None:
    for package in names(PROJECT["project"]["optional-dependencies"][group]):
        assert f"`{package}`" in DEVELOPERS


def test_every_room_is_drawn() -> None:
    rooms = {path.name for path in (ROOT / "indexer").iterdir() if (path / "__init__.py").exists()}
    single = {path.stem for path in (ROOT / "indexer").glob("*.py")} - {"__init__"}
    drawn = DEVELOPERS.split("## The floors")[0]
    assert [name for name in sorted(rooms | single) if not re.search(rf"`(?:indexer/)?{name}/?`", drawn)] == []


def test_the_floors_are_those_that_are_held() -> None:
    (contract,) = PROJECT["tool"]["importlinter"]["contracts"]
    held = [{room.strip().removeprefix("indexer.") for room in floor.split("|")} for floor in reversed(contract["layers"])]
    text = re.search(r"`errors.*?`web`", DEVELOPERS, flags=re.DOTALL)
    assert text and [set(floor.split()) for floor in re.findall(r"`([^`]+)`", text[0])] == held


def test_the_readme_carries_the_products_own_caution() -> None:
    assert " ".join(cautions.SHORT.split()) in " ".join(README.split())


def test_the_readme_runs_what_the_ci_runs() -> None:
    assert '.venv/bin/pip install ".[test]" && .venv/bin/python -m pytest' in README
    assert "-m pytest" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


def test_only_what_belongs_there_lies_at_the_top() -> None:
    expected = {"README.md", "DEVELOPERS.md", "pyproject.toml", "indexer", "web", "tests", "demo_clips", "schemas"}
    made = {"build", "dist"}
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")} - made
    assert {name for name in found if not name.endswith(".egg-info")} == expected
