"""The decoder against the sum over every possible run of segments, worked out the long way."""

import itertools

import numpy as np
import pytest

from indexer.steps.decoding import Problem, Run, decode, posteriors


def problem(seed: int, units: int = 5, steps: int = 3) -> Problem:
    chance = np.random.default_rng(seed)
    return Problem(
        evidence=chance.normal(size=(units, steps)),
        borders_s=np.cumsum(chance.random(units + 1) * 8),
        changes=chance.normal(size=(steps + 1, steps + 1)),
        length_centre=chance.normal(size=steps) + 1.5,
        length_spread=chance.random(steps) + 0.5,
        open_border=chance.normal(size=units),
    )


def every_run(p: Problem) -> list[tuple[float, list[Run]]]:
    """Each way to cut and name the units, with its score."""
    units, steps = p.evidence.shape
    found = []
    for cuts in itertools.product((False, True), repeat=units - 1):
        borders = [0, *(index + 1 for index, cut in enumerate(cuts) if cut), units]
        for names in itertools.product(range(steps), repeat=len(borders) - 1):
            score = p.changes[-1, names[0]] + p.changes[names[-1], -1]
            runs = []
            for number, step in enumerate(names):
                first, last = borders[number], borders[number + 1]
                length = max(0.5, p.borders_s[last] - p.borders_s[first])
                z = (np.log(length) - p.length_centre[step]) / p.length_spread[step]
                score += p.evidence[first:last, step].sum() - 0.5 * z * z - np.log(p.length_spread[step])
                if number:
                    score += p.changes[names[number - 1], step] + p.open_border[first]
                runs.append(Run(first, last, step))
            found.append((float(score), runs))
    return found


@pytest.mark.parametrize("seed", range(12))
def test_the_best_run_is_found(seed):
    p = problem(seed)
    assert decode(p) == max(every_run(p), key=lambda one: one[0])[1]


@pytest.mark.parametrize("seed", range(6))
def test_chances_are_those_of_all_runs_together(seed):
    p = problem(seed)
    runs = every_run(p)
    whole = np.logaddexp.reduce([score for score, _ in runs])
    steps, borders = np.zeros_like(p.evidence), np.zeros(len(p.evidence))
    for score, cut in runs:
        for run in cut:
            steps[run.first : run.last, run.step] += np.exp(score - whole)
            borders[run.first] += np.exp(score - whole)
    sure = posteriors(p)
    assert sure.steps == pytest.approx(steps, abs=1e-9)
    assert sure.borders == pytest.approx(borders, abs=1e-9)


def test_nothing_gives_nothing():
    p = problem(0)._replace(evidence=np.zeros((0, 3)), borders_s=np.zeros(1), open_border=np.zeros(0))
    assert decode(p) == []
    assert posteriors(p).steps.shape == (0, 3)


def test_a_step_that_may_not_follow_itself_is_not_cut_in_two():
    p = problem(3)
    changes = p.changes.copy()
    np.fill_diagonal(changes[:-1, :-1], -np.inf)
    runs = decode(p._replace(changes=changes))
    assert all(before.step != after.step for before, after in itertools.pairwise(runs))
