"""What counts as time of a step, and who may see it."""

from __future__ import annotations

from datetime import date

import pytest

from indexer.catalogue.library import Library
from indexer.consent import NOBODY
from indexer.models import Decision, Standing
from indexer.models.timing import TimesAsked
from indexer.timing import asking
from tests.timing.conftest import Add

SURE = [("main-incision", 10, 30, "sure"), ("capsulorhexis", 30, 70, "sure")]


def steps(library: Library, **asked: object) -> dict[str, tuple[float, int]]:
    """Seconds and visits of every step of the one operation."""
    (one,) = asking.counted(library, library.owner, TimesAsked(**asked))
    return {step.step: (step.time_ms / 1000, step.visits) for step in one.steps}


def test_confirmed_steps_of_a_whole_recording_count(library: Library, film: Add) -> None:
    film(SURE, length_s=100)
    assert steps(library) == {"main-incision": (20, 1), "capsulorhexis": (40, 1)}
    (one,) = asking.counted(library, library.owner, TimesAsked())
    assert (one.no_step_ms, one.unconfirmed_ms, one.counted_ms) == (40_000, 0, 60_000)


@pytest.mark.parametrize("kind", ["edited", "excerpt"])
def test_films_that_skip_never_count(library: Library, film: Add, kind: str) -> None:
    film(SURE, kind=kind)
    assert asking.counted(library, library.owner, TimesAsked(proposals=True)) == []


@pytest.mark.parametrize("sure", ["proposed", "edges"])
def test_what_nobody_confirmed_counts_only_when_asked_for(library: Library, film: Add, sure: str) -> None:
    film([*SURE, ("phacoemulsification", 70, 90, sure)], length_s=100)
    assert "phacoemulsification" not in steps(library)
    (one,) = asking.counted(library, library.owner, TimesAsked())
    assert (one.no_step_ms, one.unconfirmed_ms, one.left_out) == (20_000, 20_000, ("phacoemulsification",))
    assert steps(library, proposals=True)["phacoemulsification"] == (20, 1)


def test_a_step_counts_only_with_all_its_visits(library: Library, film: Add) -> None:
    film([*SURE, ("capsulorhexis", 80, 90, "proposed")])
    assert steps(library) == {"main-incision": (20, 1)}
    assert steps(library, proposals=True)["capsulorhexis"] == (50, 2)


def test_a_persons_edges_make_a_step_count(library: Library, film: Add) -> None:
    case = film([("capsulorhexis", 30, 70, "proposed"), *SURE[:1]])
    (segment,) = (each for each in library.case(library.owner, case).recordings[0].segments if each.step != SURE[0][0])
    decision = Decision(mark="segment", id=segment.id, version=segment.version, start_ms=31_000, end_ms=70_000)
    library.decide(library.owner, decision)
    assert steps(library)["capsulorhexis"] == (39, 1)


def test_refused_steps_are_no_step(library: Library, film: Add) -> None:
    case = film([*SURE, ("phacoemulsification", 70, 90, "proposed")], length_s=100)
    segment = library.case(library.owner, case).recordings[0].segments[-1]
    decision = Decision(mark="segment", id=segment.id, version=segment.version, standing=Standing.REFUSED)
    library.decide(library.owner, decision)
    (one,) = asking.counted(library, library.owner, TimesAsked())
    assert (one.no_step_ms, one.unconfirmed_ms) == (40_000, 0)


def test_narrower_steps_stand_for_themselves_and_in_the_broader_one(library: Library, film: Add) -> None:
    film([("sculpting", 0, 20, "sure"), ("cracking", 20, 30, "sure"), ("sculpting", 40, 45, "sure")])
    assert steps(library) == {"sculpting": (25, 2), "cracking": (10, 1), "phacoemulsification": (35, 2)}


def test_of_two_whole_recordings_of_a_case_one_counts(library: Library, film: Add) -> None:
    case = film(SURE[:1])
    film(SURE, case_id=case)
    assert steps(library) == {"main-incision": (20, 1), "capsulorhexis": (40, 1)}


def test_people_see_the_times_of_their_own_operations(library: Library, film: Add) -> None:
    case = film(SURE)
    library.state_consent(library.owner, case, "public", on=date(2026, 1, 1))  # type: ignore[arg-type]
    one, other = library.person("one"), library.person("other")
    assert len(library.step_times(one, TimesAsked())) == 1
    assert library.step_times(other, TimesAsked()) == []
    assert library.step_times(NOBODY, TimesAsked()) == []
