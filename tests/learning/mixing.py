"""New lessons from old ones: stretches of a step are replaced by stretches of the same step out of other narrations.

The operation keeps its order, the words come from several speakers; so the network meets many more ways in which the
telling of one step leads into that of the next.
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Sequence
from itertools import groupby
from typing import NamedTuple

import numpy as np
import torch

from indexer.narration.features import CHANNELS, FACETS, Features
from tests.learning.lessons import Lesson

WAVES = 2 * len(CHANNELS) + 5
FACTS = WAVES + 8
PLACE, OFF = FACTS + len(FACETS) + 2, FACTS + len(FACETS) + 3
"""Columns of `Features.plain` that tell where in the narration a token stands."""


class Stretch(NamedTuple):
    """Tokens `first` up to `last` of a lesson, all of one step."""

    lesson: Lesson
    first: int
    last: int


def stretches(lesson: Lesson) -> list[tuple[int, Stretch]]:
    """The stretches of a lesson with their step's number, in order."""
    found, at = [], 0
    for step, group in groupby(lesson.steps.tolist()):
        size = len(list(group))
        found.append((step, Stretch(lesson, at, at + size)))
        at += size
    return found


class Pool:
    """All stretches of some lessons, by step."""

    def __init__(self, lessons: Sequence[Lesson]) -> None:
        self._by_step: dict[int, list[Stretch]] = defaultdict(list)
        for lesson in lessons:
            for step, stretch in stretches(lesson):
                self._by_step[step].append(stretch)

    def mixed(self, lesson: Lesson, chance: random.Random, share: float) -> Lesson:
        """A lesson with about such a share of its stretches taken from others."""
        parts = [
            chance.choice(self._by_step[step]) if step >= 0 and chance.random() < share else stretch
            for step, stretch in stretches(lesson)
        ]
        return _joined(lesson, parts)


def _joined(host: Lesson, parts: Sequence[Stretch]) -> Lesson:
    plain = np.concatenate([part.lesson.features.plain[part.first : part.last] for part in parts])
    where = np.linspace(0.0, 1.0, len(plain))
    for number in range(4):
        plain[:, WAVES + number] = np.sin(np.pi * (number + 1) * where)
        plain[:, WAVES + 4 + number] = np.cos(np.pi * (number + 1) * where)
    known = plain[:, FACTS : FACTS + len(FACETS)].any(1)
    plain[known, OFF] = plain[known, PLACE] - where[known]
    hits = []
    for channel in range(len(CHANNELS)):
        columns: list[list[np.ndarray]] = [[], [], []]
        at = 0
        for part in parts:
            tokens, concepts, weights = part.lesson.features.hits[channel]
            inside = (tokens >= part.first) & (tokens < part.last)
            columns[0].append(tokens[inside] - part.first + at)
            columns[1].append(concepts[inside])
            columns[2].append(weights[inside])
            at += part.last - part.first
        hits.append(tuple(np.concatenate(column) for column in columns))
    features = Features(
        np.concatenate([part.lesson.features.words[part.first : part.last] for part in parts]),
        np.concatenate([part.lesson.features.pieces[part.first : part.last] for part in parts]),
        plain,
        tuple(hits),
        host.features.bag,
    )
    answers = [
        torch.cat([getattr(part.lesson, name)[part.first : part.last] for part in parts])
        for name in ("steps", "concepts", "assertions", "begins")
    ]
    return Lesson(host.marked, features, *answers)
