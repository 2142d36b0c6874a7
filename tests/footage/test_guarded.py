"""Work in a guarded process: whatever happens there, here is an answer or one clear line."""

import os
import time
from pathlib import Path

import pytest

from indexer.errors import RecordingUnreadable
from indexer.footage.guarded import work_on

HERE = "tests.footage.misbehaving"


def ask(task: str, path: Path = Path("film.mp4"), seconds: float = 30, **given: object) -> object:
    return work_on(path, f"{HERE}:{task}", given, seconds=seconds, memory_mb=512)


def test_what_goes_in_comes_back() -> None:
    odd = Path("a folder/-i öä '\"\n.mp4")
    assert ask("answer", odd, numbers=[1, 2], name="ü") == {
        "path": str(odd),
        "given": {"numbers": [1, 2], "name": "ü"},
    }


def test_what_else_is_printed_is_no_part_of_the_answer() -> None:
    assert ask("chatter") == "answer"


@pytest.mark.parametrize(
    ("task", "reason"),
    [
        ("refuse", "it is of no use."),
        ("stumble", "an error of ours"),
        ("leave", "fail"),
        pytest.param("crash", "crash", marks=pytest.mark.skipif(os.name != "posix", reason="signals are POSIX")),
        pytest.param("abort", "crash", marks=pytest.mark.skipif(os.name != "posix", reason="signals are POSIX")),
        pytest.param("devour", "512 MB", marks=pytest.mark.skipif(os.name != "posix", reason="no bound on memory")),
    ],
)
def test_what_goes_wrong_is_one_line(task: str, reason: str) -> None:
    with pytest.raises(RecordingUnreadable) as refusal:
        ask(task)
    assert reason in refusal.value.reason and "\n" not in refusal.value.reason


def test_a_hang_is_ended() -> None:
    begun = time.monotonic()
    with pytest.raises(RecordingUnreadable, match="longer than 1 s"):
        ask("hang", seconds=1)
    assert time.monotonic() - begun < 10
