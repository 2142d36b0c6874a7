"""The survey as a stage of intake, and later."""

from __future__ import annotations

from pathlib import Path

import pytest

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.footage.survey import FILES
from indexer.intake.river import add_recording
from indexer.intake.surveying import survey_later
from indexer.models import CaseDraft, Kind
from tests.footage.surveyed_films import film_of, shot


@pytest.fixture
def cut_film(card: Path) -> Path:
    return film_of(card / "cut.mp4", [picture for number in range(4) for picture in shot(number, 50)])


def test_an_intake_leaves_a_survey_and_what_contradicts_the_statement(
    cut_film: Path, library: Library, settings: Settings
) -> None:
    outcome = add_recording(library, CaseDraft(title="Cut", sources=(cut_film,)), settings)
    assert outcome.recording_id is not None
    found = library.survey(library.owner, outcome.recording_id)
    assert found is not None
    assert [(cut.kind, cut.frame) for cut in found.cuts] == [("hard", 50), ("hard", 100), ("hard", 150)]
    assert library.given(outcome.recording_id).cuts_ms == (2000, 4000, 6000)
    assert any("looks edited: 3 cuts at 0:02, 0:04, 0:06" in remark for remark in outcome.remarks)
    kept = library.recording(library.owner, outcome.recording_id)
    assert kept.kind is Kind.WHOLE
    media = library.media(outcome.recording_id)
    assert set(FILES) <= {path.name for path in media.iterdir()}
    assert [still.path.is_file() for still in kept.stills] == [True] * len(kept.stills) and kept.stills
    assert library.check() == []


def test_a_film_that_was_stated_as_edited_is_not_remarked(cut_film: Path, library: Library, settings: Settings) -> None:
    outcome = add_recording(library, CaseDraft(title="Cut", sources=(cut_film,), kind=Kind.EDITED), settings)
    assert outcome.remarks == ()


def test_a_survey_made_anew_says_the_same_and_keeps_the_stills(
    cut_film: Path, library: Library, settings: Settings
) -> None:
    outcome = add_recording(library, CaseDraft(title="Cut", sources=(cut_film,)), settings)
    assert outcome.recording_id is not None
    before = library.survey(library.owner, outcome.recording_id)
    stills = library.recording(library.owner, outcome.recording_id).stills
    assert list(survey_later(library, settings)) == []
    (again,) = survey_later(library, settings, ("Cut",))
    assert again.fault == ""
    assert library.survey(library.owner, outcome.recording_id) == before
    after = library.recording(library.owner, outcome.recording_id)
    assert set(stills) <= set(after.stills)
    assert list(library.work.iterdir()) == [] and library.check() == []
    assert len(after.remarks) == len(set(after.remarks))


def test_a_survey_of_a_film_that_is_away_says_so_and_changes_nothing(
    cut_film: Path, library: Library, settings: Settings
) -> None:
    outcome = add_recording(library, CaseDraft(title="Cut", sources=(cut_film,)), settings)
    assert outcome.recording_id is not None
    stills = library.recording(library.owner, outcome.recording_id).stills
    cut_film.rename(cut_film.with_name("elsewhere.mp4"))
    (again,) = survey_later(library, settings, ("Cut",))
    assert again.survey is None and again.fault
    assert all(still.path.is_file() for still in stills)
    assert library.survey(library.owner, outcome.recording_id) is not None
