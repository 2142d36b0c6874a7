"""Work on foreign files in a process of its own: bounded in time and memory, its result handed back as JSON.

A damaged or hostile film may crash a decoder, keep it busy for ever or make it ask for all memory. None of that reaches
the process that asked. Memory is bounded where the system can (Linux, other POSIX systems as far as they do it); on
Windows only time is.
"""

from __future__ import annotations

import contextlib
import importlib
import json
import os
import signal
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from indexer.errors import RecordingUnreadable
from indexer.footage import bounded
from indexer.footage.leash import when_let_go


class Refused(Exception):
    """Said inside the guarded process: this file is of no use, and why."""


def tell(share: float) -> None:
    """Said inside the guarded process: how much of the work is over, 0 to 1. Without effect outside of one."""
    if _answers is not None:
        os.write(_answers, json.dumps({"share": share}).encode() + b"\n")


_answers: int | None = None
"""Where answers go, in the guarded process."""


def work_on(
    path: Path,
    task: str,
    given: Mapping[str, Any],
    *,
    seconds: float,
    memory_mb: int,
    progress: Callable[[float], None] | None = None,
) -> Any:
    """Call the function `task` ("module:function") on `path` with `given`, guarded, and return what it returns.

    What goes in and out is JSON. `progress` is called with what the task tells of its headway.
    Raises RecordingUnreadable with one clear reason.
    """
    request = {"task": task, "path": str(path), "given": dict(given), "seconds": seconds, "memory_mb": memory_mb}
    said: list[dict[str, Any]] = []

    def hear(line: bytes) -> bool:
        # A line that breaks off was being written when the process ended.
        told = json.loads(line) if line.endswith(b"\n") else {"share": 0.0}
        if "share" in told and progress is not None:
            progress(told["share"])
        elif "share" not in told:
            said.append(told)
        return True

    ended = bounded.run_bounded(
        [sys.executable, "-m", "indexer.footage.guarded"],
        timeout_s=seconds,
        message=json.dumps(request).encode() + b"\n",
        env=_environment(),
        headway=hear,
    )
    if ended.how != "itself":
        raise RecordingUnreadable(path, f"looking at it took longer than {seconds:.0f} s, so it was left out.")
    if ended.code != 0 or not said:
        raise RecordingUnreadable(path, _how_it_broke(ended))
    answer = said[-1]
    if "refused" in answer:
        raise RecordingUnreadable(path, answer["refused"])
    return answer["result"]


def _environment() -> dict[str, str]:
    root = str(Path(__file__).resolve().parents[2])
    paths = [root, *filter(None, [os.environ.get("PYTHONPATH")])]
    # One thread each: thread pools reserve address space, which the bound on memory counts.
    single = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"), "1")
    return {**os.environ, **single, "PYTHONPATH": os.pathsep.join(paths), "PYTHONSAFEPATH": "1"}


def _how_it_broke(ended: bounded.Ended) -> str:
    if ended.code < 0:
        with contextlib.suppress(ValueError):
            return f"it made the film reader crash ({signal.Signals(-ended.code).name}). It is damaged, or no film."
    return f"it made the film reader fail ({ended.complaint or f'code {ended.code}'}). It is damaged, or no film."


def _bound_itself(seconds: float, memory_mb: int) -> None:
    """Ask the system to hold this process to its bounds, also when the one that watches it is gone."""
    try:
        import resource
    except ImportError:
        return
    cpu_s = int(seconds * (os.cpu_count() or 1)) + 5
    for kind, bound in (
        (resource.RLIMIT_AS, memory_mb * 1024 * 1024),
        (resource.RLIMIT_CPU, cpu_s),
        (resource.RLIMIT_CORE, 0),
    ):
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(kind, (bound, bound))


def _answer(request: Mapping[str, Any]) -> dict[str, Any]:
    module, _, name = str(request["task"]).partition(":")
    try:
        task = getattr(importlib.import_module(module), name)
        return {"result": task(Path(request["path"]), **request["given"])}
    except Refused as refusal:
        return {"refused": str(refusal)}
    except MemoryError:
        return {"refused": f"looking at it takes more than {request['memory_mb']} MB of memory, so it was left out."}


def main() -> None:
    """The guarded process: read one request from standard input, write one answer to standard output."""
    # Read unbuffered, byte by byte, so that nothing is held back from the thread that watches for the end of input.
    line = bytearray()
    while not line.endswith(b"\n"):
        if not (byte := os.read(0, 1)):
            return
        line += byte
    request = json.loads(line)
    when_let_go(lambda: os._exit(1))
    global _answers
    answers = _answers = os.dup(1)
    os.dup2(2, 1)
    _bound_itself(request["seconds"], request["memory_mb"])
    answer = json.dumps(_answer(request)).encode()
    with os.fdopen(answers, "wb") as pipe:
        pipe.write(answer + b"\n")
    # Decoders may hang while they are taken down; there is nothing left to lose.
    sys.stderr.flush()
    os._exit(0)


if __name__ == "__main__":
    # Under its own name, so that `Refused` is one class here and in the modules that say it.
    from indexer.footage import guarded

    guarded.main()
