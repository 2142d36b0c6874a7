"""The list of names, decisions on identifiers, what was listened to, and shifted dates: whose they are, and what holds."""

import pytest

from indexer.catalogue.library import Library
from indexer.consent import NOBODY, Role, Viewer
from indexer.errors import BadInput, NotAllowed, NotFound
from indexer.models.identifying import IdentifierDecision, IdentifierKind, KnownName
from indexer.timespan import Span

PASSAGES = [("main-incision", "the main incision is made here", [])]
NAME = KnownName(text="Mirela  Vantoor")


@pytest.fixture
def case_id(add) -> str:
    return add("One", PASSAGES, release="teaching")


@pytest.fixture
def heron(library: Library) -> Viewer:
    return library.person("Heron", roles=[Role.SURGEON])


def test_a_name_is_listed_once_and_can_be_taken_off(library: Library) -> None:
    first = library.add_name(library.owner, NAME)
    assert library.add_name(library.owner, KnownName(text="mirela vantoor")) == first
    assert [(one.text, one.added_by, one.case_id) for one in library.names(library.owner)] == [
        ("Mirela Vantoor", "owner", None)
    ]
    library.remove_name(library.owner, first)
    assert library.names(library.owner) == []
    with pytest.raises(NotFound):
        library.remove_name(library.owner, first)


def test_a_name_may_come_from_a_case(library: Library, case_id: str) -> None:
    library.add_name(library.owner, KnownName(kind=IdentifierKind.RECORD, text="4471182"), case_id=case_id)
    assert [(one.kind, one.case_id) for one in library.names(library.owner)] == [("record", case_id)]
    with pytest.raises(NotFound):
        library.add_name(library.owner, NAME, case_id="no-such-case")


def test_the_list_is_for_the_owner_alone(library: Library, heron: Viewer, case_id: str) -> None:
    for viewer in (heron, NOBODY):
        for deed in (
            lambda viewer=viewer: library.names(viewer),
            lambda viewer=viewer: library.add_name(viewer, NAME),
            lambda viewer=viewer: library.remove_name(viewer, 1),
        ):
            with pytest.raises(NotAllowed):
                deed()
        with pytest.raises(NotFound):
            library.names_for_search(viewer, case_id)


def test_decisions_are_for_the_owner_and_the_operator(library: Library, heron: Viewer, case_id: str) -> None:
    decision = IdentifierDecision(key="name:vantoor", remove=True, case_id=case_id)
    for viewer in (heron, NOBODY):
        for deed in (
            lambda viewer=viewer: library.decide_identifier(viewer, decision),
            lambda viewer=viewer: library.identifier_decisions(viewer, case_id),
            lambda viewer=viewer: library.date_shift(viewer, case_id),
        ):
            with pytest.raises(NotFound):
                deed()
    with pytest.raises(NotAllowed):
        library.decide_identifier(heron, decision.model_copy(update={"case_id": None}))


def test_the_newest_decision_holds_with_who_and_why(library: Library, case_id: str) -> None:
    kept = IdentifierDecision(key="name:vantoor", remove=False, reason=" an invented  name ", case_id=case_id)
    library.decide_identifier(library.owner, kept.model_copy(update={"remove": True}))
    library.decide_identifier(library.owner, kept)
    (held,) = library.identifier_decisions(library.owner, case_id)
    assert (held.remove, held.reason, held.decided_by) == (False, "an invented name", "owner")


def test_an_identifier_is_only_kept_for_a_reason(library: Library, case_id: str) -> None:
    with pytest.raises(BadInput, match="Say why"):
        library.decide_identifier(library.owner, IdentifierDecision(key="name:vantoor", remove=False, case_id=case_id))


def test_what_was_listened_to_is_joined(library: Library, case_id: str) -> None:
    recording_id = library.case(library.owner, case_id).recordings[0].id
    for span in (Span(5000, 9000), Span(0, 2000), Span(1500, 3000)):
        library.note_heard(library.owner, recording_id, span)
    assert library.heard(library.owner, recording_id) == (Span(0, 3000), Span(5000, 9000))
    with pytest.raises(BadInput):
        library.note_heard(library.owner, recording_id, Span(5, 5))
    with pytest.raises(NotFound):
        library.heard(NOBODY, recording_id)


def test_the_dates_of_a_case_keep_their_shift(library: Library, case_id: str) -> None:
    shift = library.date_shift(library.owner, case_id)
    assert -365 <= shift <= -30
    assert library.date_shift(library.owner, case_id) == shift
