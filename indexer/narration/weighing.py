"""Learned weights of the clues to a measure, kept as JSON that a person can read."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from importlib import resources
from typing import NamedTuple

from indexer.narration.clues import Reading

NOTHING = "nothing"


class ClueWeights(NamedTuple):
    """What each clue counts, in natural-log odds."""

    shared: Mapping[str, float]
    """By clue, for every measure alike."""
    words: Mapping[str, Mapping[str, float]]
    """By clue of the context and then by measure (`nothing` for none)."""

    def known(self) -> frozenset[str]:
        """The measures that the context weights were learned with."""
        return frozenset(self.words.get("always", ())) - {NOTHING}

    def chances(
        self, readings: Sequence[Reading], context: Iterable[tuple[str, float]], names: Sequence[str]
    ) -> list[float]:
        """The probability of each reading; they sum to one."""
        heard: dict[str, float] = {}
        for clue, loud in context:
            for name, weight in self.words.get(clue, {}).items():
                heard[name] = heard.get(name, 0.0) + loud * weight
        scores = []
        for reading in readings:
            name = NOTHING if reading.measure < 0 else names[reading.measure]
            score = heard.get(name, 0.0)
            for clue, loud in reading.clues.items():
                score += loud * self.shared.get(clue, 0.0)
            scores.append(score)
        top = max(scores)
        shares = [math.exp(score - top) for score in scores]
        total = sum(shares)
        return [share / total for share in shares]


def read_weights(text: str) -> ClueWeights:
    """Read what `written_weights` wrote."""
    data = json.loads(text)
    return ClueWeights(data["shared"], data["words"])


def written_weights(weights: ClueWeights) -> str:
    """The weights as JSON, a clue a line, in order of the alphabet."""
    shared = ",\n".join(f"  {json.dumps(clue)}: {weight}" for clue, weight in sorted(weights.shared.items()))
    by_clue = sorted(weights.words.items())
    words = ",\n".join(f"  {json.dumps(clue)}: {json.dumps(dict(sorted(by.items())))}" for clue, by in by_clue)
    return f'{{\n"shared": {{\n{shared}\n}},\n"words": {{\n{words}\n}}\n}}\n'


@cache
def shipped_weights(field: str) -> ClueWeights | None:
    """The weights that ship under a name; `any-measures` holds the shared ones for vocabularies without their own."""
    source = resources.files("schemas").joinpath("learned", f"{field}-measures.json")
    return read_weights(source.read_text(encoding="utf-8")) if source.is_file() else None
