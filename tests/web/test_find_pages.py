"""The find page as it is read: what was understood, the passages, the filters, nothing found."""

from __future__ import annotations

import html
import re

import pytest
from flask.testing import FlaskClient

from indexer.catalogue.library import Library
from indexer.config import Settings
from tests.web.conftest import Filled, owner_of
from web import create_app


def words(page: str) -> str:
    """The text of a page without its markup."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


def first_result(page: str) -> str:
    """The address of the first passage."""
    return html.unescape(re.search(r'<h2><a href="([^"]+)"', page)[1])  # type: ignore[index]


def test_without_a_question_it_says_what_one_could_ask(client: FlaskClient) -> None:
    page = client.get("/").text
    assert "What do you want to see?" in page
    assert 'href="/?q=Dense+nucleus"' in page
    assert "All 4 cases" in page


def test_an_empty_library_says_what_to_do_first(tmp_path, vocabulary) -> None:  # type: ignore[no-untyped-def]
    with Library.open(tmp_path / "lib", vocabulary=vocabulary) as library:
        page = create_app(library, Settings(), viewer_of=owner_of).test_client().get("/").text
    assert "scrubmark add" in page and "scrubmark demo" in page


def test_a_question_finds_its_passage_first(client: FlaskClient, filled: Filled) -> None:
    page = client.get("/?q=capsular+hooks+dense+nucleus").text
    case, recording = filled.hooks
    assert first_result(page).startswith(f"/case/{case}/{recording}?t=")
    assert "Capsule support" in words(page)


def test_a_result_carries_its_moment_twice_so_that_it_works_without_scripts(client: FlaskClient) -> None:
    address = first_result(client.get("/?q=capsular+hooks").text)
    query, fragment = re.search(r"\?t=([\d.]+)#t=([\d.]+)$", address).groups()  # type: ignore[union-attr]
    assert query == fragment


def test_it_shows_what_was_understood_and_how_to_take_it_off(client: FlaskClient) -> None:
    page = client.get("/?q=capsular+hooks+focus").text
    chips = re.search(r'<ul class="chips" aria-label="What was understood.*?</ul>', page, re.DOTALL)[0]  # type: ignore[index]
    assert "device Capsular hooks" in words(chips)
    assert 'href="/?q=focus"' in chips
    assert 'href="/?q=capsular+hooks"' in chips


def test_matched_words_are_marked(client: FlaskClient) -> None:
    assert re.search(r"<mark>[^<]*hooks[^<]*</mark>", client.get("/?q=capsular+hooks").text)


def test_it_says_why(client: FlaskClient) -> None:
    assert re.search(r'<p class="why">[^<]+\.</p>', client.get("/?q=capsular+hooks").text)


def test_a_still_is_shown_where_there_is_one(client: FlaskClient, filled: Filled) -> None:
    page = client.get("/?q=capsular+hooks").text
    assert f'src="/still/{filled.hooks[1]}/5480.jpg"' in page


@pytest.mark.parametrize(
    ("address", "present", "gone"),
    [
        ("/?step=chopping", "Chopping", "Wound closure"),
        ("/?technique=vertical-chop", "Chopping", "Main incision"),
        ("/?device=cystotome", "Capsulorhexis", "Chopping"),
        ("/?finding=weak-zonules", "Hooks for a loose bag", "A quiet eye"),
        ("/?measure=capsulorhexis-diameter&least=6", "Hooks for a loose bag", "A quiet eye"),
        ("/?measure=capsulorhexis-diameter&most=5.5", "A quiet eye", "Hooks for a loose bag"),
        ("/?q=tension+ring&assertion=considered", "Capsule support", "Wound closure"),
    ],
)
def test_filters_narrow_down(client: FlaskClient, address: str, present: str, gone: str) -> None:
    results = re.search(r'<ol class="passages".*?</ol>', client.get(address).text, re.DOTALL)
    assert results is not None
    assert present in words(results[0])
    assert gone not in words(results[0])


def test_filters_have_counts_and_keep_the_question(client: FlaskClient) -> None:
    page = client.get("/?q=capsular+hooks&device=capsular-hooks").text
    form = re.search(r'<form class="filters".*?</form>', page, re.DOTALL)[0]  # type: ignore[index]
    assert '<input type="hidden" name="q" value="capsular hooks">' in form
    assert re.search(r'name="device" value="capsular-hooks" checked> Capsular hooks <span class="count">\d+', form)
    assert 'name="assertion" value="considered"' in form


def test_a_set_filter_can_be_taken_off(client: FlaskClient) -> None:
    page = client.get("/?q=capsular+hooks&device=capsular-hooks").text
    assert re.search(r'href="/\?q=capsular\+hooks"><span class="facet">only device', page)


def test_a_measure_filter_says_its_limits(client: FlaskClient) -> None:
    page = words(client.get("/?measure=capsulorhexis-diameter&least=6").text)
    assert "Capsulorhexis diameter, at least 6 mm" in page


def test_nothing_found_says_which_word_had_nothing(client: FlaskClient) -> None:
    page = words(client.get("/?q=zebra").text)
    assert "No passage answers this" in page
    assert "This had nothing: “zebra”" in page


@pytest.mark.parametrize(
    ("address", "sentence"),
    [
        ("/?device=unicorn", "a term that the vocabulary does not have"),
        ("/?assertion=perhaps", "not known here"),
        ("/?measure=capsulorhexis-diameter&least=big", "wants a number, for instance 5.5"),
        ("/?q=" + "x" * 1001, "fewer than 1000 letters"),
    ],
)
def test_what_cannot_be_read_is_said_clearly(client: FlaskClient, address: str, sentence: str) -> None:
    answer = client.get(address)
    assert answer.status_code == 400
    assert sentence in words(answer.text)


@pytest.mark.parametrize("page", ["0", "-1", "99999999999999999999", "²", "x", "1e3"])
def test_an_odd_page_number_does_no_harm(client: FlaskClient, page: str) -> None:
    assert client.get("/", query_string={"q": "capsular hooks", "page": page}).status_code == 200
