"""Steps put right by a person: every deed, its way back, and what happens when two people are at it."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from indexer.catalogue.library import Library
from indexer.catalogue.reshaping import reshape
from indexer.consent import NOBODY, Role, Viewer
from indexer.errors import BadInput, Conflict, NotAllowed, NotFound
from indexer.models import Boundary, CaseDraft, Segment, SegmentView, Standing
from indexer.models.marking import Deed, Marking

PASSAGES = [
    ("main-incision", "the main incision is made here", [("main-incision", "done", "main incision")]),
    ("capsulorhexis", "now the rhexis goes round", [("capsulorhexis", "done", "rhexis")]),
    ("chopping", "a vertical chop and again", [("vertical-chop", "done", "vertical chop")]),
]
"""0 to 2400, 2400 to 4400, 4400 to 6400 ms; the recording is 600 s long."""


@pytest.fixture
def heron(library: Library) -> Viewer:
    return library.person("Heron", roles=[Role.SURGEON])


@pytest.fixture
def recording_id(library: Library, add, heron: Viewer) -> str:
    case_id = add("One", PASSAGES, release="teaching", operator="Heron")
    return library.case(library.owner, case_id).recordings[0].id


def _does(library: Library, viewer: Viewer, recording_id: str, verb: str, place: int | None = None, **more) -> Marking:
    now = library.marking(viewer, recording_id).segments
    segment = None if place is None else now[place].id
    seen = {each.id: each.version for each in now}
    return library.mark(viewer, recording_id, Deed(verb=verb, segment=segment, seen=seen, **more))


def _spans(marking: Marking) -> list[tuple[str, int, int]]:
    return [(each.step, each.start_ms, each.end_ms) for each in marking.segments]


def _said(segments: tuple[SegmentView, ...]) -> list[dict]:
    return [each.model_dump(exclude={"version"}) for each in segments]


DEEDS = {
    "keep": ({"place": 1}, [("main-incision", 0, 2400), ("capsulorhexis", 2400, 4400), ("chopping", 4400, 6400)]),
    "refuse": ({"place": 1}, [("main-incision", 0, 2400), ("chopping", 4400, 6400)]),
    "name": (
        {"place": 1, "step": "capsule-support"},
        [("main-incision", 0, 2400), ("capsule-support", 2400, 4400), ("chopping", 4400, 6400)],
    ),
    "split": (
        {"place": 1, "at_ms": 3000},
        [
            ("main-incision", 0, 2400),
            ("capsulorhexis", 2400, 3000),
            ("capsulorhexis", 3000, 4400),
            ("chopping", 4400, 6400),
        ],
    ),
    "join": ({"place": 0}, [("main-incision", 0, 4400), ("chopping", 4400, 6400)]),
    "edge": (
        {"place": 1, "edge": "start", "at_ms": 2000},
        [("main-incision", 0, 2000), ("capsulorhexis", 2000, 4400), ("chopping", 4400, 6400)],
    ),
    "begin": (
        {"step": "capsule-support", "at_ms": 5000},
        [
            ("main-incision", 0, 2400),
            ("capsulorhexis", 2400, 4400),
            ("chopping", 4400, 5000),
            ("capsule-support", 5000, 6400),
        ],
    ),
    "rest": ({"at_ms": 5000}, [("main-incision", 0, 2400), ("capsulorhexis", 2400, 4400), ("chopping", 4400, 5000)]),
}


@pytest.mark.parametrize("verb", DEEDS)
def test_each_deed_changes_what_it_says_and_can_be_taken_back_and_done_again(
    library: Library, heron: Viewer, recording_id: str, verb: str
) -> None:
    what, spans = DEEDS[verb]
    before = library.marking(heron, recording_id)
    done = _does(library, heron, recording_id, verb, **what)
    assert _spans(done) == spans
    assert (done.undo, done.redo) == (verb, None)
    back = library.undo(heron, recording_id)
    assert _said(back.segments) == _said(before.segments)
    assert (back.undo, back.redo) == (None, verb)
    again = library.redo(heron, recording_id)
    assert _said(again.segments) == _said(done.segments)


def test_one_deed_confirms_a_step_with_both_its_edges(library: Library, heron: Viewer, recording_id: str) -> None:
    first, kept, last = _does(library, heron, recording_id, "keep", 1).segments
    assert (kept.standing, kept.start.source, kept.end.source) == (Standing.ACCEPTED, "person", "person")
    # The neighbours share these edges; the steps themselves are still to be looked at.
    assert (first.end.source, last.start.source) == ("person", "person")
    assert (first.start.source, first.standing, last.standing) == ("word", Standing.PROPOSED, Standing.PROPOSED)


def test_undo_and_redo_have_no_end(library: Library, heron: Viewer, recording_id: str) -> None:
    states = [library.marking(heron, recording_id)]
    for number in range(40):
        states.append(_does(library, heron, recording_id, "edge", 1, edge="start", at_ms=1000 + 10 * number))
    for expected in reversed(states[:-1]):
        assert _said(library.undo(heron, recording_id).segments) == _said(expected.segments)
    with pytest.raises(BadInput, match="nothing to take back"):
        library.undo(heron, recording_id)
    for expected in states[1:]:
        assert _said(library.redo(heron, recording_id).segments) == _said(expected.segments)
    with pytest.raises(BadInput, match="nothing to do again"):
        library.redo(heron, recording_id)


def test_something_new_puts_an_end_to_what_could_be_done_again(
    library: Library, heron: Viewer, recording_id: str
) -> None:
    _does(library, heron, recording_id, "keep", 0)
    library.undo(heron, recording_id)
    assert _does(library, heron, recording_id, "refuse", 2).redo is None
    library.undo(heron, recording_id)
    assert library.redo(heron, recording_id).undo == "refuse"


def test_two_people_at_one_step_get_a_clear_conflict(library: Library, heron: Viewer, recording_id: str) -> None:
    looked_at = library.marking(library.owner, recording_id).segments
    _does(library, heron, recording_id, "name", 1, step="capsule-support")
    stale = {each.id: each.version for each in looked_at}
    with pytest.raises(Conflict, match="Heron"):
        library.mark(library.owner, recording_id, Deed(verb="refuse", segment=looked_at[1].id, seen=stale))
    with pytest.raises(Conflict, match="Heron"):  # its edge is shared with the step that Heron named
        library.mark(library.owner, recording_id, Deed(verb="keep", segment=looked_at[0].id, seen=stale))
    assert library.marking(heron, recording_id).segments[1].step == "capsule-support"


def test_a_step_that_somebody_took_away_is_a_conflict_too(library: Library, heron: Viewer, recording_id: str) -> None:
    looked_at = library.marking(library.owner, recording_id).segments
    _does(library, heron, recording_id, "join", 0)
    stale = {each.id: each.version for each in looked_at}
    with pytest.raises(Conflict, match="Heron"):
        library.mark(library.owner, recording_id, Deed(verb="keep", segment=looked_at[1].id, seen=stale))


def test_people_at_different_steps_do_not_disturb_each_other(
    library: Library, heron: Viewer, recording_id: str
) -> None:
    stale = {each.id: each.version for each in library.marking(heron, recording_id).segments}
    _does(library, library.owner, recording_id, "refuse", 0)
    last = library.marking(heron, recording_id).segments[-1]
    library.mark(heron, recording_id, Deed(verb="refuse", segment=last.id, seen=stale))
    assert [each.step for each in library.undo(heron, recording_id).segments] == ["capsulorhexis", "chopping"]
    assert len(library.undo(library.owner, recording_id).segments) == 3


def test_what_others_went_on_from_is_not_taken_back(library: Library, heron: Viewer, recording_id: str) -> None:
    _does(library, heron, recording_id, "name", 1, step="capsule-support")
    _does(library, library.owner, recording_id, "edge", 1, edge="end", at_ms=5000)
    with pytest.raises(Conflict, match=library.owner.pseudonym):
        library.undo(heron, recording_id)
    assert _spans(library.marking(heron, recording_id))[1] == ("capsule-support", 2400, 5000)


def test_a_step_that_comes_back_has_a_version_it_never_had(library: Library, heron: Viewer, recording_id: str) -> None:
    seen = {library.marking(heron, recording_id).segments[1].version}
    for _ in range(3):
        _does(library, heron, recording_id, "join", 0)
        version = library.undo(heron, recording_id).segments[1].version
        assert version not in seen
        seen.add(version)


@pytest.mark.parametrize("deed", ["mark", "undo", "redo"])
def test_marking_is_for_the_operator_and_the_owner(library: Library, recording_id: str, deed: str) -> None:
    plover = library.person("Plover", roles=[Role.SURGEON, Role.EDUCATOR])
    _does(library, library.owner, recording_id, "keep", 0)
    looked_at = library.marking(plover, recording_id)
    assert (looked_at.may_mark, looked_at.lately) == (False, ())
    last = library.marking(plover, recording_id).segments[-1]
    more = (Deed(verb="keep", segment=last.id, seen={last.id: last.version}),) if deed == "mark" else ()
    with pytest.raises(NotAllowed):
        getattr(library, deed)(plover, recording_id, *more)
    with pytest.raises(NotFound):
        getattr(library, deed)(NOBODY, recording_id, *more)


@pytest.mark.parametrize(
    ("verb", "what", "error"),
    [
        ("split", {"place": 1, "at_ms": 100}, BadInput),
        ("split", {"place": 1}, BadInput),
        ("join", {"place": 2}, BadInput),
        ("edge", {"place": 1, "at_ms": 3000}, BadInput),
        ("edge", {"place": 1, "edge": "start", "at_ms": 4400}, BadInput),
        ("edge", {"place": 1, "edge": "end", "at_ms": 6400}, BadInput),
        ("name", {"place": 1}, BadInput),
        ("name", {"place": 1, "step": "capsular-hooks"}, BadInput),
        ("name", {"place": 1, "step": "unheard-of"}, NotFound),
        ("keep", {}, BadInput),
        ("begin", {"at_ms": 600_000, "step": "chopping"}, BadInput),
        ("begin", {"at_ms": 3000}, BadInput),
        ("rest", {"at_ms": 300_000}, BadInput),
    ],
)
def test_what_does_not_fit_changes_nothing(
    library: Library, heron: Viewer, recording_id: str, verb: str, what: dict, error: type[Exception]
) -> None:
    before = library.marking(heron, recording_id)
    with pytest.raises(error):
        _does(library, heron, recording_id, verb, **what)
    assert library.marking(heron, recording_id) == before


def test_a_recording_without_words_is_marked_while_watching(library: Library, add, heron: Viewer) -> None:
    case_id = add("Silent", [], operator="Heron")
    recording_id = library.case(heron, case_id).recordings[0].id
    for at_ms, step in ((0, "case-introduction"), (20_000, "main-incision"), (35_000, "capsulorhexis")):
        _does(library, heron, recording_id, "begin", at_ms=at_ms, step=step, spread_ms=300)
    marking = _does(library, heron, recording_id, "rest", at_ms=80_000)
    assert _spans(marking) == [
        ("case-introduction", 0, 20_000),
        ("main-incision", 20_000, 35_000),
        ("capsulorhexis", 35_000, 80_000),
    ]
    assert all(each.standing is Standing.ACCEPTED and each.end.source == "person" for each in marking.segments)
    assert marking.segments[1].start.spread_ms == 300


def test_words_are_found_in_the_step_that_a_person_gave_them(
    library: Library, heron: Viewer, recording_id: str
) -> None:
    from indexer.models import Query

    _does(library, heron, recording_id, "name", 2, step="capsule-support")
    found = library.find(heron, Query(text="vertical chop")).passages
    assert [each.step for each in found[:1]] == ["capsule-support"]


VERBS = st.sampled_from(["keep", "refuse", "name", "split", "join", "edge", "begin", "rest"])


@settings(max_examples=300, deadline=None)
@given(
    deeds=st.lists(
        st.tuples(VERBS, st.integers(0, 9), st.integers(0, 100), st.sampled_from(["start", "end"])), max_size=12
    )
)
def test_steps_never_overlap_whatever_is_done(deeds: list[tuple]) -> None:
    edge = {at: Boundary(at_ms=at, source="word", spread_ms=5) for at in (0, 2000, 4000, 5000, 8000)}
    marks = {
        "a": Segment(step="a", start=edge[0], end=edge[2000], confidence=0.5),
        "b": Segment(step="b", start=edge[2000], end=edge[4000], confidence=0.5),
        "c": Segment(step="c", start=edge[5000], end=edge[8000], confidence=0.5),
    }
    for number, (verb, place, at, which) in enumerate(deeds):
        order = sorted(marks, key=lambda mark: marks[mark].start_ms)
        mark = order[place % len(order)] if order else None
        deed = Deed(verb=verb, segment=mark, at_ms=at * 100, edge=which, step="d")
        try:
            changes = reshape(marks, deed, f"new{number}", 10_000, "Heron")
        except BadInput:
            continue
        marks = {key: one for key, one in {**marks, **changes}.items() if one and one.standing is not Standing.REFUSED}
        line = sorted(marks.values(), key=lambda one: one.start_ms)
        assert all(one.end_ms - one.start_ms >= 40 for one in line)
        assert all(one.end_ms <= other.start_ms for one, other in pairwise(line))
        assert all(one.start_ms >= 0 and one.end_ms <= 10_000 for one in line)


def test_a_library_of_drafts_needs_no_operator(library: Library, add) -> None:
    """Without an operator only the owner marks."""
    assert CaseDraft(title="x", sources=()).operator is None
    case_id = add("Nobody's", PASSAGES, release="public")
    recording_id = library.case(library.owner, case_id).recordings[0].id
    assert library.marking(library.owner, recording_id).may_mark
    assert not library.marking(NOBODY, recording_id).may_mark
