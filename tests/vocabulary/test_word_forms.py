"""Normalising, plurals, inflections and sounds."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from indexer.vocabulary import words
from indexer.vocabulary.forms import inflections, plural, singular
from indexer.vocabulary.sounds import sound_key
from indexer.vocabulary.words import normalise


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Don’t hydro-dissect", ["dont", "hydro", "dissect"]),
        ("2.4 mm, 80%", ["2.4", "mm", "80"]),
        ("Sub-Tenon's", ["sub", "tenons"]),
        ("naïve Décollement", ["naive", "decollement"]),
        ("STRASSE Straße", ["strasse", "strasse"]),
        ("10-0 nylon", ["10", "0", "nylon"]),
        ("  ", []),
    ],
)
def test_text_becomes_comparable_words(text: str, expected: list[str]) -> None:
    assert normalise(text) == expected


def the_long_way(text: str) -> list[str]:
    folded = unicodedata.normalize("NFKD", text.casefold())
    plain = "".join(letter for letter in folded if not unicodedata.combining(letter))
    return [words.APOSTROPHE.sub("", word) for word in words.WORD.findall(plain)]


@given(st.text(alphabet="abYZ .,'’-_*é09%\n", max_size=20))
def test_the_short_way_gives_the_same_as_the_long_one(text: str) -> None:
    assert normalise(text) == the_long_way(text)


@pytest.mark.parametrize(
    ("one", "many"),
    [
        ("hook", "hooks"),
        ("capsulorhexis", "capsulorhexes"),
        ("paracentesis", "paracenteses"),
        ("synechia", "synechiae"),
        ("opacity", "opacities"),
        ("stitch", "stitches"),
        ("lens", "lenses"),
    ],
)
def test_one_and_many(one: str, many: str) -> None:
    assert (plural(one), singular(many)) == (many, one)


@pytest.mark.parametrize("word", ["pass", "is", "iris", "nucleus", "fundus", "gas"])
def test_what_is_no_plural_stays(word: str) -> None:
    assert singular(word) == word


@pytest.mark.parametrize(
    ("verb", "forms"),
    [
        ("polish", {"polish", "polishes", "polishing", "polished"}),
        ("chop", {"chop", "chops", "chopping", "chopped"}),
        ("remove it", {"remove it", "removes it", "removing it", "removed it"}),
        ("cut", {"cut", "cuts", "cutting"}),
        ("take out", {"take out", "takes out", "taking out", "took out", "taken out"}),
        ("crack", {"crack", "cracks", "cracking", "cracked"}),
        ("hydrodissect", {"hydrodissect", "hydrodissects", "hydrodissecting", "hydrodissected"}),
        ("free", {"free", "frees", "freeing", "freed"}),
        ("open", {"open", "opens", "opening", "opened"}),
        ("stain", {"stain", "stains", "staining", "stained"}),
        ("rescue", {"rescue", "rescues", "rescuing", "rescued"}),
    ],
)
def test_verbs_in_all_their_forms(verb: str, forms: set[str]) -> None:
    assert set(inflections(verb)) == forms


@pytest.mark.parametrize(
    ("heard", "meant"),
    [("wrecksis", "rhexis"), ("hidrodisection", "hydrodissection"), ("fakoemulsification", "phacoemulsification")],
)
def test_sound_alikes_share_a_key(heard: str, meant: str) -> None:
    assert sound_key(heard) == sound_key(meant)


def test_words_that_sound_different_do_not() -> None:
    assert len({sound_key(word) for word in ("keratome", "speculum", "cystotome", "vectis", "trocar")}) == 5
