"""Finding passages: what counts most, where playing begins, what is said of it, what is counted."""

import json
import sqlite3
from collections import defaultdict

import pytest
from operations import WORD_MS
from pydantic import ValidationError

from indexer.catalogue.documents import passage_json
from indexer.catalogue.library import Library
from indexer.catalogue.wordlist import stems
from indexer.errors import QueryUnreadable
from indexer.models import Answer, AssertionKind, Measure, MeasureRange, Query

FILLER = "and so it goes on for a while with nothing new to tell of at all in this stretch of the film " * 2


def _measure(measure: str, low: float, high: float, at_ms: int) -> Measure:
    span = {"start_ms": at_ms, "end_ms": at_ms + WORD_MS, "first_word": 0, "last_word": 1}
    return Measure(measure=measure, low=low, high=high, unit="mm", heard="", confidence=0.9, **span)


@pytest.fixture
def ask(library: Library):
    def asking(text: str = "", **more: object) -> Answer:
        return library.find(library.owner, Query(text=text, **more))

    return asking


@pytest.fixture
def operations(add) -> dict[str, str]:
    """Four operations; the ids of their cases by title."""
    hooks = [
        (
            "case-introduction",
            "a hard lens and capsular hooks are planned",
            [("capsular-hooks", "planned", "capsular hooks")],
        ),
        ("capsulorhexis", "the rhexis is small and round", [("capsulorhexis", "done", "rhexis")]),
        ("capsule-support", "two capsular hooks go under the edge", [("capsular-hooks", "done", "capsular hooks")]),
        ("chopping", "a vertical chop splits it", [("vertical-chop", "done", "vertical chop")]),
    ]
    soft = [
        ("capsulorhexis", "an easy rhexis with trypan on it", [("trypan-blue", "done", "trypan")]),
        ("capsule-support", "two capsular hooks go in here too", [("capsular-hooks", "done", "capsular hooks")]),
    ]
    thought = [
        ("main-incision", "the main incision and the iris follows", [("iris-prolapse", "done", "the iris follows")]),
        (
            "phacoemulsification",
            "one could use capsular hooks here",
            [("capsular-hooks", "considered", "capsular hooks")],
        ),
    ]
    plain = [("chopping", "iris hooks hold while i chop", [("iris-hooks", "done", "iris hooks")])]
    return {
        "Hard": add(
            "Hard",
            hooks,
            findings=["dense-nucleus"],
            measures=[_measure("capsulorhexis-diameter", 5, 5.5, 9 * WORD_MS), _measure("patient-age", 81, 81, 0)],
        ),
        "Soft": add("Soft", soft, measures=[_measure("capsulorhexis-diameter", 6.5, 6.5, 0)]),
        "Thought": add("Thought", thought, findings=["small-pupil"]),
        "Plain": add("Plain", plain, findings=["dense-nucleus"]),
    }


@pytest.mark.parametrize(
    ("query", "title", "step"),
    [
        ("capsular hooks dense nucleus", "Hard", "capsule-support"),
        ("Capsular Hook", "Hard", "capsule-support"),
        ("capsularhooks small pupil", "Thought", "phacoemulsification"),
        ("iris hooks dense nucleus", "Plain", "chopping"),
        ("rhexis with trypan", "Soft", "capsulorhexis"),
        ("rexis in a dense nucleus", "Hard", "capsulorhexis"),
        ("vertical chop", "Hard", "chopping"),
        ("iris prolapse", "Thought", "main-incision"),
        ("splits", "Hard", "chopping"),
        ("hooks under the edge", "Hard", "capsule-support"),
    ],
)
def test_the_first_answer_is_the_passage_meant(operations, ask, query: str, title: str, step: str) -> None:
    """What a trainee would expect of these four operations: common practice, no source."""
    first = ask(query).passages[0]
    assert (first.title, first.step) == (title, step)


def test_what_is_done_counts_most(add, ask) -> None:
    for kind in reversed(AssertionKind):
        add(kind.value, [("capsule-support", "the capsular hooks", [("capsular-hooks", kind.value, "capsular hooks")])])
    add("words", [("capsule-support", "a capsular hook", [])])
    titles = [passage.title for passage in ask("capsular hooks").passages]
    assert titles[0] == "done"
    assert titles[-1] == "words"
    assert set(titles) == {*AssertionKind, "words"}


def test_an_assertion_asked_for_comes_first_and_alone(operations, ask) -> None:
    answer = ask("capsular hooks", assertion=AssertionKind.CONSIDERED)
    assert [(passage.title, passage.step) for passage in answer.passages] == [("Thought", "phacoemulsification")]


def test_considered_but_done_after_all_counts_as_done(add, ask) -> None:
    both = [("capsular-hooks", "considered", "capsular hooks"), ("capsular-hooks", "done", "hooks in")]
    add("Both", [("capsule-support", "maybe capsular hooks yes hooks in", both)])
    assert ask("capsular hooks", assertion=AssertionKind.CONSIDERED).total == 0
    assert ask(filters={"device": ("capsular-hooks",)}, assertion=AssertionKind.CONSIDERED).total == 0
    assert ask("capsular hooks").total == 1


def test_a_finding_of_the_case_counts_for_all_its_passages(operations, ask) -> None:
    answer = ask("dense nucleus")
    assert {(passage.title, passage.step) for passage in answer.passages} == {
        ("Hard", "case-introduction"),
        ("Hard", "capsulorhexis"),
        ("Hard", "capsule-support"),
        ("Hard", "chopping"),
        ("Plain", "chopping"),
    }


def test_all_concepts_beat_one_alone(add, ask) -> None:
    add("Both", [("chopping", "a chop here", [("vertical-chop", "done", "chop")])], findings=["dense-nucleus"])
    add("One", [("chopping", "a vertical chop vertical chop", [("vertical-chop", "done", "vertical chop")])])
    answer = ask("vertical chop dense nucleus")
    assert [passage.title for passage in answer.passages] == ["Both", "One"]
    assert [passage.whole for passage in answer.passages] == [True, False]
    assert (answer.total, answer.whole) == (2, 1)
    assert answer.passages[1].missing == ("Dense nucleus",)


def test_a_rarer_concept_weighs_more(add, ask) -> None:
    for number in range(6):
        add(f"Common {number}", [("chopping", "some trypan blue", [("trypan-blue", "done", "trypan blue")])])
    add("Rare", [("chopping", "the iris hooks", [("iris-hooks", "done", "iris hooks")])])
    assert ask("trypan blue iris hooks").passages[0].title == "Rare"


def test_a_step_in_the_query_prefers_its_passages(add, ask) -> None:
    said = [("iris-prolapse", "done", "prolapse")]
    add("Before", [("main-incision", "a prolapse of it", said)])
    add("During", [("chopping", "a prolapse of it", said)])
    assert ask("iris prolapse while chopping").passages[0].title == "During"
    assert ask("iris prolapse at the main incision").passages[0].title == "Before"


def test_narrower_steps_answer_for_the_broader_and_less_the_other_way(add, ask) -> None:
    add("Broad", [("phacoemulsification", "in we go", [])])
    add("Narrow", [("chopping", "in we go", [])])
    assert [passage.title for passage in ask("emulsification").passages] == ["Broad", "Narrow"]
    chopping = ask("chopping").passages
    assert chopping[0].title == "Narrow"
    assert chopping[0].score > 1.5 * chopping[1].score


def test_playing_begins_at_the_step_where_all_of_it_answers(operations, ask) -> None:
    first = ask("capsulorhexis dense nucleus").passages[0]
    assert first.start_ms == first.segment_start_ms == 8 * WORD_MS


def test_playing_begins_at_the_sentence_where_only_a_part_answers(add, ask) -> None:
    text = FILLER + "it is calm. Then the iris comes out. " + FILLER
    said = [("iris-prolapse", "done", "iris comes out.")]
    add("Long", [("main-incision", FILLER, []), ("chopping", text, said)])
    (first,) = (passage for passage in ask("iris prolapse").passages if passage.step == "chopping")
    words = (FILLER + text).split()
    assert first.start_ms == words.index("Then") * WORD_MS
    assert first.segment_start_ms == len(FILLER.split()) * WORD_MS


def test_of_two_places_the_one_that_says_more_is_played(add, ask) -> None:
    text = "a forceps. " + FILLER + "now. Scissors and a forceps for the membrane."
    add("Long", [("chopping", text, [])])
    (passage,) = ask("forceps and scissors for the membrane").passages
    assert passage.start_ms == text.split().index("Scissors") * WORD_MS


def test_without_sentences_playing_begins_shortly_before(add, ask) -> None:
    text = FILLER + "scissors " + FILLER
    add("Long", [("chopping", text, [])])
    (passage,) = ask("scissors").passages
    said_ms = text.split().index("scissors") * WORD_MS
    assert said_ms - 5000 <= passage.start_ms <= said_ms


def test_the_excerpt_is_the_words_with_what_was_asked_for_marked(operations, ask) -> None:
    first = ask("capsular hooks edge").passages[0]
    assert "".join(text for text, _ in first.excerpt) == "two capsular hooks go under the edge"
    assert [text for text, matched in first.excerpt if matched] == ["capsular hooks", "edge"]


def test_why_is_told_in_plain_sentences(operations, ask) -> None:
    answer = ask("capsular hooks dense nucleus edge")
    told = {(passage.title, passage.step): passage.why for passage in answer.passages}
    assert told["Hard", "capsule-support"] == (
        "Capsular hooks in use here",
        "Dense nucleus in this eye",
        "Said here: “edge”",
    )
    assert told["Hard", "case-introduction"][0] == "Capsular hooks planned here"
    assert ask("capsular hooks", case_id=operations["Thought"]).passages[0].why == (
        "Capsular hooks only considered here",
    )
    assert ask("chopping").passages[0].why[0] == "This is chopping"


FILTERS = [
    ({}, {}),
    ({"text": "capsular hooks"}, {}),
    ({"text": "dense nucleus"}, {}),
    ({"text": "capsular hooks dense nucleus"}, {"step": ("capsule-support",)}),
    ({}, {"finding": ("dense-nucleus",)}),
    ({"text": "splits"}, {}),
    ({"text": "edge"}, {}),
]


@pytest.mark.parametrize(("query", "filters"), FILTERS)
def test_a_count_is_what_choosing_it_would_leave(operations, ask, query, filters) -> None:
    answer = ask(**query, filters=filters)
    assert answer.facets
    for count in answer.facets:
        if count.facet == "assertion":
            left = ask(**query, filters=filters, assertion=AssertionKind(count.id))
            continue
        both = {**filters, count.facet: (count.id,)}
        if count.facet in filters:
            continue
        left = ask(**query, filters=both)
        assert left.total == count.count, count


def test_counts_name_every_facet(operations, ask) -> None:
    counted = defaultdict(dict)
    for each in ask().facets:
        counted[each.facet][each.id] = each.count
    assert counted == {
        "part": {"case-introduction": 1},
        "step": {
            "capsule-support": 2,
            "capsulorhexis": 2,
            "chopping": 2,
            "main-incision": 1,
            "phacoemulsification": 3,
        },
        "technique": {"vertical-chop": 1},
        "device": {"capsular-hooks": 2, "iris-hooks": 1},
        "agent": {"trypan-blue": 1},
        "finding": {"dense-nucleus": 5, "small-pupil": 2},
        "event": {"iris-prolapse": 1},
        "measure": {"capsulorhexis-diameter": 2, "patient-age": 1},
        "assertion": {"done": 7, "planned": 1, "considered": 1},
    }


@pytest.mark.parametrize(
    ("measure", "low", "high", "left"),
    [
        ("capsulorhexis-diameter", 6, None, [("Soft", "capsulorhexis")]),
        ("capsulorhexis-diameter", None, 5.2, [("Hard", "capsulorhexis")]),
        ("capsulorhexis-diameter", 5.2, 6.5, [("Hard", "capsulorhexis"), ("Soft", "capsulorhexis")]),
        ("capsulorhexis-diameter", 7, None, []),
    ],
)
def test_measures_are_filters(operations, ask, measure: str, low, high, left) -> None:
    answer = ask(measures=(MeasureRange(measure=measure, low=low, high=high),))
    assert sorted((passage.title, passage.step) for passage in answer.passages) == left


def test_a_measure_of_the_eye_holds_for_the_whole_case(operations, ask) -> None:
    answer = ask("capsular hooks", measures=(MeasureRange(measure="patient-age", low=80),))
    assert {passage.title for passage in answer.passages} == {"Hard"}
    assert answer.passages[0].step == "capsule-support"


@pytest.mark.parametrize(
    "filters", [{"device": ("no-such-thing",)}, {"colour": ("red",)}, {"step": ("capsular-hooks",)}]
)
def test_an_unknown_filter_is_told(operations, ask, filters) -> None:
    with pytest.raises(QueryUnreadable):
        ask(filters=filters)


def test_an_unknown_measure_is_told(operations, ask) -> None:
    with pytest.raises(QueryUnreadable):
        ask(measures=(MeasureRange(measure="no-such-measure", low=1),))


def test_nothing_found_says_what_is_near_and_what_had_nothing(add, ask) -> None:
    add("One", [("capsule-support", "some capsular hooks", [("capsular-hooks", "done", "capsular hooks")])])
    add("Two", [("phacoemulsification", "in we go", [])])
    answer = ask("trypan blue zebra")
    assert (answer.passages, answer.total, answer.facets) == ((), 0, ())
    assert answer.unmatched == ("Trypan blue", "zebra")
    chopping = ask("vertical chop")
    assert chopping.unmatched[0] == "Vertical chop"


def test_a_mistyped_word_finds_what_looks_like_it(add, ask) -> None:
    add("One", [("chopping", "it wobbles in the middle", [])])
    assert ask("woblbes").total == 1


@pytest.mark.parametrize(
    "text",
    [
        '"',
        "'; DROP TABLE cases; --",
        "hooks AND (NOT OR NEAR",
        "capsular* hooks^2 -iris col:hooks",
        "%_\\",
        "\u0000hooks\u0000",
        "ﬁbrosis ŒDEMA ﷺ 한글 👁️‍🗨️",
        "\u202ehooks\u202c \u200b\ufeff",
        "\ud800",
        "a" * 1000,
        " ".join(["hooks"] * 160),
        "\n\t  ",
        "¿?!…—–",
        "0x1F 5,5 mm 1e309",
    ],
)
def test_odd_queries_do_no_harm(operations, ask, text: str) -> None:
    try:
        query = Query(text=text)
    except ValidationError:
        return
    answer = ask(query.text)
    assert len(answer.passages) <= answer.total or not text.strip()
    assert ask().total == 9


def test_pages_of_an_answer_follow_each_other(operations, ask) -> None:
    for text in ("", "dense nucleus"):
        everything = ask(text, limit=100)
        paged = [ask(text, limit=2, offset=offset).passages for offset in range(0, everything.total, 2)]
        assert tuple(passage for page in paged for passage in page) == everything.passages


def test_words_are_found_where_a_full_text_engine_finds_them(library: Library, operations) -> None:
    """SQLite's FTS5 (sqlite.org/fts5.html), given the same stems, is the reference."""
    with library._database.reading() as connection:
        texts = connection.exec_driver_sql("SELECT segment_key, words FROM spoken_texts").all()
        listed = connection.exec_driver_sql("SELECT stem, segment_key FROM spoken").all()
    reference = sqlite3.connect(":memory:")
    reference.execute("CREATE VIRTUAL TABLE said USING fts5(stems)")
    for key, words in texts:
        line = " ".join(stem for word in json.loads(words) for stem in stems(word[0]))
        reference.execute("INSERT INTO said (rowid, stems) VALUES (?, ?)", (key, line))
    found = defaultdict(set)
    for stem, key in listed:
        found[stem].add(key)
    for stem, keys in found.items():
        rows = reference.execute("SELECT rowid FROM said WHERE said MATCH ?", (f'"{stem}"',))
        assert {key for (key,) in rows} == keys, stem
    assert len(found) > 30
    reference.close()


def test_a_passage_is_printed_in_seconds(operations, ask) -> None:
    printed = passage_json(ask("capsular hooks dense nucleus").passages[0])
    assert json.loads(json.dumps(printed)) == printed
    assert (printed["title"], printed["step"]) == ("Hard", "capsule-support")
    assert (printed["start"], printed["segment_start"], printed["end"]) == (5.6, 5.6, 8.4)
    assert printed["excerpt"] == "two **capsular hooks** go under the edge"
