"""`demo` and `serve`, as a person starts and stops them."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import time
import urllib.request
from functools import partial
from pathlib import Path

import pytest

from demo_clips import make_demo
from demo_clips.scenario import FOLDER, scenarios
from indexer.catalogue.library import Library
from indexer.models import CaseDraft
from indexer.vocabulary.vocabulary import Vocabulary
from tests.console.conftest import Run
from tests.films import write_film
from web import opening

ROOT = Path(__file__).parents[2]


@pytest.mark.slow
def test_the_demo_is_made_once(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With one of its operations; all of them are made where the wheel is tried."""
    plans = tmp_path / "plans"
    plans.mkdir()
    shutil.copy(FOLDER / "short_eye.json", plans)
    monkeypatch.setattr(opening, "make_demo", partial(make_demo, plans_in=plans))
    first = run("demo", "--folder", tmp_path / "demo", "--no-serve")
    assert first.exit_code == 0 and first.stdout.count("Added: ") == 1 and "%" in first.stderr
    made = {path: path.stat().st_mtime_ns for path in (tmp_path / "demo" / "films").iterdir() if path.suffix == ".mp4"}
    again = run("demo", "--folder", tmp_path / "demo", "--no-serve")
    assert again.stdout == f"1 invented operations are in {tmp_path / 'demo' / 'library'}.\n"
    assert made == {path: path.stat().st_mtime_ns for path in made}


def test_every_operation_of_the_demo_is_a_case_that_can_be_begun(tmp_path: Path) -> None:
    from demo_clips.making import operation

    drafts = [opening.draft_of(operation(plan, tmp_path)) for plan in scenarios()]
    assert len(drafts) >= 8 and len({draft.title for draft in drafts}) == len(drafts)
    assert {draft.kind for draft in drafts} >= {"whole", "edited"}
    assert max(len(draft.sources) for draft in drafts) == 2


@pytest.mark.skipif(os.name != "posix", reason="signals are POSIX")
def test_serve_says_where_goes_on_with_what_was_cut_off_and_stops(tmp_path: Path) -> None:
    film = write_film(tmp_path / "cut.mp4", 60, options={"movflags": "faststart"})
    with Library.open(tmp_path / "library", vocabulary=Vocabulary([])) as library:
        library.begin_case(CaseDraft(title="Cut off", sources=(film,)))
    command = [sys.executable, "-m", "web.console", "--library", str(tmp_path / "library"), "serve", "--port", "0"]
    site = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    assert site.stdout is not None
    try:
        address = re.search(r"(http://127\.0\.0\.1:[0-9]+/)enter\?key=[\w-]{43}", site.stdout.readline())
        assert address
        browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        browser.open(address[0], timeout=10).close()
        assert "Cut off" in _page(browser, f"{address[1]}cases", "Cut off")
        assert "Cut off" not in _page(urllib.request.build_opener(), f"{address[1]}cases", "Sign in")
    finally:
        site.send_signal(signal.SIGINT)
        left, _ = site.communicate(timeout=90)
    assert site.returncode == 0 and "Added: Cut off" in left


def _page(browser: urllib.request.OpenerDirector, address: str, wanted: str) -> str:
    """A page of the site, asked for until it says what is wanted, for half a minute at most."""
    deadline = time.monotonic() + 30
    while True:
        with browser.open(address, timeout=10) as answer:
            text: str = answer.read().decode()
        if wanted in text or time.monotonic() > deadline:
            return text
        time.sleep(0.2)
