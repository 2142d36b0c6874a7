"""Whether proposals are as sure as they say: python -m tests.learning.reliability --corpus DIR --kept FOLDER

FOLDER holds what `tests.learning.rounds --keep` left: each round's reader judges the narrations that it never saw. Prints,
for segments and mentions by how sure they say they are, how many there are and how many are right: a segment by the share
of its time that bears its step, a mention when the same concept with the same assertion stands within 4 s.
"""

from __future__ import annotations

import argparse
import json
import math
from collections.abc import Iterator
from pathlib import Path

from indexer.narration.reader import read_learned
from indexer.steps.flow import Flow
from indexer.tagging import Tagger
from indexer.transcripts.reading import parse_transcript
from indexer.vocabulary.loading import load_vocabulary
from tests.learning.bench import Bench

STYLE = "short"
NEAR_S = 4.0
Judged = list[tuple[float, float]]
"""(how sure, how right), each from 0 to 1."""


def taggers(kept: Path) -> Iterator[tuple[Tagger, list[str]]]:
    """Each round's tagger with the narrations that it never saw."""
    vocabulary = load_vocabulary()
    for path in sorted(kept.glob("round-*.json")):
        about = json.loads(path.read_text())
        reader = read_learned(path.with_suffix(".npz").read_bytes())
        yield Tagger(vocabulary, reader, Flow(vocabulary, counts=about["flow"])), about["held"]


def table(name: str, judged: Judged) -> None:
    """One line for each tenth of sureness, and the fit that would set it right."""
    print(f"{name}: {len(judged)}")
    for tenth in range(10):
        inside = [
            (sure, right)
            for sure, right in judged
            if tenth / 10 <= sure < (tenth + 1) / 10 or (tenth == 9 and sure == 1)
        ]
        if inside:
            said, true = (sum(values) / len(inside) for values in zip(*inside, strict=True))
            print(f"  {tenth / 10:.1f} to {(tenth + 1) / 10:.1f}: {len(inside):5} said {said:.2f} right {true:.2f}")
    print("  log odds times {:.2f} plus {:.2f} would fit best".format(*fit(judged)))


def fit(judged: Judged) -> tuple[float, float]:
    """The scale and shift of the log odds that make the sureness fit best, by Newton's method on the log loss."""
    scale, shift = 1.0, 0.0
    odds = [
        (math.log(min(max(sure, 1e-4), 1 - 1e-4) / (1 - min(max(sure, 1e-4), 1 - 1e-4))), right)
        for sure, right in judged
    ]
    for _ in range(25):
        g0 = g1 = h00 = h01 = h11 = 0.0
        for x, right in odds:
            p = 1 / (1 + math.exp(-(scale * x + shift)))
            g0, g1, weight = g0 + (p - right) * x, g1 + p - right, p * (1 - p)
            h00, h01, h11 = h00 + weight * x * x, h01 + weight * x, h11 + weight
        determinant = h00 * h11 - h01 * h01 + 1e-9
        scale -= (h11 * g0 - h01 * g1) / determinant
        shift -= (h00 * g1 - h01 * g0) / determinant
    return scale, shift


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--corpus", type=Path, required=True)
    parser.add_argument("--kept", type=Path, required=True)
    parser.add_argument("--speech", nargs="+", default=["heard", "machine"])
    options = parser.parse_args()
    bench = Bench(options.corpus, tuple(options.speech))
    segments: Judged = []
    mentions: Judged = []
    for tagger, held in taggers(options.kept):
        for case in bench.cases:
            if case["id"] not in held:
                continue
            for speech in options.speech:
                lines = bench.lines(case, speech)
                transcript = parse_transcript(bench.written(case, speech, STYLE), f"{case['id']}.srt")
                tagging = tagger.tag(transcript)
                for one in tagging.segments:
                    inside = [
                        line for line in lines if line["t0"] < one.end_ms / 1000 and line["t1"] > one.start_ms / 1000
                    ]
                    spans = [
                        (
                            min(line["t1"], one.end_ms / 1000) - max(line["t0"], one.start_ms / 1000),
                            line["step"] == one.step,
                        )
                        for line in inside
                    ]
                    whole = sum(length for length, _ in spans)
                    if whole > 0:
                        segments.append((one.confidence, sum(length for length, right in spans if right) / whole))
                for named in tagging.mentions:
                    right = any(
                        line["t0"] - NEAR_S <= named.start_ms / 1000 <= line["t1"] + NEAR_S and named.concept == concept
                        for line in lines
                        for concept, _, _ in line["mentions"]
                    )
                    mentions.append((named.confidence, float(right)))
    table("segments", segments)
    table("mentions", mentions)


if __name__ == "__main__":
    main()
