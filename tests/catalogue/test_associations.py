"""What goes with the words asked for: question words, words of a like meaning, steps that words belong to."""

import json
from importlib import resources

import pytest

from indexer.catalogue.library import Library
from indexer.catalogue.search.associating import Associations, associations, like_meaning
from indexer.catalogue.wordlist import stems
from indexer.consent import Role
from indexer.models import Answer, Measure, Query
from indexer.vocabulary.loading import load_vocabulary

FILLER = "and so it goes on for a while with nothing new to tell of at all in this stretch of the film "


@pytest.fixture
def ask(library: Library):
    def asking(text: str, **more: object) -> Answer:
        return library.find(library.owner, Query(text=text, **more))

    return asking


def _said(measure: str, value: float, at_ms: int) -> Measure:
    span = {"start_ms": at_ms, "end_ms": at_ms + 400, "first_word": 0, "last_word": 1}
    return Measure(measure=measure, low=value, high=value, unit="mm", heard="", confidence=0.9, **span)


def test_who_asks_how_big_is_answered_by_the_number(add, ask) -> None:
    add("Told", [("capsulorhexis", "five and a half", [])], measures=[_said("capsulorhexis-diameter", 5.5, 0)])
    add("Not", [("capsulorhexis", "round it goes", [])])
    answer = ask("how big")
    assert [passage.title for passage in answer.passages] == ["Told"]
    (read,) = answer.understood
    assert (read.concept, read.how) == ("capsulorhexis-diameter", "asked")


def test_a_word_of_a_like_meaning_answers_after_the_word_itself(add, ask) -> None:
    add("Like", [("main-incision", "one suture across it", [])])
    add("Same", [("main-incision", "one stitch across it", [])])
    add("Neither", [("main-incision", "one more across it", [])])
    answer = ask("stitch")
    assert [passage.title for passage in answer.passages] == ["Same", "Like"]
    assert [passage.why for passage in answer.passages] == [
        ("Said here: “stitch”",),
        ("“suture” said for “stitch”",),
    ]
    assert [text for text, matched in answer.passages[1].excerpt if matched] == ["suture"]
    assert [passage.missing for passage in answer.passages] == [(), ("stitch",)]


def test_playing_begins_where_the_word_of_a_like_meaning_is_said(add, ask) -> None:
    text = FILLER * 2 + "done. One suture across it. " + FILLER
    add("Long", [("main-incision", text, [])])
    (passage,) = ask("stitch").passages
    assert passage.start_ms == text.split().index("One") * 400


def test_a_word_of_a_like_meaning_in_hidden_cases_has_no_say(library: Library, add) -> None:
    trainee = library.person("Wren", roles=[Role.TRAINEE])
    add("Seen", [("main-incision", "one stitch across it", [])], release="teaching")
    before = library.find(trainee, Query(text="stitch"))
    for number in range(4):
        add(f"Hidden {number}", [("main-incision", "one suture across it", [])], release="private")
    assert library.find(trainee, Query(text="stitch")) == before
    assert library.find(trainee, Query(text="sutures")).total == 1


def test_a_likely_step_comes_first_of_equals(add, ask) -> None:
    """That a wound is closed with what was stitched is common practice, no source."""
    learned = associations(stems("stitch"), ["cataract"])
    assert learned.step("wound-closure") > 0 > learned.step("capsulorhexis")
    add("Elsewhere", [("capsulorhexis", "one stitch across it", [])])
    add("Closing", [("wound-closure", "one stitch across it", [])])
    assert [passage.title for passage in ask("stitch").passages] == ["Closing", "Elsewhere"]


def test_steps_and_words_add_up() -> None:
    known = Associations(
        told={"leak": {"dry": 1.0, "wound": 2.0}, "stitch": {"nylon": 1.5}},
        steps=({"wound-closure": 2.0, "*": -1.0}, {"wound-closure": 0.5}),
    )
    assert known.step("wound-closure") == 2.5
    assert known.step("chopping") == -1.0
    assert known.heard(frozenset({"dry", "wound", "nylon"})) == 3.5
    # What is said itself needs nothing beside it.
    assert known.heard(frozenset({"leak", "wound"})) == 0.0
    assert known.heard(frozenset()) == 0.0


def test_a_field_that_was_not_taught_has_no_associations() -> None:
    assert associations(stems("stitch"), ["no-such-field"]) == Associations({}, ())


def test_like_meaning_goes_both_ways_and_not_to_itself() -> None:
    for stem in (*stems("stitch"), *stems("child"), *stems("rotate")):
        others = like_meaning(stem)
        assert others and stem not in others
        assert all(stem in like_meaning(other) for other in others)
    assert like_meaning("zebra") == frozenset()


def test_all_that_question_words_mean_is_in_the_vocabulary() -> None:
    data = json.loads(resources.files("schemas").joinpath("language", "asking.json").read_text(encoding="utf-8"))
    vocabulary = load_vocabulary()
    assert {concept for each in data["asked"] for concept in each["means"] if concept not in vocabulary} == set()
    assert all(len(family) > 1 for family in data["akin"])
