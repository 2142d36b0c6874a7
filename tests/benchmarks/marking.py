"""How many keys, and how long, from proposals with a fifth of the segments wrong to all of them right.

Run: python -m tests.benchmarks.marking [--operation KEY] [--seed N]

The truth is that of an invented operation of the demo; its film here is one of numbered frames, which the browser plays.
A fifth of the proposed segments is made wrong, by turns: a wrong name, an edge off by 0.4 to 3 s, two steps taken for one, a
step cut in two. `tests/web/surgeon.py` puts them right in a real browser by the keyboard alone.

Times are not measured but worked out from keystroke-level figures (Card, Moran and Newell, Communications of the ACM 1980;
from memory): K = 0.28 s a key for an average typist, M = 1.35 s to make up one's mind. Each step looked at counts one M, each
fault one more. The film that has to be watched is added at the speed named.
"""

from __future__ import annotations

import argparse
import random
import tempfile
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

from demo_clips.scenario import Scenario, scenarios
from indexer.catalogue.library import Library
from indexer.models import Boundary, CaseContent, CaseDraft, Part, Segment, Tagging
from indexer.vocabulary.loading import load_vocabulary
from tests.films import write_film
from tests.web.running import running
from tests.web.surgeon import Effort, Surgeon, True_
from tests.web.test_in_browser import ARGUMENTS, chromium

K_S, M_S = 0.28, 1.35
WRONG_SHARE = 0.2
SPEEDS = (1.0, 2.0)


def main() -> None:
    """Print the figures."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--operation", default="four-hooks")
    asked.add_argument("--seed", type=int, default=1)
    options = asked.parse_args()
    plan = next(each for each in scenarios() if each.key == options.operation)
    truth = truth_of(plan)
    proposed, faults = spoilt(truth, random.Random(options.seed))
    effort, right = worked(plan, truth, proposed)
    print(f"{plan.title}: {len(truth)} steps, {truth[-1].end_ms / 1000:.0f} s of film, seed {options.seed}")
    print(f"wrong before: {', '.join(faults)}; all right afterwards: {'yes' if right else 'NO'}")
    print(f"keys {effort.keys} (of them {effort.shifts} holding Shift), decisions {effort.decisions}")
    for speed in SPEEDS:
        hands, mind, film = effort.keys * K_S, effort.decisions * M_S, effort.film_s / speed
        print(
            f"at {speed:g}x: {hands:.1f} s keys + {mind:.1f} s mind + {film:.1f} s film = {hands + mind + film:.1f} s"
        )


def truth_of(plan: Scenario) -> tuple[True_, ...]:
    """The steps of an operation as they are drawn; scenes of one step that follow each other are one step."""
    ms = 1000 / float(plan.film.rate)
    starts = [(step, frame) for step, frame in plan.step_starts]
    kept = [starts[0], *(after for before, after in pairwise(starts) if after[0] != before[0])]
    ends = [*(frame for _, frame in kept[1:]), plan.frames]
    return tuple(True_(step, round(at * ms), round(end * ms)) for (step, at), end in zip(kept, ends, strict=True))


def spoilt(truth: Sequence[True_], chance: random.Random) -> tuple[list[True_], list[str]]:
    """The truth with a fifth of its segments made wrong."""
    steps = list(truth)
    many = max(1, round(WRONG_SHARE * len(steps)))
    faults = []
    for number in range(many):
        fault = ("name", "edge", "merged", "parted")[number % 4]
        long = [
            place for place in range(len(steps) - 1) if all(_length(each) > 4000 for each in steps[place : place + 2])
        ]
        untouched = [place for place in long if steps[place] in truth and steps[place + 1] in truth]
        place = chance.choice(untouched)
        one, after = steps[place], steps[place + 1]
        if fault == "name":
            other = chance.choice([each.step for each in truth if each.step not in (one.step, after.step)])
            steps[place] = True_(other, one.start_ms, one.end_ms)
        elif fault == "edge":
            by = round(chance.uniform(400, min(3000, _length(one) / 2))) // 40 * 40
            steps[place : place + 2] = [
                True_(one.step, one.start_ms, one.end_ms - by),
                True_(after.step, one.end_ms - by, after.end_ms),
            ]
        elif fault == "merged":
            steps[place : place + 2] = [True_(one.step, one.start_ms, after.end_ms)]
        else:
            middle = (one.start_ms + one.end_ms) // 2
            steps[place : place + 1] = [True_(one.step, one.start_ms, middle), True_(one.step, middle, one.end_ms)]
        faults.append(fault)
    return steps, faults


def _length(one: True_) -> int:
    return one.end_ms - one.start_ms


def worked(plan: Scenario, truth: Sequence[True_], proposed: Sequence[True_]) -> tuple[Effort, bool]:
    """Put the proposals right in a browser; what it took, and whether they are right now."""
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as folder:
        film = write_film(Path(folder) / "film.mp4", plan.frames, plan.film.rate, size=(320, 180), gop=25)
        with Library.open(Path(folder) / "library", vocabulary=load_vocabulary()) as library:
            case, recording = put(library, film, plan, proposed)
            with running(library) as address, sync_playwright() as playwright:
                browser = playwright.chromium.launch(executable_path=chromium(), args=ARGUMENTS)
                page = browser.new_page()
                page.set_default_timeout(120_000)
                page.goto(f"{address}case/{case}/{recording}/mark")
                page.wait_for_selector("marking-page[data-ready]")
                page.locator("[data-autolook]").uncheck()
                page.evaluate("() => document.activeElement.blur()")
                effort = Surgeon(page, truth, 1000 / float(plan.film.rate)).work()
                browser.close()
            return effort, _right(library, recording, truth, 1000 / float(plan.film.rate))


def _right(library: Library, recording: str, truth: Sequence[True_], frame_ms: float) -> bool:
    marks = library.marking(library.owner, recording).segments
    same = [each.step for each in marks] == [one.step for one in truth]
    pairs = zip(marks, truth, strict=False)
    near = all(max(abs(a.start_ms - b.start_ms), abs(a.end_ms - b.end_ms)) <= 1.5 * frame_ms for a, b in pairs)
    return same and near and all(each.standing == "accepted" for each in marks)


def put(library: Library, film: Path, plan: Scenario, proposed: Sequence[True_]) -> tuple[str, str]:
    """Publish the operation with its proposals, the times of its frames beside it; ids of case and recording."""
    import numpy

    from indexer.footage.frames import frame_times
    from tests.web.invented import probe_of

    length_ms = proposed[-1].end_ms
    job = library.begin_case(CaseDraft(title=plan.title, sources=(film,)))
    content: dict[str, Any] = {
        "parts": (Part(path=film, probe=probe_of(film, length_ms), start_ms=0),),
        "film": None,
        "length_ms": length_ms,
        "frame_rate": float(plan.film.rate),
        "width": 320,
        "height": 180,
        "has_sound": False,
        "tagging": Tagging(language="en", segments=tuple(map(_proposal, proposed))),
    }
    library.publish(job.id, CaseContent(**content))
    media = library.media(job.recording_id)
    media.mkdir(parents=True, exist_ok=True)
    numpy.save(media / "frames.npy", frame_times(film))
    return job.case_id, job.recording_id


def _proposal(one: True_) -> Segment:
    start, end = (Boundary(at_ms=at, source="word", spread_ms=900) for at in (one.start_ms, one.end_ms))
    return Segment(step=one.step, start=start, end=end, confidence=0.7)


if __name__ == "__main__":
    main()
