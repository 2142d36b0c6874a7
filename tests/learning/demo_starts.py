"""How far proposed step starts lie from the hands: python -m tests.learning.demo_starts

The drawn operations know by frame when each step begins. Their narrations are laid to lag the hands by so many seconds,
or to lead them (below zero), written down in their own style, tagged without their films, and each true start is held
against the nearest proposed start of the same step. A step of which no start is proposed within 20 s is missed.
"""

from __future__ import annotations

import statistics
from dataclasses import replace

from demo_clips.scenario import scenarios
from demo_clips.writing import transcript
from indexer.tagging import tag
from indexer.transcripts.reading import parse_transcript
from indexer.vocabulary.loading import load_vocabulary

LAGS_S = (-6.0, -4.0, -2.0, 0.0, 2.0, 4.0, 6.0)
MISSED_S = 20.0


def main() -> None:
    vocabulary = load_vocabulary()
    for lag in LAGS_S:
        early, late, missed = [], [], 0
        for scenario in scenarios():
            told = replace(scenario, speech=replace(scenario.speech, lags=(lag,)))
            suffix, text = transcript(told)
            tagging = tag(parse_transcript(text.encode(), f"{scenario.key}{suffix}"), vocabulary)
            proposed = [(vocabulary.coarse(one.step), one.start_ms / 1000) for one in tagging.segments]
            for step, frame in scenario.step_starts:
                true = float(frame / scenario.film.rate)
                apart = [start - true for name, start in proposed if name == vocabulary.coarse(step)]
                nearest = min(apart, key=abs, default=MISSED_S)
                if abs(nearest) >= MISSED_S:
                    missed += 1
                else:
                    early.append(abs(nearest))
                    late.append(nearest)
        count = len(early) + missed
        print(
            f"lag {lag:+.0f} s: {count} starts, missed {missed / count:.2f}, "
            f"median apart {statistics.median(early):.1f} s, mean {statistics.mean(late):+.1f} s, "
            f"within 2 s {sum(one <= 2 for one in early) / count:.2f}, within 5 s {sum(one <= 5 for one in early) / count:.2f}"
        )


if __name__ == "__main__":
    main()
