"""Order and length of steps against a published operation and published lengths."""

import itertools
import math
import random

import numpy as np
import pytest

from indexer.models import Visit
from indexer.steps.flow import Flow
from indexer.vocabulary.loading import load_vocabulary

# Cataract-101 (Schoeffmann et al., ACM MMSys 2018), video 269, 25 frames a second, 14,734 frames: first frame of each
# phase and its number, as in the data set's own annotations.
VIDEO_269 = [
    (68, 1), (1043, 2), (1228, 3), (2118, 4), (3478, 5), (6864, 6), (7727, 7), (8473, 2), (8683, 8), (9482, 9),
    (14138, 10), (14623, 10),
]  # fmt: skip
FRAMES, RATE = 14_734, 25
# The phases in our terms; phase 2 is given once before the lens is worked on and once before the implant.
PHASES = {
    1: "main-incision", 2: "chamber-fill", 3: "capsulorhexis", 4: "hydrodissection", 5: "phacoemulsification",
    6: "cortex-aspiration", 7: "capsule-polishing", 8: "lens-implantation", 9: "viscoelastic-removal", 10: "final-medication",
}  # fmt: skip
# The same data set, computed from its annotations over 101 videos: mean and standard deviation in seconds.
PUBLISHED_S = {
    "main-incision": (24.1, 19.3), "capsulorhexis": (47.1, 35.9), "hydrodissection": (33.1, 18.1),
    "phacoemulsification": (150.2, 85.7), "cortex-aspiration": (62.6, 37.0), "capsule-polishing": (20.3, 13.7),
    "lens-implantation": (27.8, 13.3), "viscoelastic-removal": (60.6, 29.3), "final-medication": (32.6, 25.7),
}  # fmt: skip


def operation() -> list[Visit]:
    ends = [*(frame for frame, _ in VIDEO_269[1:]), FRAMES]
    visits = []
    for (start, phase), end in zip(VIDEO_269, ends, strict=True):
        step = "bag-fill" if phase == 2 and visits and visits[-1].step == "capsule-polishing" else PHASES[phase]
        length = (end - start) * 1000 // RATE
        if visits and visits[-1].step == step:
            visits[-1] = Visit(step=step, length_ms=visits[-1].length_ms + length)
        else:
            visits.append(Visit(step=step, length_ms=length))
    return visits


@pytest.fixture(scope="module")
def vocabulary():
    return load_vocabulary()


def test_the_published_operation_is_likelier_than_its_shuffles(vocabulary):
    flow, true = Flow(vocabulary), operation()
    likely = flow.log_likelihood(true)
    chance = random.Random(269)
    for _ in range(200):
        shuffled = chance.sample(true, len(true))
        if shuffled != true:
            assert flow.log_likelihood(shuffled) < likely


@pytest.mark.parametrize("step", PUBLISHED_S)
def test_usual_lengths_lie_within_the_published_spread(vocabulary, step):
    flow = Flow(vocabulary)
    mean, deviation = PUBLISHED_S[step]
    centre, _ = flow.length_parameters()
    usual = math.exp(centre[flow.steps.index(step)])
    assert max(1.0, mean - deviation) <= usual <= mean + deviation


def test_no_step_follows_itself_and_every_row_sums_to_one(vocabulary):
    changes = np.exp(Flow(vocabulary).log_changes())
    assert np.diag(changes)[:-1] == pytest.approx(0)
    assert changes.sum(1) == pytest.approx(1)


def test_what_a_surgeon_does_becomes_likelier(vocabulary):
    """A surgeon who always stains before the side ports is expected to do so."""
    odd = [
        Visit(step="preparation", length_ms=30_000),
        Visit(step="capsule-staining", length_ms=20_000),
        Visit(step="side-port", length_ms=9_000),
    ]
    before, after = Flow(vocabulary), Flow(vocabulary, [odd] * 20)
    row, column = before.steps.index("preparation"), before.steps.index("capsule-staining")
    assert after.log_changes()[row, column] > before.log_changes()[row, column] + 1
    number = before.steps.index("side-port")
    centre, _ = after.length_parameters()
    assert abs(math.exp(centre[number]) - 9) < abs(math.exp(before.length_parameters()[0][number]) - 9)


def test_stored_counts_give_the_same_flow(vocabulary):
    learned = Flow(vocabulary, [operation()] * 3)
    again = Flow(vocabulary, counts=learned.counted())
    assert again.log_changes() == pytest.approx(learned.log_changes())
    for one, other in zip(again.length_parameters(), learned.length_parameters(), strict=True):
        assert one == pytest.approx(other, abs=1e-3)


def test_steps_of_the_published_operation_are_ours():
    assert all(before.step != after.step for before, after in itertools.pairwise(operation()))
