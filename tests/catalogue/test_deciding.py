"""What a person decides: kept with its history, never overwritten, by a colleague or by a new tagging."""

import pytest
from operations import boundary, content, told

from indexer.catalogue.library import Library
from indexer.consent import NOBODY, Role
from indexer.errors import BadInput, Conflict, NotAllowed, NotFound
from indexer.models import (
    AssertionKind,
    Decision,
    FoundFinding,
    RecordingDetail,
    Segment,
    Standing,
    Tagging,
)

PASSAGES = [
    ("main-incision", "the main incision is made here", [("main-incision", "done", "main incision")]),
    ("capsulorhexis", "now the rhexis goes round", [("capsulorhexis", "done", "rhexis")]),
    ("chopping", "a vertical chop and again", [("vertical-chop", "done", "vertical chop")]),
]


@pytest.fixture
def case_id(add) -> str:
    return add("One", PASSAGES, findings=["dense-nucleus"], release="teaching")


def _recording(library: Library, case_id: str) -> RecordingDetail:
    return library.case(library.owner, case_id).recordings[0]


def _retold(passages) -> Tagging:
    _, segments, mentions = told(passages)
    return Tagging(language="en", segments=tuple(segments), mentions=tuple(mentions))


def test_a_decision_is_kept_with_who_and_what_it_was(library: Library, case_id: str) -> None:
    heron = library.person("Heron", roles=[Role.SURGEON])
    segment = _recording(library, case_id).segments[1]
    version = library.decide(heron, Decision(mark="segment", id=segment.id, version=1, start_ms=2600))
    changed = _recording(library, case_id).segments[1]
    assert (version, changed.version, changed.standing) == (2, 2, Standing.ACCEPTED)
    assert (changed.start_ms, changed.start.source, changed.start.spread_ms) == (2600, "person", 0)
    (event,) = library.history(library.owner, case_id)
    assert (event.by, event.mark, event.mark_id) == ("Heron", "segment", segment.id)
    assert (event.before["standing"], event.before["start_ms"]) == ("proposed", segment.start_ms)
    assert (event.after["standing"], event.after["start_ms"]) == ("accepted", 2600)


def test_two_people_at_one_mark_get_a_clear_conflict(library: Library, case_id: str) -> None:
    heron, plover = (library.person(name, roles=[Role.SURGEON]) for name in ("Heron", "Plover"))
    mention = _recording(library, case_id).mentions[0]
    library.decide(heron, Decision(mark="mention", id=mention.id, version=1, assertion=AssertionKind.PLANNED))
    with pytest.raises(Conflict, match="Heron"):
        library.decide(plover, Decision(mark="mention", id=mention.id, version=1, standing=Standing.REFUSED))
    kept = _recording(library, case_id).mentions[0]
    assert (kept.assertion, kept.standing) == (AssertionKind.PLANNED, Standing.ACCEPTED)
    assert len(library.history(library.owner, case_id)) == 1


@pytest.mark.parametrize("kind", ["segment", "mention", "finding"])
def test_what_is_refused_is_gone_from_every_reading(library: Library, case_id: str, kind: str) -> None:
    case = library.case(library.owner, case_id)
    marks = {
        "segment": case.recordings[0].segments,
        "mention": case.recordings[0].mentions,
        "finding": case.finding_views,
    }
    mark = marks[kind][0]
    library.decide(library.owner, Decision(mark=kind, id=mark.id, version=1, standing=Standing.REFUSED))
    after = library.case(library.owner, case_id)
    left = {each.id for each in (*after.recordings[0].segments, *after.recordings[0].mentions, *after.finding_views)}
    assert mark.id not in left


@pytest.mark.parametrize(
    ("decision", "error"),
    [
        ({"concept": "iris-hooks"}, BadInput),
        ({"concept": "no-such-step"}, NotFound),
        ({"start_ms": 9000}, BadInput),
        ({"assertion": AssertionKind.DONE}, BadInput),
        ({"id": "nosuchsegment"}, NotFound),
        ({"version": 7}, Conflict),
    ],
)
def test_a_decision_that_does_not_fit_changes_nothing(library: Library, case_id: str, decision, error) -> None:
    before = _recording(library, case_id)
    given = {"mark": "segment", "id": before.segments[0].id, "version": 1} | decision
    with pytest.raises(error):
        library.decide(library.owner, Decision(**given))
    assert _recording(library, case_id) == before
    assert library.history(library.owner, case_id) == []


def test_trainees_and_strangers_do_not_decide(library: Library, case_id: str) -> None:
    segment = _recording(library, case_id).segments[0]
    decision = Decision(mark="segment", id=segment.id, version=1)
    with pytest.raises(NotAllowed):
        library.decide(library.person("Wren", roles=[Role.TRAINEE]), decision)
    # What one may not see, one is not told of.
    with pytest.raises(NotFound):
        library.decide(NOBODY, decision)


def test_a_new_tagging_keeps_what_was_decided(library: Library, case_id: str) -> None:
    before = _recording(library, case_id)
    library.decide(
        library.owner, Decision(mark="segment", id=before.segments[1].id, version=1, concept="capsule-support")
    )
    library.decide(
        library.owner, Decision(mark="segment", id=before.segments[2].id, version=1, standing=Standing.REFUSED)
    )
    library.decide(
        library.owner, Decision(mark="mention", id=before.mentions[2].id, version=1, standing=Standing.REFUSED)
    )
    library.retag(before.id, _retold(PASSAGES))
    after = _recording(library, case_id)
    assert [segment.step for segment in after.segments] == ["main-incision", "capsule-support"]
    assert [mention.concept for mention in after.mentions] == ["main-incision", "capsulorhexis"]
    assert after.segments[1].id == before.segments[1].id
    assert after.segments[0].id != before.segments[0].id


def test_a_new_tagging_is_told_what_was_decided(library: Library, case_id: str) -> None:
    before = _recording(library, case_id)
    library.decide(library.owner, Decision(mark="segment", id=before.segments[1].id, version=1))
    library.decide(
        library.owner, Decision(mark="mention", id=before.mentions[0].id, version=1, standing=Standing.REFUSED)
    )
    given = library.given(before.id)
    (segment,), (mention,) = given.segments, given.mentions
    assert (segment.step, segment.standing) == ("capsulorhexis", Standing.ACCEPTED)
    assert (mention.concept, mention.heard, mention.refused) == ("main-incision", "main incision", True)


def test_a_new_tagging_keeps_a_finding_that_a_person_refused(library: Library, case_id: str) -> None:
    case = library.case(library.owner, case_id)
    finding = case.finding_views[0]
    library.decide(library.owner, Decision(mark="finding", id=finding.id, version=1, standing=Standing.REFUSED))
    again = FoundFinding(concept="dense-nucleus", confidence=0.99)
    library.retag(case.recordings[0].id, Tagging(language="en", findings=(again,)))
    assert library.case(library.owner, case_id).findings == ()


def test_a_marked_segment_makes_room_for_itself(library: Library, case_id: str) -> None:
    """The proposals run 0 to 2400, 2400 to 4400, 4400 to 6400 ms."""
    recording = _recording(library, case_id)
    assert [segment.start_ms for segment in recording.segments] == [0, 2400, 4400]
    by_hand = Segment(step="capsule-support", start=boundary(2000), end=boundary(5000), confidence=1.0)
    library.mark_segment(library.owner, recording.id, by_hand)
    after = _recording(library, case_id).segments
    spans = [(segment.step, segment.start_ms, segment.end_ms) for segment in after]
    assert spans == [("main-incision", 0, 2000), ("capsule-support", 2000, 5000), ("chopping", 5000, 6400)]
    assert (after[1].standing, after[1].start.source) == (Standing.ACCEPTED, "person")
    with pytest.raises(Conflict, match="capsule-support"):
        library.mark_segment(library.owner, recording.id, by_hand)


def test_a_segment_marked_within_a_proposal_splits_it(library: Library, case_id: str) -> None:
    recording = _recording(library, case_id)
    by_hand = Segment(step="capsule-support", start=boundary(800), end=boundary(1600), confidence=1.0)
    library.mark_segment(library.owner, recording.id, by_hand)
    steps = [(segment.step, segment.start_ms) for segment in _recording(library, case_id).segments]
    assert steps[:3] == [("main-incision", 0), ("capsule-support", 800), ("main-incision", 1600)]


def test_marks_move_with_the_segments(library: Library, case_id: str) -> None:
    recording = _recording(library, case_id)
    chop = recording.mentions[2]
    grown = Decision(mark="segment", id=recording.segments[1].id, version=1, end_ms=6000)
    library.decide(library.owner, grown)
    after = _recording(library, case_id)
    moved = next(mention for mention in after.mentions if mention.id == chop.id)
    assert moved.segment_id == recording.segments[1].id
    assert "vertical-chop" in after.segments[1].used


def test_a_recording_without_words_can_be_marked(library: Library) -> None:
    from pathlib import Path

    from indexer.models import CaseDraft

    job = library.begin_case(CaseDraft(title="Silent", sources=(Path("/recordings/silent.mp4"),)))
    silent = content([]).model_copy(update={"transcript": None, "tagging": None})
    library.publish(job.id, silent)
    recording = _recording(library, job.case_id)
    assert (recording.words, recording.segments, recording.language) == ((), (), "und")
    marked = Segment(step="capsulorhexis", start=boundary(1000), end=boundary(9000), confidence=1.0)
    library.mark_segment(library.owner, recording.id, marked)
    assert [segment.step for segment in _recording(library, job.case_id).segments] == ["capsulorhexis"]
