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
FAR = 300.0
"""Log scores so far from each other are not kept as exponentials to one level."""
LOWEST = -1e300
"""Stands for minus infinity where that may not be subtracted."""


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


class _Lengths:
    """Log scores of the lengths of segments, for all steps at once: each is a parabola over the log of the seconds."""

    def __init__(self, problem: Problem) -> None:
        centre, narrow = problem.length_centre, problem.length_spread**-2
        constant = -0.5 * narrow * centre**2 - np.log(problem.length_spread)
        self._parabolas = np.stack([constant, narrow * centre, -0.5 * narrow], axis=1)
        self._borders_s = problem.borders_s
        self._powers = np.ones((3, LONGEST_UNITS))

    def up_to(self, end: int) -> tuple[slice, Floats]:
        """Segments that end before unit `end`: their beginnings, scores (k, beginnings)."""
        starts = slice(max(0, end - LONGEST_UNITS), end)
        return starts, self._scores(self._borders_s[end] - self._borders_s[starts])

    def onward(self, start: int) -> tuple[slice, Floats]:
        """Segments that begin with unit `start`: their ends, scores (k, ends)."""
        ends = slice(start + 1, min(start + LONGEST_UNITS, len(self._borders_s) - 1) + 1)
        return ends, self._scores(self._borders_s[ends] - self._borders_s[start])

    def _scores(self, seconds: Floats) -> Floats:
        powers = self._powers[:, : len(seconds)]
        np.log(np.maximum(seconds, 0.5), out=powers[1])
        np.square(powers[1], out=powers[2])
        return np.asarray(self._parabolas @ powers)


def _sums(problem: Problem) -> Floats:
    """Evidence of each step before each unit: (k, n + 1). What a segment gathers is the difference of two columns."""
    size, steps = problem.evidence.shape
    sums = np.zeros((steps, size + 1))
    np.cumsum(problem.evidence.T, axis=1, out=sums[:, 1:])
    return sums


def decode(problem: Problem) -> list[Run]:
    """The best run of segments; no units, no segments."""
    size, steps = problem.evidence.shape
    if not size:
        return []
    sums, lengths = _sums(problem), _Lengths(problem)
    into = np.ascontiguousarray(problem.changes[:-1, :-1].T)
    everyone = np.arange(steps)
    # Best score of all before each unit, a segment of each step beginning there; less the evidence before it.
    entered = np.full((steps, size), -np.inf)
    came_from = np.zeros((size, steps), np.int64)
    entered[:, 0] = problem.changes[-1, :-1]
    began = np.zeros((size + 1, steps), np.int64)
    best = np.full(steps, -np.inf)
    for end in range(1, size + 1):
        starts, totals = lengths.up_to(end)
        totals += entered[:, starts]
        choice = totals.argmax(1)
        best = totals[everyone, choice] + sums[:, end]
        began[end] = starts.start + choice
        if end < size:
            moved = into + best
            came_from[end] = moved.argmax(1)
            entered[:, end] = moved[everyone, came_from[end]] + problem.open_border[end] - sums[:, end]
    step = int((best + problem.changes[:-1, -1]).argmax())
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


def _logsumexp(values: Floats) -> Floats:
    """Log of the sum of the exponentials over the last axis. `values` are used up."""
    top = np.maximum(np.maximum.reduce(values, axis=-1), LOWEST)
    values -= top[..., None]
    np.exp(values, out=values)
    return np.asarray(np.log(np.add.reduce(values, axis=-1)) + top)


def posteriors(problem: Problem) -> Posteriors:
    """Sum over all runs of segments, forwards and backwards.

    What begins and what ends at each unit is known from both sums; the steps going on are what began and has not ended.
    """
    size, steps = problem.evidence.shape
    if not size:
        return Posteriors(np.zeros((0, steps)), np.zeros(0))
    with np.errstate(divide="ignore"):  # what cannot be has a log of minus infinity
        entered, left = _forward(problem)
        begun, onward = _backward(problem)
        whole = float(_logsumexp(left[:, size] + onward[:, size]))
    beginning = np.exp(np.minimum(0.0, entered + begun - whole))
    ending = np.exp(np.minimum(0.0, left + onward - whole))
    chances = np.clip(np.cumsum(beginning - ending[:, :-1], axis=1).T, 0.0, 1.0)
    borders = np.minimum(1.0, beginning.sum(0))
    borders[0] = 1.0
    return Posteriors(chances / np.maximum(chances.sum(1, keepdims=True), 1e-12), borders)


class _Scaled:
    """Sums of exponentials over a moving window of log scores, (k, n), kept as exponentials to a level of their own."""

    def __init__(self, steps: int, size: int) -> None:
        self.logs = np.full((steps, size), -np.inf)
        self._level = np.full(steps, LOWEST)
        self._scaled = np.zeros((steps, size))

    def put(self, at: int, logs: Floats, window: slice) -> None:
        """Set the scores at one place; `window` is what will be looked at next, that place within it."""
        self.logs[:, at] = logs
        above = logs - self._level
        if np.abs(above).max() < FAR:
            self._scaled[:, at] = np.exp(above)
        else:
            # Before anything could run over or under, the level moves.
            self._level = np.maximum(self.logs[:, window].max(axis=1), LOWEST)
            self._scaled[:, window] = np.exp(self.logs[:, window] - self._level[:, None])

    def summed(self, window: slice, scores: Floats) -> Floats:
        """Log of the sum, over a window, of the exponentials of its log scores and others (k, window): (k,)."""
        np.exp(scores, out=scores)
        return np.asarray(np.log(np.einsum("kw,kw->k", scores, self._scaled[:, window])) + self._level)


def _forward(problem: Problem) -> tuple[Floats, Floats]:
    """Log sums of all that may come before: a segment of a step beginning at each unit (k, n), ending there (k, n + 1)."""
    size, steps = problem.evidence.shape
    sums, lengths = _sums(problem), _Lengths(problem)
    into = np.ascontiguousarray(problem.changes[:-1, :-1].T)
    left, bare = np.full((steps, size + 1), -np.inf), _Scaled(steps, size)
    bare.put(0, problem.changes[-1, :-1], slice(0, 1))
    for end in range(1, size + 1):
        starts, scores = lengths.up_to(end)
        left[:, end] = bare.summed(starts, scores) + sums[:, end]
        if end < size:
            entered = _logsumexp(into + left[:, end]) + problem.open_border[end]
            bare.put(end, entered - sums[:, end], slice(starts.start, end + 1))
    return bare.logs + sums[:, :-1], left


def _backward(problem: Problem) -> tuple[Floats, Floats]:
    """Log sums of all that may follow: a segment of a step beginning at each unit (k, n), ending there (k, n + 1)."""
    size, steps = problem.evidence.shape
    sums, lengths = _sums(problem), _Lengths(problem)
    out_of = np.ascontiguousarray(problem.changes[:-1, :-1])
    begun, gathered = np.full((steps, size), -np.inf), _Scaled(steps, size + 1)
    gathered.put(size, problem.changes[:-1, -1] + sums[:, size], slice(size, size + 1))
    for start in range(size - 1, -1, -1):
        ends, scores = lengths.onward(start)
        begun[:, start] = gathered.summed(ends, scores) - sums[:, start]
        if start:
            onward = _logsumexp(out_of + begun[:, start]) + problem.open_border[start]
            gathered.put(start, onward + sums[:, start], slice(start, ends.stop))
    return begun, gathered.logs - sums
