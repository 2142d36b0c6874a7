"""Judge the tagger on narrations left out of its learning.

    python -m tests.learning.rounds --corpus DIR [--also DIR] [--out K] [--speech clean heard machine]

DIR holds marked narrations under `dev/`, with `build.py` and `score.py` beside them, whose layouts and tally are used.
The narrations are dealt into rounds; in each, networks and counts are learned from all others (and from those of
`--also`), and the ones left out are tagged through the library, from transcripts of all styles. `--out 1` leaves one
narration out at a time. `--plain` judges the tagger without a reader.
"""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path

import torch

from indexer.narration import measures
from indexer.narration.reader import read_learned
from indexer.steps.flow import Flow
from indexer.tagging import Tagger
from indexer.vocabulary.loading import load_vocabulary
from tests.learning import marked, measuring, teaching
from tests.learning.bench import SPEECHES, Bench, told
from tests.learning.network import stored
from tests.learning.visiting import visits


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--corpus", type=Path, required=True)
    parser.add_argument("--also", type=Path, help="a folder of further marked narrations, learned from in every round")
    parser.add_argument("--out", type=int, default=4, help="narrations left out in one round")
    parser.add_argument("--only", type=int, help="stop after so many rounds")
    parser.add_argument("--first", type=int, default=1, help="begin with this round")
    parser.add_argument("--networks", type=int, default=1)
    parser.add_argument("--rounds", type=int, default=12, help="times that each narration is gone through")
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
            bench.judge(case, lambda transcript: told(plain.tag(transcript)))
        print("\n".join(bench.rows()))
        return
    every = bench.cases + (marked.load(options.also) if options.also else [])
    lessons = {
        case["id"]: [teaching.lesson(case, speech, plain, course) for speech in marked.speeches(case)] for case in every
    }
    plainly = teaching.plain_lessons(options.also / "plain", plain, course) if options.also else []
    names = [case["id"] for case in bench.cases]
    hands = [names[start :: -(-len(names) // options.out)] for start in range(-(-len(names) // options.out))]
    began = time.time()
    for number, held in list(enumerate(hands, 1))[options.first - 1 : options.only]:
        kept = [one for name, many in lessons.items() if name not in held for one in many]
        flow = Flow(vocabulary, [visits(one.marked) for one in kept if one.marked.speech == "clean"])
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
        others = [case for case in every if case["id"] not in held]
        measures.read_with(vocabulary, measuring.weights_from(others, vocabulary, bench.build))
        tagger = Tagger(vocabulary, reader, flow)
        for case in bench.cases:
            if case["id"] in held:
                bench.judge(case, lambda transcript: told(tagger.tag(transcript)))  # noqa: B023
        print(f"round {number} of {len(hands)}, {time.time() - began:.0f} s", flush=True)
        print("\n".join(row for row in bench.rows() if row.startswith("=")), flush=True)
    print("\n".join(bench.rows()))


if __name__ == "__main__":
    main()
