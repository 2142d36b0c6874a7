"""Tasks for the guarded process that do what a bad film may make a decoder do."""

import contextlib
import ctypes
import os
import signal
import sys
import time
from pathlib import Path

from indexer.footage.guarded import Refused


def answer(path: Path, **given: object) -> dict[str, object]:
    return {"path": str(path), "given": given}


def refuse(path: Path) -> None:
    raise Refused("it is of no use.")


def chatter(path: Path) -> str:
    print("a line that is no answer")
    os.write(1, b"and one written past everything\n")
    return "answer"


def crash(path: Path) -> None:
    ctypes.string_at(0)


def abort(path: Path) -> None:
    os.abort()


def hang(path: Path) -> None:
    with contextlib.suppress(AttributeError, ValueError):
        signal.signal(signal.SIGTERM, signal.SIG_IGN)
    time.sleep(600)


def devour(path: Path) -> int:
    return len(bytearray(8 << 30))


def stumble(path: Path) -> None:
    raise KeyError("an error of ours")


def leave(path: Path) -> None:
    sys.stdout.flush()
    os._exit(0)
