"""The address bar holds the whole question."""

from __future__ import annotations

from urllib.parse import parse_qsl, urlsplit

import pytest
from hypothesis import given
from hypothesis import strategies as st
from werkzeug.datastructures import MultiDict

from indexer.errors import QueryUnreadable
from indexer.models import AssertionKind
from tests.web.invented import small_vocabulary
from web.asking import Asked, read_address

VOCABULARY = small_vocabulary()
DEVICES = ("capsular-hooks", "cystotome", "capsular-tension-ring")


def read(address: str) -> Asked:
    return read_address(MultiDict(parse_qsl(urlsplit(address).query)), VOCABULARY)


@given(
    st.builds(
        Asked,
        text=st.text(max_size=30).map(lambda text: " ".join(text.replace("\0", " ").split())),
        filters=st.lists(st.sampled_from(DEVICES), min_size=1, unique=True).map(lambda ids: {"device": tuple(ids)}),
        assertion=st.none() | st.sampled_from(AssertionKind),
        measure=st.just("capsulorhexis-diameter"),
        least=st.none() | st.integers(0, 90).map(lambda number: number / 10),
        most=st.none() | st.integers(0, 90).map(lambda number: number / 10),
        page=st.integers(1, 50),
    )
)
def test_what_is_written_into_an_address_is_read_again(asked: Asked) -> None:
    if not any("\ud800" <= letter <= "\udfff" for letter in asked.text):
        assert read(asked.address(page=asked.page)) == asked


def test_a_change_goes_back_to_the_first_page() -> None:
    assert read(Asked(text="hooks", page=3).address(text="ring")) == Asked(text="ring")


def test_one_filter_is_taken_off_and_the_others_stay() -> None:
    asked = Asked(text="x", filters={"device": DEVICES[:2]})
    assert read(asked.without("device", "cystotome")).filters == {"device": ("capsular-hooks",)}


@pytest.mark.parametrize(
    ("text", "words", "left"),
    [
        ("capsular hooks dense nucleus", "capsular hooks", "dense nucleus"),
        ("the Rexis now", "rexis", "the now"),
        ("hooks", "hooks", ""),
    ],
)
def test_understood_words_are_taken_off(text: str, words: str, left: str) -> None:
    assert read(Asked(text=text).without_words(words)).text == left


def test_limits_without_a_measure_mean_nothing() -> None:
    assert read("/?least=5&most=6").empty


@pytest.mark.parametrize("number", ["five", "1e400", "nan", "inf", "--1"])
def test_a_limit_has_to_be_a_number(number: str) -> None:
    with pytest.raises(QueryUnreadable, match="wants a number"):
        read(f"/?measure=capsulorhexis-diameter&least={number}")


def test_a_comma_is_read_as_a_decimal_point() -> None:
    assert read("/?measure=capsulorhexis-diameter&least=5,5").least == 5.5
