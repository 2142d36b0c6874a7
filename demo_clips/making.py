"""The demo: films drawn by a few processes at once, transcripts written beside them."""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from demo_clips.scenario import FOLDER, Scenario, scenarios
from demo_clips.writing import transcript
from indexer.config import Settings
from indexer.footage.ffmpeg import executable

WORKERS = 2


@dataclass(frozen=True)
class DemoOperation:
    """One invented operation whose film and transcript lie in a folder."""

    key: str
    title: str
    eye: str
    findings: tuple[str, ...]
    operator: str
    kind: str
    recordings: tuple[Path, ...]
    transcript: Path
    step_starts: tuple[tuple[str, int], ...]
    """Step id and the first frame of it, counted over the whole recording."""
    frame_rate: Fraction
    frames: int
    release: str


def operation(scenario: Scenario, folder: Path) -> DemoOperation:
    """Where film and transcript of an operation lie, whether they are there already or not."""
    suffix = transcript(scenario)[0]
    stem, kind = scenario.key, scenario.film.container
    parts = scenario.film.parts
    names = [f"{stem}.{kind}"] if parts == 1 else [f"{stem}_{k + 1:03d}.{kind}" for k in range(parts)]
    return DemoOperation(
        key=scenario.key, title=scenario.title, eye=scenario.eye, findings=scenario.findings,
        operator=scenario.operator, kind=scenario.kind, recordings=tuple(folder / name for name in names),
        transcript=folder / f"{stem}{suffix}", step_starts=tuple(scenario.step_starts),
        frame_rate=scenario.film.rate, frames=scenario.frames, release=scenario.release,
    )


def make_demo(
    folder: Path,
    progress: Callable[[str, float], None],
    plans_in: Path = FOLDER,
    settings: Settings | None = None,
) -> list[DemoOperation]:
    """Draw every film that is not there yet and write the transcripts; the operations are read from `plans_in`.

    `progress` is told what is being done and the share of all the work that is over (0 to 1). Stopped at any moment
    and called again, it goes on with the films that are missing. Raises RuntimeError where a film cannot be written,
    ToolFailed where there is no ffmpeg.
    """
    folder.mkdir(parents=True, exist_ok=True)
    plans = list(scenarios(plans_in))
    made = [operation(plan, folder) for plan in plans]
    for plan, one in zip(plans, made, strict=True):
        _write(one.transcript, transcript(plan)[1])
    work = [
        (plan, start, end, target)
        for plan, one in zip(plans, made, strict=True)
        for (start, end), target in zip(plan.part_bounds(), one.recordings, strict=True)
        if not target.exists()
    ]
    if work:
        _draw(work, executable(settings or Settings()), progress)
    progress("All films are drawn", 1.0)
    return made


def _write(path: Path, text: str) -> None:
    partial = path.with_name(f".{path.name}.unfinished")
    partial.write_text(text, encoding="utf-8")
    partial.replace(path)


def _draw(
    work: list[tuple[Scenario, int, int, Path]], ffmpeg: str, progress: Callable[[str, float], None]
) -> None:
    total = sum(end - start for _, start, end, _ in work)
    context = multiprocessing.get_context("spawn")
    counts = context.Queue()
    work.sort(key=lambda item: item[1] - item[2])  # the longest first, so that no worker is left with one at the end
    with ProcessPoolExecutor(min(WORKERS, os.cpu_count() or 1), context, _begin, (counts, ffmpeg)) as pool:
        listener = threading.Thread(target=_listen, args=(counts, total, progress), daemon=True)
        listener.start()
        try:
            jobs = [pool.submit(_draw_one, item) for item in work]
            for job in as_completed(jobs):
                job.result()
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise
        finally:
            counts.put(None)
            listener.join(timeout=5)
    counts.close()


def _listen(counts: Any, total: int, progress: Callable[[str, float], None]) -> None:
    done = 0
    while (heard := counts.get()) is not None:
        title, more = heard
        done += more
        progress(f"Drawing: {title}", min(done / total, 1.0))


_counts: Any = None
_ffmpeg = ""


def _begin(counts: Any, ffmpeg: str) -> None:
    """Set up a drawing process, which ends when the one that began it does."""
    global _counts, _ffmpeg
    _counts, _ffmpeg = counts, ffmpeg
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent:
        parent.join()
        os._exit(1)


def _draw_one(item: tuple[Scenario, int, int, Path]) -> None:
    """Draw one part of a film in a process of its own."""
    from demo_clips.film import draw_film

    plan, start, end, target = item
    told = 0

    def tell(done: int) -> None:
        nonlocal told
        _counts.put((plan.title, done - told))
        told = done

    draw_film(plan, start, end, target, _ffmpeg, tell)
    tell(end - start)
