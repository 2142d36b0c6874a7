"""From evidence at each unit of words to the likeliest run of segments: a semi-Markov decoder.

A segment of units a to b in step s scores the evidence for s within, the change from the step before, and its length.
`decode` finds the best run of segments; `posteriors` sums over all runs, which tells how sure each unit's step is and
how sure each border lies where it does.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

LONGEST_UNITS = 160
"""A segment is at most so many units long; the next may be of the same step only through `stay`."""


class Problem(NamedTuple):
    """What is to be decoded: n units, k steps."""

    evidence: Floats
    """Log score of each step at each unit: (n, k)."""
    borders_s: Floats
    """When each unit begins, and when the last ends: (n + 1,)."""
    changes: Floats
    """Log score of each change: (k + 1, k + 1), the last row beginning, the last column ending."""
    length_centre: Floats
    """Mean of the log of each step's length in seconds: (k,)."""
    length_spread: Floats
    open_border: Floats
    """Log score of a border before each unit: (n,), above zero where something (a pause, a cut, a word) speaks for it."""


class Run(NamedTuple):
    """Units `first` up to, not including, `last` are in `step`."""

    first: int
    last: int
    step: int


def _segment_scores(problem: Problem, end: int, sums: Floats) -> tuple[Ints, Floats]:
    """Scores of all segments that end before unit `end`, for each beginning and step: beginnings, (beginnings, k)."""
    starts = np.arange(max(0, end - LONGEST_UNITS), end)
    seconds = np.maximum(problem.borders_s[end] - problem.borders_s[starts], 0.5)
    z = (np.log(seconds)[:, None] - problem.length_centre) / problem.length_spread
    return starts, sums[end] - sums[starts] - 0.5 * z**2 - np.log(problem.length_spread)


def _sums(problem: Problem) -> Floats:
    size, steps = problem.evidence.shape
    sums = np.zeros((size + 1, steps))
    np.cumsum(problem.evidence, axis=0, out=sums[1:])
    return sums


def decode(problem: Problem) -> list[Run]:
    """The best run of segments; no units, no segments."""
    size, steps = problem.evidence.shape
    if not size:
        return []
    sums = _sums(problem)
    inner = problem.changes[:-1, :-1]
    entered = np.full((size, steps), -np.inf)
    came_from = np.zeros((size, steps), np.int64)
    entered[0] = problem.changes[-1, :-1]
    best = np.full((size + 1, steps), -np.inf)
    began = np.zeros((size + 1, steps), np.int64)
    for end in range(1, size + 1):
        starts, scores = _segment_scores(problem, end, sums)
        totals = scores + entered[starts]
        choice = totals.argmax(0)
        best[end] = totals[choice, np.arange(steps)]
        began[end] = starts[choice]
        if end < size:
            moved = best[end][:, None] + inner
            came_from[end] = moved.argmax(0)
            entered[end] = moved.max(0) + problem.open_border[end]
    step = int((best[size] + problem.changes[:-1, -1]).argmax())
    runs, end = [], size
    while end > 0:
        start = int(began[end, step])
        runs.append(Run(start, end, step))
        step, end = int(came_from[start, step]), start
    return runs[::-1]


class Posteriors(NamedTuple):
    """How sure the decoding is."""

    steps: Floats
    """Probability of each step at each unit: (n, k)."""
    borders: Floats
    """Probability that a segment begins at each unit: (n,)."""


def _logsumexp(values: Floats, axis: int) -> Floats:
    top = np.max(values, axis=axis, keepdims=True)
    top = np.where(np.isfinite(top), top, 0.0)
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(np.exp(values - top).sum(axis=axis)) + np.squeeze(top, axis=axis))


def posteriors(problem: Problem) -> Posteriors:
    """Sum over all runs of segments, forwards and backwards."""
    size, steps = problem.evidence.shape
    if not size:
        return Posteriors(np.zeros((0, steps)), np.zeros(0))
    sums = _sums(problem)
    inner = problem.changes[:-1, :-1]
    entered = np.full((size, steps), -np.inf)
    left = np.full((size + 1, steps), -np.inf)
    entered[0] = problem.changes[-1, :-1]
    kept = []
    for end in range(1, size + 1):
        starts, scores = _segment_scores(problem, end, sums)
        kept.append((starts, scores))
        left[end] = _logsumexp(scores + entered[starts], 0)
        if end < size:
            entered[end] = _logsumexp(left[end][:, None] + inner, 0) + problem.open_border[end]
    return _backward(problem, kept, entered, left)


def _backward(problem: Problem, kept: list[tuple[Ints, Floats]], entered: Floats, left: Floats) -> Posteriors:
    size, steps = problem.evidence.shape
    inner = problem.changes[:-1, :-1]
    onward = np.full((size + 1, steps), -np.inf)
    onward[size] = problem.changes[:-1, -1]
    whole = float(_logsumexp(left[size] + onward[size], 0))
    begun = np.full((size, steps), -np.inf)
    gained = np.zeros((size + 1, steps))
    for end in range(size, 0, -1):
        if end < size:
            onward[end] = _logsumexp(inner + begun[end] + problem.open_border[end], 1)
        starts, scores = kept[end - 1]
        rest = scores + onward[end]
        begun[starts] = np.logaddexp(begun[starts], rest)
        share = np.exp(np.minimum(0.0, entered[starts] + rest - whole))
        gained[starts] += share
        gained[end] -= share.sum(0)
    chances = np.clip(np.cumsum(gained[:-1], axis=0), 0.0, 1.0)
    borders = np.exp(np.minimum(0.0, _logsumexp(entered + begun, 1) - whole))
    borders[0] = 1.0
    return Posteriors(chances / np.maximum(chances.sum(1, keepdims=True), 1e-12), borders)
