"""Findings of a case, from mentions and measures.

That an axial length of 26 mm or more is called high myopia, and a chamber of 2.5 mm shallow, is common practice, no source.
"""

from __future__ import annotations

import pytest

from indexer.models.tagged import AssertionKind, Measure, Mention
from indexer.narration.findings import BELIEVED, findings_of, read_shown, shipped_shown
from indexer.vocabulary.loading import load_vocabulary

VOCABULARY = load_vocabulary()


def named(concept: str, assertion: str, sure: float = 1.0, meant: float = 1.0, at_ms: int = 0) -> Mention:
    return Mention(
        concept=concept, assertion=AssertionKind(assertion), start_ms=at_ms, end_ms=at_ms + 500, first_word=0, last_word=1,
        heard=concept, confidence=sure, assertion_confidence=meant,
    )  # fmt: skip


def measured(measure: str, value: float, at_ms: int = 0) -> Measure:
    return Measure(
        measure=measure, low=value, high=value, unit="mm", start_ms=at_ms, end_ms=at_ms + 500, first_word=0, last_word=1,
        heard=str(value), confidence=1.0,
    )  # fmt: skip


def ids(*mentions: Mention, measures: tuple[Measure, ...] = ()) -> list[str]:
    return [one.concept for one in findings_of(mentions, VOCABULARY, measures)]


@pytest.mark.parametrize(
    ("assertion", "there"),
    [("done", True), ("earlier", True), ("absent", False), ("considered", False), ("planned", False)],
)
def test_how_a_finding_is_meant_decides(assertion: str, there: bool) -> None:
    assert ids(named("uveitis", assertion)) == (["uveitis"] if there else [])


def test_what_is_no_finding_is_left_out() -> None:
    assert ids(named("trypan-blue", "done"), named("no-such-thing", "done")) == []


def test_a_narrower_finding_brings_its_broader_one() -> None:
    assert VOCABULARY["intumescent-cataract"].broader == "white-cataract"
    assert ids(named("intumescent-cataract", "done")) == ["intumescent-cataract", "white-cataract"]


def test_one_doubtful_mention_is_not_enough_but_several_are() -> None:
    doubtful = named("glaucoma", "done", sure=BELIEVED * 0.7)
    assert ids(doubtful) == []
    assert ids(doubtful, doubtful, doubtful) == ["glaucoma"]


def test_the_surer_of_two_that_exclude_each_other_stays() -> None:
    assert ids(named("dense-nucleus", "done", sure=0.9), named("soft-nucleus", "done", sure=0.5)) == ["dense-nucleus"]


@pytest.mark.parametrize(
    ("measure", "value", "finding"),
    [
        ("axial-length", 26.5, ["high-myopia"]),
        ("axial-length", 23.5, []),
        ("chamber-depth", 2.1, ["shallow-chamber"]),
        ("chamber-depth", 3.2, []),
        ("nucleus-grade", 5, ["dense-nucleus"]),
        ("nucleus-grade", 2.5, []),
    ],
)
def test_a_measure_shows_a_finding(measure: str, value: float, finding: list[str]) -> None:
    assert ids(measures=(measured(measure, value),)) == finding


def test_only_the_first_value_of_a_measure_counts() -> None:
    assert ids(measures=(measured("axial-length", 23.5), measured("axial-length", 31, at_ms=9000))) == []


def test_the_reason_is_told() -> None:
    (one,) = findings_of(
        [named("glaucoma", "done", sure=0.6), named("glaucoma", "done", sure=0.9, at_ms=7000)], VOCABULARY
    )
    assert one.evidence[0].start_ms == 7000
    assert one.confidence == pytest.approx(1 - 0.4 * 0.1)


def test_every_row_of_the_table_points_to_the_vocabulary() -> None:
    for row in shipped_shown("cataract"):
        assert VOCABULARY[row.measure].facet == "measure"
        assert VOCABULARY[row.finding].facet == "finding"
        assert 0.5 < row.chance < 1


def test_a_row_weighs_what_was_seen() -> None:
    (row,) = read_shown([{"measure": "m", "finding": "f", "from": 4, "right": 8, "seen": 8}])
    assert (row.low, row.chance) == (4, 0.9)
