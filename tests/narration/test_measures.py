"""Measures of a narration. What a number means beside these words is common practice of the trade, no source.

The usual values (capsulorhexis 5 to 5.5 mm, groove 80 to 90 % of the thickness, four hooks, main incision 2.2 to 2.8 mm)
are common practice, no source. Codes of units are those of UCUM (ucum.org, the table of units).
"""

from __future__ import annotations

import time

import pytest

from indexer.models.tagged import Boundary, Measure, Segment
from indexer.models.timed import Word
from indexer.narration.clues import Clues
from indexer.narration.measures import MeasureReader, measures_of
from indexer.narration.tokens import tokens_of
from indexer.narration.weighing import ClueWeights, read_weights, shipped_weights, written_weights
from indexer.vocabulary.concepts import Concept
from indexer.vocabulary.loading import load_vocabulary
from indexer.vocabulary.vocabulary import Vocabulary

VOCABULARY = load_vocabulary()


def spoken(text: str) -> list[Word]:
    return [Word(text=word, start_ms=n * 350, end_ms=n * 350 + 300, cue=0) for n, word in enumerate(text.split())]


def during(step: str | None, words: list[Word]) -> list[Segment]:
    if step is None:
        return []
    ends = [Boundary(at_ms=at, source="edge", spread_ms=0) for at in (0, words[-1].end_ms if words else 1)]
    return [Segment(step=step, start=ends[0], end=ends[1], confidence=1.0)]


def read(text: str, step: str | None) -> list[Measure]:
    words = spoken(text)
    return measures_of(tokens_of(words), words, VOCABULARY, during(step, words), [])


def found(text: str, step: str | None) -> list[tuple[str, float, float]]:
    return [(one.measure, one.low, one.high) for one in read(text, step)]


@pytest.mark.parametrize(
    ("text", "step", "expected"),
    [
        (
            "the rhexis is about five to five and a half millimetres",
            "capsulorhexis",
            ("capsulorhexis-diameter", 5, 5.5),
        ),
        ("a two point four keratome for the main incision", "main-incision", ("incision-width", 2.4, 2.4)),
        ("main wound temporal two-four keratome", "main-incision", ("incision-width", 2.4, 2.4)),
        ("I groove down to eighty to ninety percent depth", "sculpting", ("sculpt-depth", 80, 90)),
        ("a groove of three quarters of the depth", "sculpting", ("sculpt-depth", 75, 75)),
        ("vacuum up to four hundred now", "chopping", ("vacuum", 400, 400)),
        ("bring the vacuum down to two-eighty", "fragment-removal", ("vacuum", 280, 280)),
        ("the bottle goes down to seventy", "fragment-removal", ("bottle-height", 70, 70)),
        ("single piece lens twenty-one and a half dioptres", "lens-implantation", ("lens-power", 21.5, 21.5)),
        ("a three-piece lens of minus two dioptres", "lens-implantation", ("lens-power", -2, -2)),
        ("the axial length is twenty-three point four millimetres", "case-introduction", ("axial-length", 23.4, 23.4)),
        ("a seventy-two year old lady", "case-introduction", ("patient-age", 72, 72)),
        ("four hooks in total", "pupil-expansion", ("hook-count", 4, 4)),
        ("a zonular dialysis of three clock hours", "case-introduction", ("clock-hours", 3, 3)),
        ("her cell count is two thousand four hundred", "case-introduction", ("endothelial-count", 2400, 2400)),
        ("the nucleus is grade three", "case-introduction", ("nucleus-grade", 3, 3)),
        ("ultrasound time was ninety-one seconds", "fragment-removal", ("phaco-time", 91, 91)),
        ("ultrasound time was one minute ten", "fragment-removal", ("phaco-time", 70, 70)),
        ("align the lens with the axis at eighty-seven degrees", "toric-alignment", ("toric-axis", 87, 87)),
        ("cutter at four thousand cuts a minute", "anterior-vitrectomy", ("cut-rate", 4000, 4000)),
    ],
)
def test_a_number_gets_its_meaning(text: str, step: str, expected: tuple[str, float, float]) -> None:
    assert found(text, step) == [expected]


@pytest.mark.parametrize(
    ("text", "days"),
    [
        ("after two weeks she is happy", 14),
        ("a fortnight later the eye is quiet", 14),
        ("in the third month the lens is central", 90),
        ("next morning the cornea is clear", 1),
        ("at one week the lens is central", 7),
        ("after half a year the lens is central", 180),
        ("day one the cornea is clear", 1),
    ],
)
def test_time_after_surgery_is_told_in_days(text: str, days: float) -> None:
    assert found(text, "outcome") == [("days-after-surgery", days, days)]


def test_a_list_of_settings_gives_each_number_to_the_word_before_it() -> None:
    text = "settings vacuum four hundred flow thirty-two bottle at ninety power sixty"
    assert found(text, "phacoemulsification") == [
        ("vacuum", 400, 400),
        ("flow-rate", 32, 32),
        ("bottle-height", 90, 90),
        ("phaco-power", 60, 60),
    ]


@pytest.mark.parametrize(
    ("text", "step"),
    [
        ("side ports at two and ten o'clock", "side-port"),
        ("he reads six by nine without glasses", "outcome"),
        ("vision 20/25 and happy", "outcome"),
        ("the first one is hard to reach", "fragment-removal"),
        ("I regrasp three times", "capsulorhexis"),
        ("both of them, one by one", "fragment-removal"),
        ("my phone rang twice in five minutes of lunch", None),
    ],
)
def test_numbers_that_mean_nothing_here_are_no_measures(text: str, step: str | None) -> None:
    assert found(text, step) == []


@pytest.mark.parametrize(
    ("measure", "low", "high"),
    [
        ("capsulorhexis-diameter", 5.0, 5.5),
        ("sculpt-depth", 80, 90),
        ("hook-count", 4, 4),
        ("incision-width", 2.2, 2.8),
    ],
)
def test_usual_values_agree_with_common_practice(measure: str, low: float, high: float) -> None:
    usual = VOCABULARY[measure].usual
    assert usual is not None
    assert usual[0] <= low
    assert high <= usual[1]


UCUM = {"mm", "%", "mm[Hg]", "mL/min", "cm", "[diopt]", "deg", "a", "d", "s", "/mm2"}
"""UCUM codes: mm, cm, d, a, s, deg, % and mm[Hg] stand in its table; [diopt] is its dioptre; curly braces are annotations."""


def test_units_are_ucum() -> None:
    for measure in VOCABULARY.of_facet("measure"):
        unit = (measure.unit or "").split("/")[0] if (measure.unit or "").startswith("{") else measure.unit
        assert unit in UCUM or (unit or "").startswith("{"), measure.id


def test_a_measure_names_its_words_and_how_sure_it_is() -> None:
    (one,) = read("the rhexis is about five millimetres wide", "capsulorhexis")
    assert (one.heard, one.first_word, one.last_word, one.unit) == ("five", 4, 5, "mm")
    assert 0.5 < one.confidence <= 1


def strange() -> Vocabulary:
    """A field of which nothing was learned."""
    probe = Concept(
        id="probe-depth", label="Probe depth", definition="How deep a probe goes.", facet="measure", field="digging", unit="cm",
        range=(0, 500), usual=(20, 200), spoken=("probe depth",), said_with=("probe", "soil"), spoken_units=("centimetres",),
    )  # fmt: skip
    return Vocabulary([probe])


def test_a_vocabulary_of_which_nothing_was_learned_is_read_as_well() -> None:
    words = spoken("we push on and the probe depth is forty-five centimetres in this soil")
    (one,) = measures_of(tokens_of(words), words, strange(), [], [])
    assert (one.measure, one.low, one.unit) == ("probe-depth", 45, "cm")


def test_weights_survive_being_written() -> None:
    weights = ClueWeights({"unit": 1.5, "no unit": -0.25}, {"always": {"vacuum": 1.0}})
    assert read_weights(written_weights(weights)) == weights


def test_the_shipped_weights_know_every_measure() -> None:
    weights = shipped_weights("cataract")
    assert weights is not None
    assert {measure.id for measure in Clues(VOCABULARY).measures} == weights.known()


def test_without_weights_nothing_is_believed() -> None:
    words = spoken("there were seven of us and nobody knew")
    assert MeasureReader(VOCABULARY, ClueWeights({"nothing": 5.0}, {})).read(tokens_of(words), words, [], []) == []


@pytest.mark.parametrize("text", ["", "five", "one " * 400, "twenty thirty " * 200, "percent millimetres degrees"])
def test_strange_texts_end_soon(text: str) -> None:
    began = time.perf_counter()
    read(text, "sculpting")
    assert time.perf_counter() - began < 2
