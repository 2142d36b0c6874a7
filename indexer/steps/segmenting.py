"""From evidence at each token to segments: units of words, what people decided, the decoder, how sure each border is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from indexer.models.tagged import Boundary, Given, Standing
from indexer.narration.tokens import Tokens
from indexer.steps.decoding import Problem, Run, decode, posteriors
from indexer.steps.flow import Flow

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

UNIT_WORDS = 4
"""Words that are decided together, at most."""
PAUSE_MS = 450
"""A longer pause parts two units."""
FORBIDDEN = -1e6
SURENESS_SCALE, SURENESS_SHIFT = 0.72, -0.74
"""Fitted on narrations left out of the learning: words weigh on each other more than the decoder assumes."""
SPREAD_SHARE = 0.8
PAUSE_SPEAKS = 0.35
"""How much a border gains from the log of the pause before it, in seconds."""
CUT_NEAR_MS = 3000
CUT_SPEAKS = 0.7
"""A cut of the film so near to a border speaks for it."""


class Weights(NamedTuple):
    """How the kinds of evidence are weighed against each other; found by trial on marked narrations."""

    reader: float = 0.3
    hints: float = 0.1
    changes: float = 1.0
    lengths: float = 1.0


class Decided(NamedTuple):
    """A run of tokens in one step and how sure that is."""

    first: int
    last: int
    step: int
    confidence: float
    start: Boundary
    end: Boundary


def units_of(tokens: Tokens) -> Ints:
    """First token of each unit, and behind it the number of tokens."""
    firsts = [0]
    for index in range(1, len(tokens)):
        pause = tokens.starts_ms[index] - tokens.ends_ms[index - 1]
        if pause > PAUSE_MS or index - firsts[-1] >= UNIT_WORDS:
            firsts.append(index)
    return np.array([*firsts, len(tokens)] if len(tokens) else [0], np.int64)


def segment(tokens: Tokens, evidence: Floats, flow: Flow, given: Given, weights: Weights) -> list[Decided]:
    """Decide which step goes on at each token. `evidence` is (tokens, steps of the flow), already weighed."""
    borders = units_of(tokens)
    if len(tokens) == 0:
        return []
    sums = np.vstack([np.zeros(evidence.shape[1]), np.cumsum(evidence, axis=0)])
    by_unit = sums[borders[1:]] - sums[borders[:-1]]
    starts = np.array([tokens.starts_ms[index] for index in borders[:-1]], np.float64)
    ends = np.array([tokens.ends_ms[index - 1] for index in borders[1:]], np.float64)
    centre, spread = flow.length_parameters()
    problem = Problem(
        evidence=_given(by_unit, starts, ends, flow, given),
        borders_s=np.append(starts, ends[-1]) / 1000,
        changes=weights.changes * flow.log_changes(),
        length_centre=centre,
        length_spread=spread / max(weights.lengths, 1e-3),
        open_border=_openness(starts, ends, given),
    )
    runs = decode(problem)
    sure = posteriors(problem)
    return _decided(runs, sure.steps, sure.borders, tokens, borders, starts, ends)


def _given(by_unit: Floats, starts: Floats, ends: Floats, flow: Flow, given: Given) -> Floats:
    """Pin what people decided: an accepted stretch is its step and no other, a refused one is anything else."""
    pinned = by_unit.copy()
    middles = (starts + ends) / 2
    number = {step: index for index, step in enumerate(flow.steps)}
    for fixed in given.segments:
        inside = (middles >= fixed.start_ms) & (middles < fixed.end_ms)
        if fixed.step not in number:
            continue
        if fixed.standing is Standing.ACCEPTED:
            kept = pinned[inside, number[fixed.step]].copy()
            pinned[inside] = FORBIDDEN
            pinned[inside, number[fixed.step]] = np.maximum(kept, 0.0)
        else:
            pinned[inside, number[fixed.step]] = FORBIDDEN
    return pinned


def _openness(starts: Floats, ends: Floats, given: Given) -> Floats:
    """What speaks for a border before each unit: the pause before it, a cut of the film nearby."""
    openness = np.zeros(len(starts))
    openness[1:] = PAUSE_SPEAKS * np.log1p(np.maximum(0.0, starts[1:] - ends[:-1]) / 1000)
    for cut in given.cuts_ms:
        near = np.abs(starts - cut)
        openness[near <= CUT_NEAR_MS] += CUT_SPEAKS * (1 - near[near <= CUT_NEAR_MS] / CUT_NEAR_MS)
    return openness


def _decided(
    runs: Sequence[Run], steps: Floats, borders: Floats, tokens: Tokens, units: Ints, starts: Floats, ends: Floats
) -> list[Decided]:
    """Runs of units as runs of tokens. Silence belongs to the step before it: a segment ends where the next begins."""
    found: list[Decided] = []
    edges = [_border(run.first, borders, starts) for run in runs]
    last_edge = Boundary(at_ms=int(ends[-1]), source="edge", spread_ms=0)
    for index, run in enumerate(runs):
        end = edges[index + 1] if index + 1 < len(runs) else last_edge
        confidence = _as_right_as_said(float(steps[run.first : run.last, run.step].mean()))
        first, last = int(units[run.first]), int(units[run.last])
        found.append(Decided(first, last, run.step, confidence, edges[index], end))
    return found


def _as_right_as_said(chance: float) -> float:
    """The decoder's chance of a step, brought down to how often such segments were right where nothing was learned from."""
    kept = min(max(chance, 1e-4), 1 - 1e-4)
    odds = SURENESS_SCALE * math.log(kept / (1 - kept)) + SURENESS_SHIFT
    return 1 / (1 + math.exp(-odds))


def _border(unit: int, borders: Floats, starts: Floats) -> Boundary:
    """A border with the half width of the stretch that holds it with a probability of 0.8."""
    at = int(starts[unit])
    if unit == 0:
        return Boundary(at_ms=at, source="edge", spread_ms=0)
    low = high = unit
    held, whole = borders[unit], 1.0
    while held < SPREAD_SHARE * whole and (low > 1 or high < len(borders) - 1) and high - low < 40:
        below = borders[low - 1] if low > 1 else -1.0
        above = borders[high + 1] if high < len(borders) - 1 else -1.0
        if below >= above:
            low, held = low - 1, held + below
        else:
            high, held = high + 1, held + above
    spread = max(at - starts[low], starts[high] - at, 500.0)
    return Boundary(at_ms=at, source="word", spread_ms=int(spread))
