"""Every way out is known, and asks. A new address or a new command that writes files fails here until it is seen to.

An address of the site answers a Viewer, whom the catalogue lets see no more than the consent allows; it is told by its
asking for `the_viewer()`. What is written for somebody outside has to ask `ask_leave`, by itself or through what it calls.
"""

from __future__ import annotations

import importlib
import inspect
from collections.abc import Callable, Iterator
from pathlib import Path
from types import FunctionType, SimpleNamespace
from typing import Any

import click
import pytest

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.errors import NotAllowed
from indexer.vocabulary.vocabulary import Vocabulary
from web import create_app
from web.console import console

NOTHING_OF_A_PATIENT = {
    "static": "scripts and styles",
    "about.page": "an explanation",
    "api.openapi": "a description of the API",
    "look.choose": "light or dark",
    "look.steps": "colours of steps",
    "door.page": "a form for name and password",
    "door.enter": "a cookie for whoever has the key",
}
"""Endpoints that hold nothing of any case, each with what it gives."""

READS_ONLY = {"add", "tag", "steplog"}
"""Commands whose paths are read, or written into the library alone."""
FOR_THE_OWNER = {
    "demo": "invented operations",
    "save": "the whole library for its owner, as private as it is; the command says so",
    "restore": "what was saved, into a library",
    "narrate": "a film of one's own on the disk, before it is added",
}
"""Commands that write for whoever owns the library, and what."""
STAYS_INSIDE = {"cut": "indexer.console.cutting:_keep"}
"""Commands that write into the library's folder and refuse any other place, and the function that refuses."""
LEAVING = {"give": "indexer.console.giving:give"}
"""Commands that write something for others, and the function that does it."""

_DEPTH = 4


def _reached(function: Callable[..., Any], depth: int = _DEPTH) -> Iterator[str]:
    """Names that a function uses, and those that the functions of this project which it calls use."""
    code = inspect.unwrap(function)
    if not isinstance(code, FunctionType):
        return
    for name in _names(code.__code__):
        yield name
        called = code.__globals__.get(name)
        if depth and isinstance(called, FunctionType) and called.__module__.startswith(("indexer.", "web.")):
            yield from _reached(called, depth - 1)


def _names(code: Any) -> Iterator[str]:
    yield from code.co_names
    for constant in code.co_consts:
        if inspect.iscode(constant):
            yield from _names(constant)


@pytest.fixture(scope="module")
def views(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[str, Callable[..., Any]]]:
    """Every endpoint of the site that can be fetched, with an address of it and its view."""
    folder = tmp_path_factory.mktemp("library") / "lib"
    with Library.open(folder, vocabulary=Vocabulary([])) as library:
        app = create_app(library, Settings(library=folder))
        return {
            rule.endpoint: (rule.rule, app.view_functions[rule.endpoint])
            for rule in app.url_map.iter_rules()
            if "GET" in (rule.methods or ())
        }


def test_every_address_that_gives_something_answers_a_viewer(
    views: dict[str, tuple[str, Callable[..., Any]]],
) -> None:
    silent = [
        f"{rule} ({endpoint})"
        for endpoint, (rule, view) in views.items()
        if endpoint not in NOTHING_OF_A_PATIENT and not {"the_viewer", "ask_leave"} & set(_reached(view))
    ]
    assert not silent, f"these answer without asking for whom: {silent}"


def test_what_is_said_to_hold_nothing_of_a_patient_reads_no_case(
    views: dict[str, tuple[str, Callable[..., Any]]],
) -> None:
    for endpoint in NOTHING_OF_A_PATIENT.keys() & views.keys():
        reached = set(_reached(views[endpoint][1]))
        assert not {"recording", "case", "cases", "find", "send_file", "step_times"} & reached, endpoint


def _commands(group: click.Group, before: str = "") -> Iterator[tuple[str, click.Command]]:
    for name, command in group.commands.items():
        if isinstance(command, click.Group):
            yield from _commands(command, f"{before}{name} ")
        else:
            yield f"{before}{name}", command


def _takes_a_path(command: click.Command) -> bool:
    return any(isinstance(parameter.type, click.Path | click.File) for parameter in command.params)


def test_every_command_that_could_write_a_file_is_known() -> None:
    taking = {name for name, command in _commands(console) if _takes_a_path(command)}
    unknown = taking - READS_ONLY - FOR_THE_OWNER.keys() - STAYS_INSIDE.keys() - LEAVING.keys()
    assert not unknown, f"does it write for others? Let it ask leave, and list it here: {sorted(unknown)}"


@pytest.mark.parametrize("place", LEAVING.values())
def test_what_writes_for_others_asks_leave(place: str) -> None:
    module, _, name = place.partition(":")
    assert "ask_leave" in set(_reached(getattr(importlib.import_module(module), name)))


@pytest.mark.parametrize("place", STAYS_INSIDE.values())
def test_what_stays_inside_writes_nowhere_else(place: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from indexer.console.cutting import Wish
    from indexer.footage import cutting
    from indexer.timespan import Span

    monkeypatch.setattr(cutting, "cut", lambda *_, **__: pytest.fail("it was cut"))
    module, _, name = place.partition(":")
    keep = getattr(importlib.import_module(module), name)
    inside = SimpleNamespace(
        folder=tmp_path / "library", media=lambda recording_id: tmp_path / "library" / recording_id
    )
    outside = Wish("a case", "0", "1", tmp_path / "library" / ".." / "clip.mp4")
    with pytest.raises(NotAllowed, match="give"):
        keep(inside, SimpleNamespace(id="r", film=tmp_path / "film.mp4"), Span(0, 1000), outside, Settings())


def test_nothing_but_what_asks_cuts_films_for_others() -> None:
    """Whoever imports the cutter outside the room of footage and this one is a way out of its own."""
    root = Path(__file__).parents[2]
    sources = [path for room in ("indexer", "web") for path in (root / room).rglob("*.py")]
    using = {
        str(path.relative_to(root))
        for path in sources
        if "footage.cutting import" in path.read_text() or "footage import cutting" in path.read_text()
    }
    inside = {place.partition(":")[0].replace(".", "/") + ".py" for place in STAYS_INSIDE.values()}
    assert using - inside <= {
        path for path in using if path.startswith("indexer/footage/") or "ask_leave" in (root / path).read_text()
    }


def test_a_way_that_does_not_ask_would_be_found() -> None:
    def careless() -> str:
        return str(Path.cwd())

    assert not {"the_viewer", "ask_leave"} & set(_reached(careless))
