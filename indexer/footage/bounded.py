"""A process that never outlives its time: what it wrote, how it ended, and nothing of it left running."""

from __future__ import annotations

import contextlib
import os
import queue
import signal
import subprocess
import tempfile
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from typing import IO, Literal, NamedTuple

_PATIENCE_S = 5.0


class Ended(NamedTuple):
    """How a process came to its end."""

    how: Literal["itself", "time", "silence"]
    """By `itself`, or ended by us: its `time` was up, or it made no headway for too long."""
    code: int
    """Exit code; below zero the signal that ended it."""
    output: bytes
    complaint: str
    """The last line of its standard error that says something."""


def run_bounded(
    command: Sequence[str],
    *,
    timeout_s: float,
    silence_s: float | None = None,
    message: bytes = b"",
    env: Mapping[str, str] | None = None,
    headway: Callable[[bytes], bool] | None = None,
) -> Ended:
    """Run `command` for `timeout_s` seconds at most, with `message` on its standard input, which stays open.

    `headway` is called here, in the calling thread, with each line of output and says whether it tells of headway;
    without any for `silence_s` seconds the process is ended. Raises OSError where it cannot be started.
    """
    with tempfile.TemporaryFile() as complaints:
        process = subprocess.Popen(
            command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=complaints,
            env=env,
            start_new_session=os.name == "posix",
        )
        lines: queue.Queue[bytes | None] = queue.Queue()
        reader = threading.Thread(target=_read_lines, args=(process.stdout, lines), daemon=True)
        reader.start()
        try:
            _tell(process, message)
            how, output = _follow(process, lines, timeout_s, silence_s or timeout_s, headway)
        finally:
            _end(process)
            reader.join(_PATIENCE_S)
        return Ended(how, process.returncode, output, _last_line(complaints))


def _tell(process: subprocess.Popen[bytes], message: bytes) -> None:
    assert process.stdin is not None
    with contextlib.suppress(BrokenPipeError):
        process.stdin.write(message)
        process.stdin.flush()


def _follow(
    process: subprocess.Popen[bytes],
    lines: queue.Queue[bytes | None],
    timeout_s: float,
    silence_s: float,
    headway: Callable[[bytes], bool] | None,
) -> tuple[Literal["itself", "time", "silence"], bytes]:
    """Gather the output line by line until the process closes it or has to be ended."""
    deadline = time.monotonic() + timeout_s
    moved = time.monotonic()
    output = bytearray()
    while True:
        left = min(deadline, moved + silence_s) - time.monotonic()
        try:
            line = lines.get(timeout=max(left, 0.001))
        except queue.Empty:
            return ("time" if time.monotonic() >= deadline else "silence"), bytes(output)
        if line is None:
            break
        if headway is None:
            output += line
        elif headway(line):
            moved = time.monotonic()
        if time.monotonic() >= min(deadline, moved + silence_s):
            return ("time" if time.monotonic() >= deadline else "silence"), bytes(output)
    try:
        process.wait(max(deadline - time.monotonic(), _PATIENCE_S))
    except subprocess.TimeoutExpired:
        return "time", bytes(output)
    return "itself", bytes(output)


def _read_lines(pipe: IO[bytes], lines: queue.Queue[bytes | None]) -> None:
    with contextlib.suppress(ValueError, OSError), pipe:
        for line in pipe:
            lines.put(line)
    lines.put(None)


def _end(process: subprocess.Popen[bytes]) -> None:
    """End the process with all its children, and wait for it."""
    assert process.stdin is not None
    # Letting go of the leash reaches the children on every system; the signal is for those that do not listen.
    with contextlib.suppress(BrokenPipeError):
        process.stdin.close()
    if process.poll() is None:
        if os.name == "posix":
            with contextlib.suppress(ProcessLookupError, PermissionError):
                os.killpg(process.pid, signal.SIGKILL)
        else:
            with contextlib.suppress(subprocess.TimeoutExpired):
                process.wait(_PATIENCE_S)
            process.kill()
    process.wait()


def _last_line(complaints: IO[bytes]) -> str:
    size = complaints.seek(0, os.SEEK_END)
    complaints.seek(max(0, size - 4096))
    lines = complaints.read().decode("utf-8", "replace").split("\n")
    return next((line.strip() for line in reversed(lines) if line.strip()), "")
