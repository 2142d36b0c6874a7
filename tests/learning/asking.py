"""Learn from marked narrations which steps and words go with the words that are asked for.

`python -m tests.learning.asking [tests/narrations]` writes `schemas/learned/FIELD-asking.json`. A narration teaches by
its queries, each with the lines that answer it, and, with less weight, by what its lines say one after the other.
"""

from __future__ import annotations

import json
import sys
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from math import log
from pathlib import Path
from typing import Any

from indexer.catalogue.wordlist import stems
from tests.learning import marked

FIELD = "cataract"
QUERY, LINE = 3.0, 0.5
"""What a query and its answer teach, and what a line and its neighbours do."""
FEWEST = 3.0
"""A word has to have taught so much before it is believed."""
STRONG, HIGHEST = 0.5, 3.0
"""Associations below the first are left out, above the second are no stronger."""
MOST = 16
"""Words kept for each word."""

Table = dict[str, dict[str, float]]


class Together:
    """How often a word stands with something, and what would be expected by chance."""

    def __init__(self) -> None:
        self.pairs: dict[str, Counter[str]] = defaultdict(Counter)
        self.words: Counter[str] = Counter()
        self.others: Counter[str] = Counter()
        self.all = 0.0

    def add(self, words: Iterable[str], others: Iterable[str], weight: float) -> None:
        """Count that all of the words stand with all of the others."""
        kept = set(others)
        self.all += weight
        self.others.update(dict.fromkeys(kept, weight))  # type: ignore[arg-type]
        for word in set(words):
            self.words[word] += weight  # type: ignore[assignment]
            self.pairs[word].update(dict.fromkeys(kept, weight))  # type: ignore[arg-type]

    def table(self, most: int, damping: float = 1.5) -> Table:
        """For each word what goes with it: the logarithm of seen over expected."""
        found: Table = {}
        for word, pairs in self.pairs.items():
            if self.words[word] < FEWEST:
                continue
            rated = {
                other: min(HIGHEST, log((seen + 0.5) / (self.words[word] * self.others[other] / self.all + damping)))
                for other, seen in pairs.items()
                if other != word
            }
            best = sorted((each for each in rated.items() if each[1] >= STRONG), key=lambda each: (-each[1], each[0]))
            if best:
                found[word] = {other: round(value, 2) for other, value in best[:most]}
        return dict(sorted(found.items()))


def _stems(text: str) -> set[str]:
    return {stem for word in text.split() for stem in stems(word)}


def learn(cases: Iterable[Mapping[str, Any]]) -> dict[str, Table]:
    """The tables `steps` and `words` of some narrations."""
    words = Together()
    steps: dict[str, Counter[str]] = defaultdict(Counter)
    usual: Counter[str] = Counter()
    for case in cases:
        said = [_stems(line["clean"]) for line in case["lines"]]
        for number, line in enumerate(case["lines"]):
            near = set[str]().union(*said[max(0, number - 1) : number + 2])
            words.add(said[number], near, LINE)
            if line["step"]:
                usual[line["step"]] += 1
                for stem in said[number] | _stems(line["heard"]):
                    steps[stem][line["step"]] += LINE  # type: ignore[assignment]
        for query in case.get("queries", ()):
            asked, answers = _stems(query["q"]), query["lines"]
            words.add(asked, set[str]().union(*(said[number] for number in answers)), QUERY)
            for number in answers:
                if (step := case["lines"][number]["step"]) is not None:
                    for stem in asked:
                        steps[stem][step] += QUERY / len(answers)  # type: ignore[assignment]
    return {"steps": _steps(steps, usual), "words": words.table(MOST)}


def _steps(steps: Mapping[str, Counter[str]], usual: Counter[str], damping: float = 3.0) -> Table:
    """For each word how much likelier than usual each step is; a step that is not in a row never went with it."""
    found: Table = {}
    everything = sum(usual.values())
    for stem, counted in steps.items():
        many = sum(counted.values())
        if many >= FEWEST:
            row = {
                step: log((counted[step] + damping * share) / (many + damping) / share)
                for step, share in ((step, times / everything) for step, times in usual.items())
            }
            found[stem] = {step: round(max(-2.0, min(3.0, value)), 2) for step, value in row.items() if counted[step]}
            found[stem]["*"] = round(max(-2.0, log(damping / (many + damping))), 2)
    return dict(sorted(found.items()))


def main(folder: Path) -> None:
    """Learn from a folder of narrations and write what ships."""
    cases = [case for case in marked.load(folder) if case.get("queries") and case.get("field", FIELD) == FIELD]
    target = Path("schemas/learned") / f"{FIELD}-asking.json"
    target.write_text(json.dumps(learn(cases), separators=(",", ":"), ensure_ascii=False) + "\n", encoding="utf-8")
    print(f"{target}: from {len(cases)} narrations, {target.stat().st_size // 1024} KiB")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "tests/narrations"))
