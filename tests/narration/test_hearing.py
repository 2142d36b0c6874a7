"""Terms found as they are written, inflected, with gaps, and by their sound."""

import pytest

from indexer.narration.lexicon import Kind, Lexicon
from indexer.narration.phonemes import by_rule, pronounce
from indexer.narration.sounding import Ear
from indexer.vocabulary.concepts import Concept
from indexer.vocabulary.vocabulary import Vocabulary
from indexer.vocabulary.words import normalise


def concept(name: str, facet: str = "device", **forms: object) -> Concept:
    return Concept.model_validate(
        {
            "id": name,
            "label": name.replace("-", " "),
            "definition": "For a test.",
            "facet": facet,
            "field": "test",
            **forms,
        }
    )


SMALL = Vocabulary(
    [
        concept("keratome", spoken=["keratome"]),
        concept("viscoelastic", "agent", spoken=["viscoelastic", "visco"], heard_as=["disco"]),
        concept("hydrodissection", "step", spoken=["hydrodissection"], verbs=["hydrodissect"], cues=["fluid wave"]),
        concept("small-pupil", "finding", spoken=["small pupil", "pupil * small"]),
        concept("tension-ring", spoken=["capsular tension ring"], loose=["the ring"]),
        concept("synechiae", "finding", spoken=["synechiae"]),
    ]
)


@pytest.fixture(scope="module")
def lexicon():
    return Lexicon(SMALL)


@pytest.fixture(scope="module")
def ear():
    return Ear(SMALL)


def found(lexicon: Lexicon, text: str) -> set[tuple[str, str, Kind]]:
    words = normalise(text)
    return {(" ".join(words[hit.first : hit.last]), hit.concept, hit.kind) for hit in lexicon.hits(words)}


@pytest.mark.parametrize(
    ("text", "said", "name", "kind"),
    [
        ("Two keratomes, please.", "keratomes", "keratome", Kind.SPOKEN),
        ("I'm hydrodissecting now", "hydrodissecting", "hydrodissection", Kind.VERB),
        ("we hydro-dissected", None, "hydrodissection", None),
        ("the pupil is very small", "pupil is very small", "small-pupil", Kind.SPOKEN),
        ("the pupil was, I am afraid, small", None, "small-pupil", None),
        ("more disco", "disco", "viscoelastic", Kind.HEARD_AS),
        ("the ring goes in", "the ring", "tension-ring", Kind.LOOSE),
        ("you see the fluid wave", "fluid wave", "hydrodissection", Kind.CUE),
    ],
)
def test_forms_stand_where_they_are_said(lexicon, text, said, name, kind):
    hits = found(lexicon, text)
    if said is None:
        assert all(other != name for _, other, _ in hits)
    else:
        assert (said, name, kind) in hits


@pytest.mark.parametrize(
    ("heard", "meant"),
    [
        ("two point four carrot home", "keratome"),
        ("a little fisco here", "viscoelastic"),
        ("hydra dissection", "hydrodissection"),
        ("small people", "small-pupil"),
        ("there are some sin icky eye", "synechiae"),
        ("the capsular attention ring", "tension-ring"),
    ],
)
def test_terms_are_heard_through_other_words(lexicon, ear, heard, meant):
    words = normalise(heard)
    times = [index * 300 for index in range(len(words))]
    others = ear.alternatives(words, times, [time + 280 for time in times])
    assert meant in {hit.concept for hit in lexicon.hits(words, others) if hit.kind is Kind.SOUND}


def test_a_term_is_not_spoken_across_a_long_pause(lexicon, ear):
    words = normalise("hydra dissection")
    near = ear.alternatives(words, [0, 400], [380, 900])
    far = ear.alternatives(words, [0, 9_000], [380, 9_900])
    assert any(other.last - other.first == 2 for other in near)
    assert not any(other.last - other.first == 2 for other in far)


@pytest.mark.parametrize("text", ["", "a", "a a a a a a a a", "1 2 3 4", "the and of to in"])
def test_plain_words_are_no_terms(lexicon, ear, text):
    words = normalise(text)
    times = [index * 300 for index in range(len(words))]
    assert lexicon.hits(words, ear.alternatives(words, times, times)) == []


# The CMU Pronouncing Dictionary's own entries: "phone" F OW1 N, "cat" K AE1 T, "sixth" S IH1 K S TH.
@pytest.mark.parametrize(("word", "sounds"), [("phone", "fOn"), ("cat", "kAt"), ("sixth", "siksT"), ("2", "tU")])
def test_known_words_sound_as_the_dictionary_says(word, sounds):
    assert pronounce(word) == sounds


@pytest.mark.parametrize(("word", "sounds"), [("phaco", "fEkO"), ("keratome", "kIrEtOm"), ("zz", "z"), ("", "")])
def test_unknown_words_are_said_by_their_letters(word, sounds):
    assert pronounce(word) == sounds if word else by_rule(word) == ""
