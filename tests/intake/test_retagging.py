"""Tagging anew: what a person decided stays, and guides recordings of the same operator."""

from __future__ import annotations

from pathlib import Path

import pytest

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.errors import NotFound
from indexer.intake import again, river
from indexer.models import Decision, RecordingDetail, Standing
from tests.films import write_film
from tests.intake.conftest import Draft


def recording_of(library: Library, title: str) -> RecordingDetail:
    case = next(case for case in library.cases(library.owner) if case.title == title)
    return library.case(library.owner, case.id).recordings[0]


def decide(library: Library, mark: str, one: object, **what: object) -> None:
    library.decide(library.owner, Decision(mark=mark, id=one.id, version=one.version, **what))  # type: ignore


def test_what_a_person_decided_stays(library: Library, settings: Settings, draft: Draft) -> None:
    river.add_recording(library, draft(title="Quiet eye"), settings)
    before = recording_of(library, "Quiet eye")
    kept, refused = before.segments[0], before.mentions[-1]
    decide(library, "segment", kept, concept="capsule-staining", standing=Standing.ACCEPTED)
    decide(library, "mention", refused, standing=Standing.REFUSED)
    (told,) = again.retag(library)
    assert (told.title, told.steps > 0) == ("Quiet eye", True)
    after = recording_of(library, "Quiet eye")
    accepted = [segment for segment in after.segments if segment.standing is Standing.ACCEPTED]
    assert [(segment.step, segment.id) for segment in accepted] == [("capsule-staining", kept.id)]
    assert (refused.concept, refused.start_ms) not in {
        (mention.concept, mention.start_ms) for mention in after.mentions
    }
    assert [one.id for one in after.segments if one.standing is Standing.PROPOSED] != [] or len(after.segments) == 1


def test_a_form_put_right_in_one_recording_is_known_in_the_next(
    library: Library, settings: Settings, draft: Draft, card: Path
) -> None:
    for number, words in enumerate(("a quibbly wax in the chamber, please", "and once more a quibbly wax, slowly")):
        film = write_film(card / f"film{number}.mp4", 200 + number, options={"movflags": "faststart"})
        film.with_suffix(".txt").write_text(f"[0:00] now the rhexis with the forceps\n[0:03] {words}\n")
        outcome = river.add_recording(
            library,
            draft(sources=(film,), transcript=film.with_suffix(".txt"), title=f"Eye {number}", operator="Dipper"),
            settings,
        )
        assert outcome.how == "added"
    rhexis = next(mention for mention in recording_of(library, "Eye 0").mentions if mention.concept == "capsulorhexis")
    wax = next(word for word in recording_of(library, "Eye 0").words if word.text == "quibbly")
    span = {"start_ms": wax.start_ms, "end_ms": wax.end_ms}
    assert span["start_ms"] >= rhexis.end_ms
    given = library.given(recording_of(library, "Eye 1").id)
    assert all(form.concept != "viscoelastic" for form in given.heard)
    decide(library, "mention", rhexis, concept="capsulorhexis", standing=Standing.ACCEPTED)
    given = library.given(recording_of(library, "Eye 1").id)
    assert [(form.heard, form.concept) for form in given.heard] == [(rhexis.heard, "capsulorhexis")]


def test_accepted_steps_become_the_operators_own_order(
    library: Library, settings: Settings, draft: Draft, card: Path
) -> None:
    river.add_recording(library, draft(title="One", operator="Dipper"), settings)
    film = write_film(card / "other.mp4", 210, options={"movflags": "faststart"})
    river.add_recording(library, draft(sources=(film,), transcript=None, title="Two", operator="Dipper"), settings)
    steps = recording_of(library, "One").segments
    for number in range(len(steps)):
        decide(library, "segment", recording_of(library, "One").segments[number], standing=Standing.ACCEPTED)
    operations = library.given(recording_of(library, "Two").id).operations
    expected = [[segment.step for segment in steps]] if len(steps) >= 3 else []
    assert [[visit.step for visit in operation] for operation in operations] == expected


def test_an_unknown_case_is_told(library: Library) -> None:
    with pytest.raises(NotFound, match="Nobody's eye"):
        list(again.retag(library, ("Nobody's eye",)))
