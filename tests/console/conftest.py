"""The console as it is installed, run within the tests."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tests.films import write_film
from web.console import console

Run = Callable[..., Result]

SAID = "[0:01] Now the rhexis with the forceps, five millimetres.\n[0:06] Hydrodissection, the nucleus turns.\n"


@pytest.fixture
def run(tmp_path: Path) -> Run:
    """Run a command on a library of its own; what it raises beyond an exit is raised."""

    def running(*arguments: str | Path, stdin: str | None = None) -> Result:
        given = ["--library", str(tmp_path / "library"), *map(str, arguments)]
        result = CliRunner().invoke(console, given, input=stdin, prog_name="scrubmark")
        if result.exception and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result

    return running


@pytest.fixture
def film(tmp_path: Path) -> Path:
    """Ten seconds that play as they are, with words of the same name beside."""
    folder = tmp_path / "recordings"
    folder.mkdir()
    (folder / "loose_bag.txt").write_text(SAID)
    return write_film(folder / "loose_bag.mp4", 250, options={"movflags": "faststart"})
