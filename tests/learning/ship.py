"""Teach the reader that ships, from all marked narrations of the folders named.

python -m tests.learning.ship FOLDER... [--networks 3] [--rounds 12]

Writes `schemas/learned/FIELD.npz` (the networks) and `schemas/learned/FIELD-flow.json` (order and length of steps).
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import torch

from indexer.steps.flow import Flow
from indexer.tagging import Tagger
from indexer.vocabulary.loading import load_vocabulary
from tests.learning import marked, teaching
from tests.learning.network import stored
from tests.learning.visiting import visits


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--plain", type=Path, default=Path("tests/narrations/plain"), help="texts about other things")
    parser.add_argument("--field", default="cataract")
    parser.add_argument("--networks", type=int, default=3)
    parser.add_argument("--rounds", type=int, default=12)
    parser.add_argument("--threads", type=int, default=1)
    parser.add_argument("--to", type=Path, default=Path("schemas/learned"))
    options = parser.parse_args()
    torch.set_num_threads(options.threads)
    vocabulary = load_vocabulary()
    course = teaching.Course.of(vocabulary)
    plain = Tagger(vocabulary, None, Flow(vocabulary))
    lessons = [
        teaching.lesson(case, speech, plain, course)
        for folder in options.folders
        for case in marked.load(folder)
        for speech in marked.speeches(case)
    ]
    plainly = teaching.plain_lessons(options.plain, plain, course)
    flow = Flow(vocabulary, [visits(one.marked) for one in lessons if one.marked.speech == "clean"])
    networks = []
    for seed in range(options.networks):
        networks.append(teaching.teach([*lessons, *plainly], course, rounds=options.rounds, seed=seed))
        print(f"network {seed + 1} of {options.networks}", flush=True)
    options.to.mkdir(parents=True, exist_ok=True)
    about = f"{len({one.marked.name for one in lessons})} marked narrations"
    (options.to / f"{options.field}.npz").write_bytes(stored(networks, course.steps, course.concepts, about))
    (options.to / f"{options.field}-flow.json").write_text(json.dumps(flow.counted(), indent=1) + "\n")
    print(f"learned from {about}")


if __name__ == "__main__":
    main()
