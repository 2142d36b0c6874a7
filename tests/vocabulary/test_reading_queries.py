"""Queries as trainees type them: terms, short forms, typing errors, sound-alikes, and what is left as words."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from indexer.vocabulary.asking import QueryReading, read_query
from indexer.vocabulary.loading import load_vocabulary
from indexer.vocabulary.vocabulary import Vocabulary

SHIPPED = load_vocabulary()


@pytest.fixture(scope="module")
def shipped() -> Vocabulary:
    return SHIPPED


def named(reading: QueryReading) -> list[str]:
    return [each.concept for each in reading.concepts]


@pytest.mark.parametrize(
    ("query", "concepts", "how"),
    [
        ("Capsulorhexis", ["capsulorhexis"], "label"),
        ("rhexis", ["capsulorhexis"], "spoken"),
        ("rhexes", ["capsulorhexis"], "spoken"),
        ("capsular hooks", ["capsular-hooks"], "label"),
        ("capsular hook", ["capsular-hooks"], "spoken"),
        ("capsular tension rings", ["capsular-tension-ring"], "plural"),
        ("ctr", ["capsular-tension-ring"], "spoken"),
        ("PXF", ["pseudoexfoliation"], "spoken"),
        ("capsulorexis", ["capsulorhexis"], "typing"),
        ("rexis", ["capsulorhexis"], "typing"),
        ("hydrodisection", ["hydrodissection"], "typing"),
        ("hydro disection", ["hydrodissection"], "typing"),
        ("soft nuclues", ["soft-nucleus"], "typing"),
        ("keratone", ["keratome"], "typing"),
        ("visco elastic", ["viscoelastic"], "spoken"),
        ("hydro-dissection", ["hydrodissection"], "spoken"),
        ("wreck sis", ["capsulorhexis"], "sound"),
        ("wrecksis", ["capsulorhexis"], "sound"),
        ("hidrodysekshun", ["hydrodissection"], "sound"),
        ("polishing the capsule", ["capsule-polishing"], "spoken"),
        ("sculpted", ["sculpting"], "spoken"),
        ("chopping it", ["chopping"], "spoken"),
    ],
)
def test_a_term_is_found_however_it_is_put(shipped: Vocabulary, query: str, concepts: list[str], how: str) -> None:
    reading = read_query(shipped, query)
    assert named(reading) == concepts
    assert reading.concepts[0].how in (
        {how, "label"} if how == "spoken" else {how, "spoken"} if how == "plural" else {how}
    )


@pytest.mark.parametrize(
    ("query", "concepts", "words"),
    [
        ("expansion ring insertion small pupil", ["pupil-expansion-ring", "small-pupil"], ("insertion",)),
        ("capsular hooks dense nucleus", ["capsular-hooks", "dense-nucleus"], ()),
        ("taking the hooks out", ["support-removal"], ()),
        ("how do you use trypan blue under the microscope", ["trypan-blue"], ("under", "microscope")),
        ("posterior capsulorhexis", ["posterior-capsulotomy"], ()),
        ("hydrodissection hydrodissection", ["hydrodissection", "hydrodissection"], ()),
        ("a chocolate cake", [], ("chocolate", "cake")),
        ("", [], ()),
        ("?!", [], ()),
    ],
)
def test_the_rest_is_words(shipped: Vocabulary, query: str, concepts: list[str], words: tuple[str, ...]) -> None:
    reading = read_query(shipped, query)
    assert (named(reading), reading.words) == (concepts, words)


def test_words_that_ask_for_what_is_told_in_others_name_all_that_would_answer(shipped: Vocabulary) -> None:
    """Which numbers of the machine are its settings is common practice, no source."""
    reading = read_query(shipped, "settings for a hard nucleus")
    assert {"vacuum", "flow-rate", "bottle-height", "dense-nucleus"} <= set(named(reading))
    assert "settings" in reading.words
    assert {each.how for each in reading.concepts if each.facet == "measure"} == {"asked"}
    assert named(read_query(shipped, "how did the eye do afterwards"))[0] == "outcome"


@pytest.mark.parametrize(
    ("query", "concepts"),
    [
        ("small rhexis", ["capsulorhexis"]),
        ("small pupil", ["small-pupil"]),
        ("trench too shallow", ["sculpting"]),
        ("shallow chamber", ["shallow-chamber"]),
        ("shallow", ["shallow-chamber"]),
    ],
)
def test_a_size_belongs_to_what_stands_beside_it(shipped: Vocabulary, query: str, concepts: list[str]) -> None:
    assert named(read_query(shipped, query)) == concepts


def test_the_longest_form_wins(shipped: Vocabulary) -> None:
    assert named(read_query(shipped, "irrigation and aspiration handpiece")) == ["irrigation-aspiration-handpiece"]


def test_an_ambiguous_short_form_gives_each_meaning_and_keeps_its_word(shipped: Vocabulary) -> None:
    reading = read_query(shipped, "hooks")
    assert {"capsular-hooks", "iris-hooks"} <= set(named(reading))
    assert reading.words == ("hooks",)
    assert max(each.certainty for each in reading.concepts) < 0.5


def test_the_surer_the_spelling_the_higher_the_certainty(shipped: Vocabulary) -> None:
    right, typed = (read_query(shipped, text).concepts[0].certainty for text in ("capsulorhexis", "capsulorexis"))
    heard = read_query(shipped, "wreck sis").concepts[0].certainty
    assert right > typed > heard > 0


ORDINARY = [
    "good morning everybody and welcome",
    "please turn the music down a little",
    "the telephone rang during lunch",
    "they were putting the chairs back",
    "what a wonderful sunny afternoon",
]


@pytest.mark.parametrize("text", ORDINARY)
def test_ordinary_words_name_nothing_surely(shipped: Vocabulary, text: str) -> None:
    assert [each for each in read_query(shipped, text).concepts if each.certainty > 0.6] == []


@given(st.text(max_size=120))
@settings(max_examples=300, deadline=None)
def test_any_text_has_a_reading(text: str) -> None:
    reading = read_query(SHIPPED, text)
    assert all(0 < each.certainty <= 1 and each.concept in SHIPPED for each in reading.concepts)


def test_a_very_long_query_is_read_in_bounded_work(shipped: Vocabulary) -> None:
    assert read_query(shipped, "hooks wreck sis zzzzzq " * 200).concepts
