"""How fast the survey is beside the bare decoder, what it remembers, and its cuts beside a general scene-cut library.

    python -m tests.benchmarks.survey [--seconds 20] [--rounds 5] [--library]

All ratios are of one run, medians of the rounds. Films are drawn by ffmpeg's own sources with noise, at 15 Mbit/s.
`--library` needs scenedetect (PySceneDetect, BSD), which the product itself does not.
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from indexer.config import Settings
from indexer.footage.ffmpeg import executable

FORMATS = (("720p30", "1280x720", 30), ("1080p60", "1920x1080", 60))
NEAR_FRAMES = 2


def drawn(path: Path, size: str, rate: int, seconds: int) -> Path:
    """A film that moves everywhere, with noise, at about 15 Mbit/s."""
    source = f"mandelbrot=size={size}:rate={rate}:end_scale=0.05,noise=alls=10:allf=t"
    run = [executable(Settings()), "-v", "error", "-y", "-f", "lavfi", "-i", source, "-t", str(seconds)]
    rates = ["-b:v", "15M", "-maxrate", "15M", "-bufsize", "15M", "-preset", "veryfast", "-g", str(rate)]
    subprocess.run([*run, "-c:v", "libx264", *rates, "-pix_fmt", "yuv420p", str(path)], check=True)
    return path


def bare(film: Path) -> None:
    """Decode every frame and nothing else."""
    import av

    with av.open(str(film)) as container:
        stream = container.streams.video[0]
        stream.thread_type = "AUTO"
        for _ in container.decode(stream):
            pass


def surveyed(film: Path) -> dict[str, object]:
    """The pass of the survey, in this process like the bare decoder."""
    from indexer.footage.survey_pass import survey

    with tempfile.TemporaryDirectory() as folder:
        return survey(film, folder, 20_000, [], list(range(2500, 20_000, 5000)))


def by_library(film: Path) -> list[int]:
    """First frames of scenes by the library's detector at its defaults."""
    from scenedetect import AdaptiveDetector, detect  # type: ignore[import-not-found]

    return [scene[0].frame_num for scene in detect(str(film), AdaptiveDetector())][1:]


def took(work: Callable[[Path], object], film: Path) -> tuple[float, float]:
    """Seconds by the clock, and of the processor."""
    wall, cpu = time.perf_counter(), time.process_time()
    work(film)
    return time.perf_counter() - wall, time.process_time() - cpu


def compare(name: str, film: Path, rounds: int, works: dict[str, Callable[[Path], object]]) -> None:
    """Run all in turn, so that what else the machine does meets all of them alike, and print medians of ratios."""
    runs = [{key: took(work, film) for key, work in works.items()} for _ in range(rounds)]
    for key in works:
        if key == "bare":
            print(f"{name}: bare decoder {statistics.median(run[key][0] for run in runs):.2f} s", flush=True)
            continue
        wall = statistics.median(run["bare"][0] / run[key][0] for run in runs)
        cpu = statistics.median(run["bare"][1] / run[key][1] for run in runs)
        print(f"{name}: {key} {wall:.2f} of the decoder's speed by the clock, {cpu:.2f} by the processor", flush=True)


def memory(film: Path, times: int) -> None:
    """Most memory of a process that surveys the film, and one `times` as long made of it."""
    longer = film.with_name("longer.mp4")
    run = [executable(Settings()), "-v", "error", "-y", "-stream_loop", str(times - 1), "-i", str(film)]
    subprocess.run([*run, "-c", "copy", str(longer)], check=True)
    program = (
        "import resource, sys; from pathlib import Path; from tests.benchmarks.survey import surveyed;"
        "surveyed(Path(sys.argv[1])); print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)"
    )
    for path in (film, longer):
        done = subprocess.run([sys.executable, "-c", program, str(path)], check=True, capture_output=True, text=True)
        print(f"memory: {done.stdout.strip()} MB at most for {path.stat().st_size // 2**20} MB of film", flush=True)


def cuts(folder: Path, library: bool) -> None:
    """Cuts found and falsely found on films whose cuts are known; noise, a moving tool and a drifting view in all."""
    from tests.footage.surveyed_films import film_of, melted, shot

    total: dict[str, list[int]] = {}
    speed: dict[str, float] = {}
    for number in range(6):
        base = 20 * number
        pictures, known = [], {}
        for place in range(4):
            pictures += shot(base + place, 75)
            known[len(pictures)] = "hard"
            pictures += shot(base + place + 10, 75)
            known[len(pictures)] = "jump"
            pictures += shot(base + place + 10, 60, start=160 + 10 * place)
            middle = melted(shot(base + place + 10, 25, start=220 + 10 * place), shot(base + place + 1, 25, start=50))
            known[len(pictures) + 12] = "dissolve"
            pictures += middle
            pictures += shot(base + place + 1, 60, start=75)
            known[len(pictures)] = "hard"
        known.popitem()
        film = film_of(folder / f"cuts-{number}.mp4", pictures)
        begun = time.perf_counter()
        found = [int(cut["frame"]) for cut in surveyed(film)["survey"]["cuts"]]  # type: ignore[index]
        speed["survey"] = speed.get("survey", 0) + time.perf_counter() - begun
        _count(total, "survey", known, found)
        if library:
            begun = time.perf_counter()
            _count(total, "library", known, by_library(film))
            speed["library"] = speed.get("library", 0) + time.perf_counter() - begun
    for key, counted in sorted(total.items()):
        who, what = key.split()
        print(
            f"cuts, {who}, {what}: {counted[0]} of {counted[1]}"
            if what != "false"
            else f"cuts, {who}, false: {counted[0]}"
        )
    print("seconds:", {key: round(value, 1) for key, value in speed.items()}, flush=True)


def _count(total: dict[str, list[int]], who: str, known: dict[int, str], found: list[int]) -> None:
    left = list(found)
    for frame, kind in known.items():
        near = 13 if kind == "dissolve" else NEAR_FRAMES
        hit = next((each for each in left if abs(each - frame) <= near), None)
        counted = total.setdefault(f"{who} {kind}", [0, 0])
        counted[1] += 1
        if hit is not None:
            left.remove(hit)
            counted[0] += 1
    total.setdefault(f"{who} false", [0, 0])[0] += len(left)


def main() -> None:
    """Print all of it."""
    asking = argparse.ArgumentParser(description=__doc__)
    asking.add_argument("--seconds", type=int, default=20)
    asking.add_argument("--rounds", type=int, default=5)
    asking.add_argument("--library", action="store_true")
    asked = asking.parse_args()
    works: dict[str, Callable[[Path], object]] = {"bare": bare, "survey": surveyed}
    if asked.library:
        works["library"] = by_library
    with tempfile.TemporaryDirectory() as folder:
        for name, size, rate in FORMATS:
            film = drawn(Path(folder) / f"{name}.mp4", size, rate, asked.seconds)
            mbit = film.stat().st_size * 8 / asked.seconds / 1e6
            print(f"{name}: {asked.seconds} s at {mbit:.0f} Mbit/s", flush=True)
            compare(name, film, asked.rounds, works)
            if name == "720p30":
                memory(film, 5)
        cuts(Path(folder), asked.library)


if __name__ == "__main__":
    main()
