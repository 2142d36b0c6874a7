"""The figures against published worked examples. Where a value is from memory, the test says so."""

from __future__ import annotations

import pytest

from indexer.models.timing import Stay
from indexer.timing import agreement, comparing, control, trend
from indexer.timing.spread import spread

# NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2: ten flow rates. Data from memory.
FLOW = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)
# Diameters of jet engine parts, the sample SHWIR1 of the SAS/QC library; limits worked out from them by hand.
DIAMETERS = (78.4, 80.1, 84.4, 79.1, 80.4, 83.5, 73.8, 83.5, 75.0, 76.8, 70.5, 80.3, 82.4, 79.4, 86.4, 90.5, 77.7, 82.5)
DIAMETERS += (79.9, 83.2)
# Krippendorff, Computing Krippendorff's Alpha-Reliability (2011): four observers, twelve units. Data from memory.
OBSERVERS = ("123321412...", "1233224125.3", ".3332342251.", "12332441251.")


@pytest.mark.parametrize(
    ("values", "centre", "lower", "upper", "range_mean", "range_upper"),
    [
        (FLOW, 50.81, 45.8159, 55.8041, 1.8778, 6.1347),
        (DIAMETERS, 80.39, 66.229, 94.551, 5.3263, 17.401),
    ],
)
def test_individuals_and_moving_ranges(values, centre, lower, upper, range_mean, range_upper) -> None:
    found = control.limits(values)
    assert (found.centre, found.range_mean) == (pytest.approx(centre, abs=1e-4), pytest.approx(range_mean, abs=1e-4))
    # The handbook rounds d2 to 1.128.
    assert (found.lower, found.upper) == (pytest.approx(lower, abs=3e-3), pytest.approx(upper, abs=3e-3))
    assert found.range_upper == pytest.approx(range_upper, abs=2e-3)
    assert found.outside(values) == ()


def test_what_lies_beyond_the_limits_is_named() -> None:
    found = control.limits(FLOW)
    assert found.outside([50.0, 55.9, 45.7]) == (1, 2)
    assert control.limits([0.1 + 0.2] * 21).outside([0.1 + 0.2] * 21) == ()


@pytest.mark.parametrize(
    ("counted", "longest_usual", "fewest_usual"),
    # Anhøj and Olesen, PLoS ONE 2014: their table of limits for 10, 20, 24 and 100 useful values. From memory.
    [(10, 6, 2), (20, 7, 6), (24, 8, 8), (100, 10, 41)],
)
def test_rules_for_runs(counted: int, longest_usual: int, fewest_usual: int) -> None:
    found = control.runs([at % 2 for at in range(counted)])
    assert (found.counted, found.longest_usual, found.fewest_usual) == (counted, longest_usual, fewest_usual)
    assert (found.longest, found.crossings, found.unusual) == (1, counted - 1, False)


def test_a_series_that_steps_down_is_unusual_and_the_median_itself_does_not_count() -> None:
    found = control.runs([*range(60, 50, -1), 50, *range(49, 39, -1)])
    assert (found.median, found.counted, found.longest, found.crossings) == (50, 20, 10, 1)
    assert found.unusual


@pytest.mark.parametrize(
    ("acceptable", "unacceptable", "each", "line"),
    # The rates of Vedana et al., Int J Ophthalmol 2017;10:1088-93; increments and lines worked out from the formulas.
    [(0.05, 0.10, 0.07236, 2.9406), (0.10, 0.20, 0.14524, 2.7095)],
)
def test_sum_of_failures(acceptable: float, unacceptable: float, each: float, line: float) -> None:
    found = control.failure_sum([False, True, False], acceptable, unacceptable)
    assert found.step_down == pytest.approx(each, abs=1e-5)
    assert found.acceptable_line == found.unacceptable_line == pytest.approx(line, abs=1e-4)
    assert found.path == pytest.approx((-each, 1 - 2 * each, 1 - 3 * each), abs=1e-4)


def test_lines_of_the_sum_with_other_errors() -> None:
    found = control.failure_sum([], 0.05, 0.10, alpha=0.05, beta=0.2)
    assert found.acceptable_line == pytest.approx(2.0853, abs=1e-4)
    assert found.unacceptable_line == pytest.approx(3.7106, abs=1e-4)


def test_the_sum_tells_when_a_line_is_reached_and_counts_anew() -> None:
    assert control.failure_sum([True] * 8, 0.05, 0.10).alarms == (3, 7)
    # 2.9406 / 0.07236 = 40.6: the 41st case without the event.
    assert control.failure_sum([False] * 90, 0.05, 0.10).shown == (40, 81)


def test_slope_of_sen() -> None:
    # Sen, J Am Stat Assoc 1968;63:1379-89: his example. Data from memory.
    found = trend.slope((9, 15, 19, 20, 45, 55, 78), (1, 2, 3, 4, 10, 12, 18))
    assert (found.slope, found.start) == (pytest.approx(4.0), pytest.approx(4.0))
    assert (found.lower, found.upper) == (pytest.approx(3.7143, abs=1e-4), pytest.approx(4.375))
    assert found.clear


def test_the_smooth_line_follows_a_straight_one() -> None:
    assert trend.smooth([3.0 + 2 * at for at in range(30)]) == pytest.approx([3.0 + 2 * at for at in range(30)])


def test_mann_and_whitney() -> None:
    # The example in the documentation of scipy.stats.mannwhitneyu: ages at diagnosis. From memory.
    found = comparing.shift((19, 22, 16, 29, 24), (20, 11, 17, 12))
    assert (found.u, found.p) == (17, pytest.approx(0.11111, abs=1e-5))


def test_shift_of_hodges_and_lehmann() -> None:
    # Hollander and Wolfe 1973, p. 69: permeability of the membrane at term and at 12 to 26 weeks, as in the
    # documentation of R's wilcox.test, which gives 0.305 (-0.15 to 0.76). Data and values from memory.
    term = (0.80, 0.83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, 0.73, 1.46)
    early = (1.15, 0.88, 0.90, 0.74, 1.21)
    found = comparing.shift(early, term)
    assert found.shift == pytest.approx(0.305)
    assert (found.lower, found.upper) == (pytest.approx(-0.15), pytest.approx(0.76))
    assert found.p == pytest.approx(0.2544, abs=1e-4)
    assert not found.clear


def test_the_mix_of_two_groups_is_told_most_uneven_first() -> None:
    dense, soft = frozenset({"dense-nucleus"}), frozenset({"soft-nucleus"})
    found = comparing.mix([dense] * 9 + [soft], [soft] * 5 + [dense] * 5)
    assert [(each.concept, each.first, each.second) for each in found] == [
        ("dense-nucleus", 9, 5),
        ("soft-nucleus", 1, 5),
    ]
    assert comparing.uneven(found[0], 10, 10)
    assert not comparing.uneven(comparing.Mix("x", 5, 6, 1.0), 10, 10)


@pytest.mark.parametrize(
    ("table", "value"),
    # Tables of two people and two names in the literature on kappa; values worked out by hand.
    [(((20, 5), (10, 15)), 0.40), (((45, 15), (25, 15)), 0.1304), (((25, 35), (5, 35)), 0.2593)],
)
def test_kappa(table, value: float) -> None:
    pairs = [(a, b) for a in (0, 1) for b in (0, 1) for _ in range(table[a][b])]
    first, second = zip(*((("yes", "no")[a], ("yes", "no")[b]) for a, b in pairs), strict=True)
    assert agreement.kappa(first, second) == pytest.approx(value, abs=1e-4)


def test_alpha_of_krippendorff() -> None:
    items = [[None if name == "." else name for name in item] for item in zip(*OBSERVERS, strict=True)]
    assert agreement.alpha(items) == pytest.approx(0.7434, abs=1e-4)


def test_alpha_where_people_rather_disagree() -> None:
    # The small example in the tests of nltk.metrics.agreement; a lone rating counts for nothing.
    items = [["yes", "no", "no"], ["yes", "no", None], ["yes", None, None]]
    assert agreement.alpha(items) == pytest.approx(-1 / 3, abs=1e-5)


def test_two_markings_of_a_recording() -> None:
    first = [Stay("incision", 0, 10_000, True), Stay("rhexis", 10_000, 40_000, True)]
    second = [Stay("incision", 0, 14_000, True), Stay("rhexis", 14_000, 40_000, True)]
    found = agreement.compare(first, second, 50_000)
    assert found.same == pytest.approx(46 / 50)
    assert found.differences == (agreement.Difference(10_000, 14_000, "rhexis", "incision"),)
    assert found.boundaries_ms == (0, 4_000)
    # By hand: 50 seconds, 46 alike; chance (10*14 + 30*26 + 10*10) / 2500 = 0.408.
    assert found.kappa == pytest.approx((0.92 - 0.408) / (1 - 0.408))


def test_median_quartiles_and_range() -> None:
    found = spread([3, 1, 2, 4])
    assert found is not None
    assert (found.n, found.low, found.lower, found.median, found.upper, found.high) == (4, 1, 1.75, 2.5, 3.25, 4)
    assert spread([]) is None
