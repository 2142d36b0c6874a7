"""Judge the tagger on narrations left out of its learning.

    python -m tests.learning.rounds --corpus DIR [--also DIR] [--out K] [--speech clean heard machine]

DIR holds marked narrations under `dev/`, with `build.py` and `score.py` beside them, whose layouts and tally are used.
The narrations are dealt into rounds; in each, networks and counts are learned from all others (and from those of
`--also`), and the ones left out are tagged through the library, from transcripts of all styles. `--out 1` leaves one
narration out at a time. `--plain` judges the tagger without a reader.
"""

from __future__ import annotations

import argparse
import importlib
import json
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import torch

from indexer.models.tagged import Tagging
from indexer.narration.reader import Reader, read_learned
from indexer.steps.flow import Flow
from indexer.tagging import Tagger
from indexer.transcripts.reading import parse_transcript
from indexer.vocabulary.loading import load_vocabulary
from tests.learning import marked, teaching
from tests.learning.network import stored

SPEECHES = ("clean", "heard", "machine")
STYLES = ("sentence", "block", "rolling", "short")


def told(tagging: Tagging) -> dict[str, Any]:
    """A tagging in the terms of the scorer."""
    return {
        "segments": [{"start": s.start_ms / 1000, "end": s.end_ms / 1000, "step": s.step} for s in tagging.segments],
        "mentions": [
            {"concept": m.concept, "assertion": m.assertion.value, "start": m.start_ms / 1000, "end": m.end_ms / 1000}
            for m in tagging.mentions
        ],
        "measures": [
            {"measure": m.measure, "low": m.low, "high": m.high, "unit": m.unit, "start": m.start_ms / 1000}
            for m in tagging.measures
        ],
        "findings": [finding.concept for finding in tagging.findings],
    }


class Bench:
    """The corpus, its scorer, and the figures gathered so far."""

    def __init__(self, corpus: Path, speeches: tuple[str, ...]) -> None:
        sys.path.insert(0, str(corpus))
        self._build, self._score = importlib.import_module("build"), importlib.import_module("score")
        self.cases = marked.load(corpus / "dev")
        self.speeches = speeches
        self.tallies = {(style, speech): self._score.Tally() for speech in speeches for style in STYLES}

    def judge(self, case: dict[str, Any], tagger: Tagger) -> None:
        """Tag one narration in all styles and speeches."""
        for speech in self.speeches:
            lines, _ = self._build.lay_out(case, speech)
            for style, extension, text in self._build.transcripts(case, speech):
                transcript = parse_transcript(text.encode(), f"{case['id']}.{extension}")
                self.tallies[style, speech].add(case, lines, told(tagger.tag(transcript)))

    def rows(self) -> Iterator[str]:
        """The figures, a row for each style and speech, and the mean of the styles."""
        for speech in self.speeches:
            every = []
            for style in STYLES:
                figures = self.tallies[style, speech].figures()
                every.append(figures)
                yield self._score.row(f"{style} {speech}", figures)
            mean = {key: sum(f[key] or 0 for f in every) / len(every) for key in every[0]}
            yield self._score.row(f"= {speech}", mean)

    def mean(self, speech: str) -> dict[str, float]:
        """The mean of the styles."""
        every = [self.tallies[style, speech].figures() for style in STYLES]
        return {key: sum(f[key] or 0 for f in every) / len(every) for key in every[0]}


def learned_reader(lessons: list[teaching.Lesson], course: teaching.Course, networks: int, rounds: int) -> Reader:
    """A reader as it would ship, by way of its file."""
    taught = [teaching.teach(lessons, course, rounds=rounds, seed=seed) for seed in range(networks)]
    return read_learned(stored(taught, course.steps, course.concepts, "a round"))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--corpus", type=Path, required=True)
    parser.add_argument("--also", type=Path, help="a folder of further marked narrations, learned from in every round")
    parser.add_argument("--out", type=int, default=4, help="narrations left out in one round")
    parser.add_argument("--only", type=int, help="stop after so many rounds")
    parser.add_argument("--networks", type=int, default=1)
    parser.add_argument("--rounds", type=int, default=14, help="times that each narration is gone through")
    parser.add_argument("--speech", nargs="+", choices=SPEECHES, default=list(SPEECHES))
    parser.add_argument("--plain", action="store_true", help="the vocabulary alone, nothing learned")
    parser.add_argument("--keep", type=Path, help="keep what each round learned in this folder, and use what is there")
    parser.add_argument("--threads", type=int, default=1)
    options = parser.parse_args()
    torch.set_num_threads(options.threads)
    vocabulary = load_vocabulary()
    course = teaching.Course.of(vocabulary)
    plain = Tagger(vocabulary, None, Flow(vocabulary))
    bench = Bench(options.corpus, tuple(options.speech))
    if options.plain:
        for case in bench.cases:
            bench.judge(case, plain)
        print("\n".join(bench.rows()))
        return
    lessons = {
        case["id"]: [teaching.lesson(case, speech, plain, course) for speech in marked.speeches(case)]
        for case in bench.cases + (marked.load(options.also) if options.also else [])
    }
    plainly = teaching.plain_lessons(options.also / "plain", plain, course) if options.also else []
    names = [case["id"] for case in bench.cases]
    hands = [names[start :: -(-len(names) // options.out)] for start in range(-(-len(names) // options.out))]
    began = time.time()
    for number, held in enumerate(hands[: options.only], 1):
        kept = [one for name, many in lessons.items() if name not in held for one in many]
        flow = Flow(vocabulary, [teaching.visits(one.marked) for one in kept if one.marked.speech == "clean"])
        stem = options.keep / f"round-{number:02}" if options.keep else None
        if stem is not None and stem.with_suffix(".npz").exists():
            reader = read_learned(stem.with_suffix(".npz").read_bytes())
        else:
            taught = [
                teaching.teach([*kept, *plainly], course, rounds=options.rounds, seed=seed)
                for seed in range(options.networks)
            ]
            data = stored(taught, course.steps, course.concepts, f"all but {', '.join(held)}")
            reader = read_learned(data)
            if stem is not None:
                stem.parent.mkdir(parents=True, exist_ok=True)
                stem.with_suffix(".npz").write_bytes(data)
                stem.with_suffix(".json").write_text(json.dumps({"held": held, "flow": flow.counted()}))
        tagger = Tagger(vocabulary, reader, flow)
        for case in bench.cases:
            if case["id"] in held:
                bench.judge(case, tagger)
        print(f"round {number} of {len(hands)}, {time.time() - began:.0f} s", flush=True)
        if number in (1, 3) or number == len(hands):
            print("\n".join(bench.rows()), flush=True)


if __name__ == "__main__":
    main()
