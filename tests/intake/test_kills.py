"""An intake killed at any moment goes on at the next start, and nobody can tell afterwards."""

from __future__ import annotations

import hashlib
import json
import os
import random
import re
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from indexer.catalogue.library import Library
from indexer.models import CaseDetail, JobState
from indexer.vocabulary.vocabulary import Vocabulary
from tests.films import write_film
from tests.intake.conftest import SAID

KILLS = 10
ROOT = Path(__file__).parents[2]

pytestmark = [pytest.mark.slow, pytest.mark.skipif(os.name != "posix", reason="kill -9 is POSIX")]


@pytest.fixture
def full_card(card: Path) -> Path:
    """Three recordings: one that plays as it is, one in two parts, one that needs a copy and has no words."""
    write_film(card / "alone.mp4", 250, options={"movflags": "faststart"})
    for number in (1, 2):
        write_film(card / f"pair part {number}.mp4", 125, first=125 * (number - 1), sound="aac")
    write_film(card / "sparse.mkv", 200, gop=100)
    (card / "alone.vtt").write_text(SAID)
    (card / "pair.srt").write_text("1\n00:00:01,000 --> 00:00:06,000\nI polish the capsule with the cannula\n")
    return card


def begin(library: Path, card: Path, *more: str) -> subprocess.Popen[bytes]:
    """Start the command that adds the card."""
    command = [sys.executable, "-m", "web.console", "--library", str(library), "add", str(card), "--yes", *more]
    return subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)


def finish(library: Path, card: Path, *more: str) -> str:
    """Add the card and wait for the end."""
    process = begin(library, card, *more)
    said, _ = process.communicate(timeout=240)
    assert process.returncode == 0, said.decode()
    return said.decode()


def kill_after(process: subprocess.Popen[bytes], delay_s: float) -> bool:
    """Kill -9 a process after a while; answer whether it was still running."""
    try:
        process.wait(delay_s)
        return False
    except subprocess.TimeoutExpired:
        process.send_signal(signal.SIGKILL)
        return True
    finally:
        process.communicate()


def dump(folder: Path, vocabulary: Vocabulary) -> str:
    """All that the library holds, in its catalogue and on the disk, without ids, moments of adding and its place."""
    with Library.open(folder, vocabulary=vocabulary) as library:
        assert library.unfinished_jobs() == []
        cases = [library.case(library.owner, each.id) for each in library.cases(library.owner)]
        cases.sort(key=lambda case: case.title)
        told = [json.loads(case.model_dump_json(exclude={"added_at"})) for case in cases]
        files = [_files(library, case) for case in cases]
        assert list(library.work.iterdir()) == []
        assert {path.name for path in (folder / "media").iterdir()} == {r.id for c in cases for r in c.recordings}
        assert library.check() == []
    text = json.dumps([told, files], indent=1, sort_keys=True).replace(str(folder), "LIBRARY")
    for number, name in enumerate(dict.fromkeys(_ids(told))):
        text = re.sub(rf"\b{re.escape(name)}\b", f"#{number}", text)
    return text


def _files(library: Library, case: CaseDetail) -> list[tuple[str, str]]:
    folder = library.media(case.recordings[0].id)
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return [(str(path.relative_to(folder)), hashlib.sha256(path.read_bytes()).hexdigest()) for path in files]


def _ids(told: Any) -> list[str]:
    """Every id, in the order in which they stand."""
    if isinstance(told, list):
        return [name for each in told for name in _ids(each)]
    if not isinstance(told, dict):
        return []
    mine = [str(told["id"])] if "id" in told else []
    return mine + [name for each in told.values() for name in _ids(each)]


def half_cases(folder: Path, vocabulary: Vocabulary, whole: set[tuple[str, int]]) -> list[str]:
    """Titles of what is listed right after a kill and is not as it has to be."""
    if not (folder / "catalogue.sqlite").exists():
        return []
    with Library.open(folder, vocabulary=vocabulary) as library:
        listed = [library.case(library.owner, each.id) for each in library.cases(library.owner)]
        return [
            case.title
            for case in listed
            if (case.title, len(case.recordings[0].words)) not in whole
            or not case.recordings[0].film_there
            or not all(still.path.is_file() for still in case.recordings[0].stills)
        ]


def test_killed_at_ten_random_moments_the_library_equals_the_one_made_undisturbed(
    tmp_path: Path, full_card: Path, vocabulary: Vocabulary
) -> None:
    started = time.monotonic()
    finish(tmp_path / "undisturbed", full_card, "--copy")
    took_s = time.monotonic() - started
    expected = dump(tmp_path / "undisturbed", vocabulary)
    with Library.open(tmp_path / "undisturbed", vocabulary=vocabulary) as library:
        cases = [library.case(library.owner, each.id) for each in library.cases(library.owner)]
        whole = {(case.title, len(case.recordings[0].words)) for case in cases}
    assert len(whole) == 3
    chance = random.Random(20)
    killed = 0
    for number in range(KILLS):
        folder = tmp_path / f"killed-{number}"
        # One moment in each tenth of the whole time, so that ten of them reach every stage.
        delay_s = took_s * (number + chance.random()) / KILLS
        killed += kill_after(begin(folder, full_card, "--copy"), delay_s)
        assert half_cases(folder, vocabulary, whole) == []
        finish(folder, full_card, "--copy")
        assert dump(folder, vocabulary) == expected, f"killed after {delay_s:.2f} of {took_s:.2f} s"
    assert killed >= KILLS // 2


def test_killed_again_and_again_it_comes_to_its_end(tmp_path: Path, full_card: Path, vocabulary: Vocabulary) -> None:
    finish(tmp_path / "undisturbed", full_card)
    chance = random.Random(21)
    folder = tmp_path / "killed"
    for _ in range(4):
        kill_after(begin(folder, full_card), chance.uniform(0.8, 3))
    finish(folder, full_card)
    assert dump(folder, vocabulary) == dump(tmp_path / "undisturbed", vocabulary)
    with Library.open(folder, vocabulary=vocabulary) as library:
        assert library.jobs(JobState.RUNNING) == []
