"""What goes with the words that are asked for: words of a like meaning, words told beside them, steps they belong to.

`schemas/language/asking.json` is written by hand; `schemas/learned/FIELD-asking.json` was learned from narrations with
the queries that they answer (`tests/learning/asking.py`).
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from importlib import resources

from indexer.catalogue.wordlist import stems

NEVER = "*"
"""In the row of a word: what counts for all steps that it was never heard in."""


@dataclass(frozen=True)
class Associations:
    """For some words asked for: stems told beside each of them, and how likely each step is, both as logarithms."""

    told: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    steps: Sequence[Mapping[str, float]] = ()

    def step(self, step: str) -> float:
        """How much likelier than usual a step is where these words are asked for; below zero: less likely."""
        return sum(row.get(step, row.get(NEVER, 0.0)) for row in self.steps)

    def heard(self, said: frozenset[str]) -> float:
        """How much of what goes with the words is said."""
        return sum(
            max((value for other, value in beside.items() if other in said), default=0.0)
            for stem, beside in self.told.items()
            if stem not in said
        )


def associations(asked: Iterable[str], fields: Iterable[str]) -> Associations:
    """What was learned of some stems, in the fields of surgery that were taught."""
    tables = [table for field in fields if (table := _learned(field))]
    told: dict[str, Mapping[str, float]] = {}
    steps: list[Mapping[str, float]] = []
    for stem in dict.fromkeys(asked):
        for table in tables:
            if stem in table["words"]:
                told[stem] = {**told.get(stem, {}), **table["words"][stem]}
            if stem in table["steps"]:
                steps.append(table["steps"][stem])
    return Associations(told, tuple(steps))


@lru_cache(maxsize=16)
def _learned(field: str) -> Mapping[str, Mapping[str, Mapping[str, float]]]:
    source = resources.files("schemas").joinpath("learned", f"{field}-asking.json")
    found: Mapping[str, Mapping[str, Mapping[str, float]]] = (
        json.loads(source.read_text(encoding="utf-8")) if source.is_file() else {}
    )
    return found


def like_meaning(stem: str) -> frozenset[str]:
    """Stems of words that surgeons use for the same: who asks for a stitch may be answered by a suture."""
    return _families().get(stem, frozenset())


@lru_cache(maxsize=1)
def _families() -> Mapping[str, frozenset[str]]:
    data = json.loads(resources.files("schemas").joinpath("language", "asking.json").read_text(encoding="utf-8"))
    found: dict[str, set[str]] = defaultdict(set)
    for family in data["akin"]:
        together = {stem for word in family for stem in stems(word)}
        for stem in together:
            found[stem] |= together
    return {stem: frozenset(family - {stem}) for stem, family in found.items()}
