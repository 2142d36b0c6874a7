"""Who may see what: the predicate of the queries says what `consent.may_be_seen` says, in every reading."""

from datetime import date, timedelta
from itertools import product

import pytest

from indexer.catalogue.library import Library
from indexer.consent import NOBODY, Release, Role, Viewer, may_be_seen
from indexer.errors import NotAllowed, NotFound
from indexer.models import Query

PASSAGES = [("capsule-support", "two capsular hooks go in", [("capsular-hooks", "done", "capsular hooks")])]
TODAY = date.today()


@pytest.fixture
def viewers(library: Library) -> dict[str, Viewer]:
    return {
        "owner": library.owner,
        "Heron": library.person("Heron", roles=[Role.SURGEON]),
        "Plover": library.person("Plover", roles=[Role.SURGEON]),
        "Wren": library.person("Wren", roles=[Role.TRAINEE]),
        "nobody": NOBODY,
    }


@pytest.mark.parametrize(("release", "operator"), list(product(Release, [None, "Heron", "Plover"])))
def test_the_predicate_is_the_rule(library: Library, viewers, add, release: Release, operator: str | None) -> None:
    case_id = add("One", PASSAGES, release=release, operator=operator, findings=["dense-nucleus"])
    for viewer in viewers.values():
        allowed = may_be_seen(release, viewer, viewers[operator].person_id if operator else None)
        assert bool(library.cases(viewer)) is allowed
        assert _opens(library, viewer, case_id) is allowed
        answer = library.find(viewer, Query(text="capsular hooks dense nucleus"))
        everything = library.find(viewer, Query())
        assert (answer.total, everything.total) == ((1, 1) if allowed else (0, 0))
        if not allowed:
            # Counts, suggestions and neighbours tell nothing either.
            assert (answer.facets, answer.nearest, everything.facets) == ((), (), ())
            assert all(understood.found == 0 for understood in answer.understood)


def _opens(library: Library, viewer: Viewer, case_id: str) -> bool:
    try:
        case = library.case(viewer, case_id)
    except NotFound:
        recordings = library.case(library.owner, case_id).recordings
        with pytest.raises(NotFound):
            library.recording(viewer, recordings[0].id)
        return False
    assert library.recording(viewer, case.recordings[0].id) == case.recordings[0]
    return True


def test_what_one_may_not_see_does_not_weigh(library: Library, viewers, add) -> None:
    """A score tells how rare a thing is: it must not change with what is hidden."""
    add("Seen", PASSAGES, release="teaching")
    before = library.find(viewers["Wren"], Query(text="capsular hooks"))
    for number in range(5):
        add(f"Hidden {number}", PASSAGES, release="private")
    assert library.find(viewers["Wren"], Query(text="capsular hooks")) == before


def test_a_word_said_only_in_hidden_cases_is_not_suggested(library: Library, viewers, add) -> None:
    add("Hidden", [("capsulorhexis", "the patient sneezed", [])], release="private")
    add("Seen", [("capsulorhexis", "now it goes round", [])], release="teaching")
    answer = library.find(viewers["Wren"], Query(text="sneezd"))
    assert (answer.total, answer.unmatched) == (0, ("sneezd",))


@pytest.mark.parametrize(
    ("until", "seen"), [(None, True), (TODAY, True), (TODAY + timedelta(30), True), (TODAY - timedelta(1), False)]
)
def test_a_consent_ends_with_its_last_day(library: Library, viewers, add, until: date | None, seen: bool) -> None:
    case_id = add("One", PASSAGES)
    library.state_consent(library.owner, case_id, Release.TEACHING, on=TODAY, evidence="folder 7", until=until)
    assert bool(library.cases(viewers["Wren"])) is seen
    assert library.case(library.owner, case_id).release == ("teaching" if seen else "private")


def test_a_withdrawn_consent_hides_the_case_at_once_and_stays_in_the_history(library: Library, viewers, add) -> None:
    case_id = add("One", PASSAGES, release="public", consent_evidence="folder 7")
    assert library.find(NOBODY, Query(text="hooks")).total == 1
    library.withdraw_consent(library.owner, case_id, on=TODAY)
    assert library.cases(NOBODY) == library.cases(viewers["Wren"]) == []
    (entry,) = library.case(library.owner, case_id).consents
    assert (entry.release, entry.evidence, entry.withdrawn_on, entry.stated_by) == (
        "public",
        "folder 7",
        TODAY,
        "owner",
    )


def test_only_the_owner_and_the_operator_state_a_consent(library: Library, viewers, add) -> None:
    case_id = add("One", PASSAGES, release="public")
    with pytest.raises(NotAllowed):
        library.state_consent(viewers["Wren"], case_id, Release.PUBLIC, on=TODAY)
    with pytest.raises(NotAllowed):
        library.withdraw_consent(NOBODY, case_id, on=TODAY)
    with pytest.raises(NotFound):
        library.state_consent(viewers["Wren"], add("Hidden", PASSAGES), Release.PUBLIC, on=TODAY)
    own = add("Own", PASSAGES, operator="Heron")
    library.state_consent(viewers["Heron"], own, Release.TEACHING, on=TODAY, purpose="teaching here")
    (entry,) = library.case(library.owner, own).consents
    assert (entry.stated_by, entry.purpose) == ("Heron", "teaching here") and entry.stated_at is not None


def test_dates_and_consents_are_for_the_owner_and_the_operator(library: Library, viewers, add) -> None:
    case_id = add("One", PASSAGES, release="public", operator="Heron", operated_on=date(2031, 5, 2))
    for name, inner in [("owner", True), ("Heron", True), ("Plover", False), ("Wren", False), ("nobody", False)]:
        case = library.case(viewers[name], case_id)
        assert (case.operated_on is not None, bool(case.consents)) == (inner, inner)
