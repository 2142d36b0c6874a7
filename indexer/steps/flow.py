"""How an operation runs: which step follows which, and how long each takes.

What the vocabulary says (usual neighbours, usual order, usual length) is the prior; counted changes of step and lengths
from marked or accepted operations are added to it, so that with every accepted case the model comes nearer to the
surgeon's own way.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from copy import deepcopy
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from indexer.models.tagged import Visit
from indexer.vocabulary.vocabulary import Vocabulary

Floats = npt.NDArray[np.float64]

PRIOR_CHANGES = 6.0
"""What the vocabulary's word on a step's followers weighs, in counted changes."""
PRIOR_LENGTHS = 4.0
"""What the vocabulary's word on a step's length weighs, in counted visits."""
OWN_COUNTS = 3
"""How much more an operation of the same surgeon counts than one of somebody else."""
WIDEST = 2.2
"""Standard deviation of the log of a length where nothing is known of it."""
NARROWEST = 0.45


class Flow:
    """Order and length of the steps and parts of a vocabulary."""

    def __init__(
        self,
        vocabulary: Vocabulary,
        operations: Iterable[Sequence[Visit]] = (),
        counts: Mapping[str, object] | None = None,
    ) -> None:
        self.steps = [concept.id for facet in ("part", "step") for concept in vocabulary.of_facet(facet)]
        self.steps.sort(key=vocabulary.place)
        self._number = {step: number for number, step in enumerate(self.steps)}
        size = len(self.steps)
        self._changes = np.zeros((size + 1, size + 1))
        self._lengths: list[list[float]] = [[] for _ in self.steps]
        self._prior = _prior_changes(vocabulary, self.steps)
        self._prior_lengths = [_prior_length(vocabulary, step) for step in self.steps]
        self._stored_lengths: list[tuple[float, float, float]] = [(0.0, 0.0, 0.0)] * size
        if counts:
            self._take(counts)
        for operation in operations:
            self.learn(operation)

    def learn(self, operation: Sequence[Visit]) -> None:
        """Count one operation: its changes of step, its beginning and end, its lengths. Unknown steps are passed over."""
        known = [visit for visit in operation if visit.step in self._number]
        path = [len(self.steps), *(self._number[visit.step] for visit in known), len(self.steps)]
        for before, after in pairwise(path):
            self._changes[before, after] += 1
        for visit in known:
            self._lengths[self._number[visit.step]].append(math.log(max(visit.length_ms, 500)))

    def with_operations(self, operations: Sequence[Sequence[Visit]]) -> Flow:
        """This flow, with further operations counted; each counts as several, since they are of the same hand."""
        if not operations:
            return self
        own = deepcopy(self)
        for operation in operations:
            for _ in range(OWN_COUNTS):
                own.learn(operation)
        return own

    def _take(self, counts: Mapping[str, object]) -> None:
        """Add counts that were stored: see `counted`."""
        edge = len(self.steps)
        changes = counts.get("changes", [])
        assert isinstance(changes, list)
        for before, after, count in changes:
            row = edge if before is None else self._number.get(before)
            column = edge if after is None else self._number.get(after)
            if row is not None and column is not None:
                self._changes[row, column] += count
        lengths = counts.get("lengths", {})
        assert isinstance(lengths, dict)
        for step, (number, total, squares) in lengths.items():
            if step in self._number:
                self._stored_lengths[self._number[step]] = (number, total, squares)

    def counted(self) -> dict[str, object]:
        """What was counted, as plain values: changes [before, after, count], None for beginning and end; log lengths."""
        names: list[str | None] = [*self.steps, None]
        rows, columns = np.nonzero(self._changes)
        changes = [[names[a], names[b], float(self._changes[a, b])] for a, b in zip(rows, columns, strict=True)]
        lengths = {}
        for step, number in self._number.items():
            count, total, squares = self._sums(number)
            if count:
                lengths[step] = [count, round(total, 4), round(squares, 4)]
        return {"changes": changes, "lengths": lengths}

    def _sums(self, number: int) -> tuple[float, float, float]:
        count, total, squares = self._stored_lengths[number]
        logs = self._lengths[number]
        return count + len(logs), total + sum(logs), squares + sum(value * value for value in logs)

    def log_changes(self) -> Floats:
        """Natural log of the probability of each change, (steps + 1, steps + 1); the last row begins, the last column ends.

        A step does not follow itself: staying is told by the length.
        """
        weights = self._changes + PRIOR_CHANGES * self._prior
        np.fill_diagonal(weights[:-1, :-1], 0.0)
        weights[-1, -1] = 0.0
        with np.errstate(divide="ignore"):
            return np.asarray(np.log(weights / weights.sum(1, keepdims=True)))

    def log_length(self, seconds: Floats) -> Floats:
        """Natural log of the density of the log of each length, for each step: (lengths, steps)."""
        centre, spread = self.length_parameters()
        z = (np.log(np.maximum(seconds, 0.5))[:, None] - centre) / spread
        return np.asarray(-0.5 * z**2 - np.log(spread))

    def length_parameters(self) -> tuple[Floats, Floats]:
        """Mean and standard deviation of the natural log of each step's length in seconds: two of (steps,)."""
        centres, spreads = [], []
        for number, (prior_centre, prior_spread) in enumerate(self._prior_lengths):
            count, total, squares = self._sums(number)
            # Stored logs are of milliseconds.
            mean = total / count - math.log(1000) if count else prior_centre
            variance = max(0.0, squares / count - (total / count) ** 2) if count else prior_spread**2
            weight = count / (count + PRIOR_LENGTHS)
            centre = weight * mean + (1 - weight) * prior_centre
            between = weight * (1 - weight) * (mean - prior_centre) ** 2
            centres.append(centre)
            spreads.append(max(NARROWEST, math.sqrt(weight * variance + (1 - weight) * prior_spread**2 + between)))
        return np.array(centres), np.array(spreads)

    def log_likelihood(self, operation: Sequence[Visit]) -> float:
        """How well an operation fits: natural log, order and lengths together. Raises KeyError for a foreign step."""
        changes = self.log_changes()
        path = [len(self.steps), *(self._number[visit.step] for visit in operation), len(self.steps)]
        order = sum(changes[before, after] for before, after in pairwise(path))
        lengths = self.log_length(np.array([visit.length_ms / 1000 for visit in operation]))
        return float(order + sum(lengths[row, self._number[visit.step]] for row, visit in enumerate(operation)))


def _prior_changes(vocabulary: Vocabulary, steps: Sequence[str]) -> Floats:
    """What the vocabulary says of followers: named neighbours first, else the nearer in the usual order the likelier."""
    size = len(steps)
    prior = np.zeros((size + 1, size + 1))
    for row, before in enumerate(steps):
        for column, after in enumerate(steps):
            ahead = column - row
            distance = ahead - 1 if ahead > 0 else 4 - 1.5 * ahead
            prior[row, column] = 0.4 * math.exp(-distance / 4) + 0.004
            if after in vocabulary[before].before or before in vocabulary[after].after:
                prior[row, column] += 1.5
        prior[row, size] = 0.02 + 0.5 * math.exp(-(size - 1 - row) / 2)
        prior[size, row] = 0.02 + math.exp(-row / 1.5)
    np.fill_diagonal(prior[:size, :size], 0.0)
    return np.asarray(prior / prior.sum(1, keepdims=True))


def _prior_length(vocabulary: Vocabulary, step: str) -> tuple[float, float]:
    """Mean and standard deviation of the log of a step's length in seconds, as the vocabulary has it.

    Low and high are about the fastest and slowest tenth: 1.28 standard deviations to either side of a normal.
    """
    length = vocabulary[step].length_s
    if length is None:
        return math.log(25), WIDEST / 2
    return math.log(length.median), max(NARROWEST, (math.log(length.high) - math.log(length.low)) / 2 / 1.2816)
