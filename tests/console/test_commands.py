"""Every command explains itself, stands in the README, and starts quickly."""

from __future__ import annotations

import re
import subprocess
import sys
from importlib import metadata
from pathlib import Path

import click
import pytest

from tests.console.conftest import Run
from web.console import console

ROOT = Path(__file__).parents[2]
HEAVY = ("av", "cv2", "numpy", "pydantic", "sqlalchemy", "alembic", "flask", "rich", "waitress", "ffmpeg", "rapidfuzz")

commands = pytest.mark.parametrize("name", sorted(console.commands))


@commands
def test_every_command_has_help_that_ends_in_an_example(run: Run, name: str) -> None:
    told = run(name, "--help")
    assert told.exit_code == 0
    example = told.output.split("Example:")[1].split("Options:")[0]
    assert f"scrubmark {name}" in example


@commands
def test_every_option_is_explained_or_a_choice(name: str) -> None:
    for parameter in console.commands[name].params:
        if isinstance(parameter, click.Option):
            assert parameter.help or isinstance(parameter.type, click.Choice), parameter.name


@commands
def test_every_command_and_option_stands_in_the_readme(name: str) -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert re.search(rf"scrubmark {name}\b", readme)
    for parameter in console.commands[name].params:
        if isinstance(parameter, click.Option):
            assert parameter.opts[0] in readme, parameter.opts


def test_every_command_of_the_readme_exists() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    named = set(re.findall(r"^(?:.*/|.*\\)?scrubmark ([a-z]+)", readme, flags=re.MULTILINE))
    assert named and named <= set(console.commands)


@pytest.mark.parametrize("arguments", [["--help"], ["add", "--help"], ["--version"], ["tag"]])
def test_help_loads_nothing_heavy(arguments: list[str]) -> None:
    program = (
        f"import sys; sys.argv[1:] = {arguments!r}\n"
        "from web.console import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        f"print('LOADED', [name for name in {HEAVY!r} if name in sys.modules])"
    )
    told = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, cwd=ROOT)
    assert told.stdout.splitlines()[-1] == "LOADED []"


def test_the_version_is_the_packages(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    declared = re.search(r'^version = "(.+)"', (ROOT / "pyproject.toml").read_text(), flags=re.MULTILINE)
    assert declared
    monkeypatch.setattr(metadata, "version", {"scrubmark": declared[1]}.__getitem__)
    assert run("--version").output == f"scrubmark {declared[1]}\n"


@pytest.mark.parametrize(
    "arguments",
    [
        ["fly"],
        ["add"],
        ["find"],
        ["tag"],
        ["find", "rhexis", "--limit", "0"],
        ["add", "a.mp4", "--eye", "middle"],
        ["add", "a.mp4", "--title", "  "],
        ["add", "a.mp4", "--operator", "x" * 121],
        ["add", "a.mp4", "--release", "public"],
        ["add", "a.mp4", "--yes"],
        ["add", "."],
        ["add", ".", "a.mp4", "--yes"],
        ["serve", "--port", "70000"],
    ],
)
def test_wrong_use_is_exit_2_and_says_why(run: Run, arguments: list[str]) -> None:
    told = run(*arguments)
    assert told.exit_code == 2
    assert told.stderr.count("\n") <= 4 and told.stdout == ""
