"""A recording becomes rows of time, paragraphs and runs."""

from __future__ import annotations

import pytest

from indexer.models import MeasureView
from tests.web.conftest import Filled
from tests.web.invented import small_vocabulary
from web.document import amount_of, pixels_a_second, rows_of, sureness
from web.terms import Terms, written_unit

TERMS = Terms(small_vocabulary())


def measure(low: float, high: float, unit: str) -> MeasureView:
    place = {"start_ms": 0, "end_ms": 1, "first_word": 0, "last_word": 1, "heard": "x", "confidence": 1.0}
    return MeasureView(id="m", version=1, measure="capsulorhexis-diameter", low=low, high=high, unit=unit, **place)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("low", "high", "unit", "words"),
    [
        (5, 5.5, "mm", "5 to 5.5 mm"),
        (6, 6, "mm", "6 mm"),
        (80, 90, "%", "80 to 90%"),
        (400, 400, "mm[Hg]", "400 mmHg"),
        (21.5, 21.5, "[diop]", "21.5 D"),
        (4, 4, "{hooks}", "4"),
        (7, 7, "deg", "7°"),
        (2500, 2500, "/mm2", "2500 per mm²"),
        (30, 30, "mL/min", "30 ml/min"),
        (4000, 4000, "{cuts}/min", "4000 cuts/min"),
    ],
)
def test_amounts_are_written_as_people_write_them(low: float, high: float, unit: str, words: str) -> None:
    assert amount_of(measure(low, high, unit)) == words


def test_an_unknown_unit_is_written_as_it_is() -> None:
    assert written_unit("kPa") == "kPa"


@pytest.mark.parametrize(("confidence", "words"), [(0.9, "quite sure"), (0.7, "likely"), (0.2, "unsure")])
def test_confidence_is_told_in_words(confidence: float, words: str) -> None:
    assert sureness(confidence) == words


def test_every_word_stands_in_exactly_one_run(filled: Filled) -> None:
    recording = filled.library.recording(filled.library.owner, filled.hooks[1])
    rows = rows_of(recording, TERMS)
    told = [word for row in rows for part in row.paragraphs for run in part.runs for word in run.words]
    assert told == list(recording.words)


def test_a_named_run_holds_just_the_words_that_name(filled: Filled) -> None:
    recording = filled.library.recording(filled.library.owner, filled.hooks[1])
    named = {
        run.named.concept: [word.text for word in run.words]
        for row in rows_of(recording, TERMS)
        for part in row.paragraphs
        for run in part.runs
        if run.named
    }
    assert named["capsular-hooks"] == ["four", "hooks,"]
    assert named["capsular-tension-ring"] == ["tension", "ring"]


def test_a_long_silence_begins_a_paragraph_and_is_kept(filled: Filled) -> None:
    recording = filled.library.recording(filled.library.owner, filled.plain[1])
    words = tuple(
        word.model_copy(update={"start_ms": word.start_ms + 8000, "end_ms": word.end_ms + 8000}) if at >= 2 else word
        for at, word in enumerate(recording.words)
    )
    longer = recording.model_copy(update={"words": words, "segments": (), "length_ms": 30_000})
    (row,) = rows_of(longer, TERMS)
    assert len(row.paragraphs) == 2
    assert row.paragraphs[1].silence_ms == words[2].start_ms - words[1].end_ms >= 8000


def test_a_second_is_tall_enough_for_words_and_never_absurd(filled: Filled) -> None:
    for _, recording_id in (filled.hooks, filled.plain, filled.unmarked):
        recording = filled.library.recording(filled.library.owner, recording_id)
        assert 3 <= pixels_a_second(rows_of(recording, TERMS)) <= 9


def test_a_term_that_was_retired_is_shown_by_its_id() -> None:
    assert (TERMS.label("old-hook"), TERMS.facet("old-hook"), TERMS.place("old-hook")) == ("old hook", "", None)
