"""Titles and words that try to break out of the page, read the other way round, or never end."""

from __future__ import annotations

from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.vocabulary.vocabulary import Vocabulary
from tests.web.conftest import owner_of
from tests.web.invented import put_case
from tests.web.reading import ReadingClient
from web import create_app

EVIL = "<script>alert(1)</script> \"><img src=x onerror=alert(2)> ' {{ 7*7 }} </title>"
RIGHT_TO_LEFT = "עין \u202eימין\u202c مياه"
EMOJI = "👁️‍🗨️ 🏥 e\u0301"
LONG = "wort" * 2500


class Tags(HTMLParser):
    """Collects the tags, the attributes and the text of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs

    def handle_data(self, data: str) -> None:
        self.text += data


def read(page: str) -> Tags:
    tags = Tags()
    tags.feed(page)
    return tags


@pytest.fixture(scope="module")
def evil(
    tmp_path_factory: pytest.TempPathFactory, vocabulary: Vocabulary, film: Path
) -> Iterator[tuple[FlaskClient, list[str]]]:
    """A site whose cases have such titles and words, and the pages of all of them."""
    with Library.open(tmp_path_factory.mktemp("evil") / "lib", vocabulary=vocabulary) as library:
        pages = ["/", "/cases"]
        for text in (EVIL, RIGHT_TO_LEFT, EMOJI, LONG):
            marked = f"We {text.replace('{', '(').replace('}', ')')} {{capsular-hooks:done:hooks}} here"
            case, recording = put_case(library, film, text[:300], [(0, 12, "capsule-support", marked)])
            pages.append(f"/case/{case}/{recording}")
        app: Flask = create_app(library, Settings(), viewer_of=owner_of)
        app.test_client_class = ReadingClient
        yield app.test_client(), pages


def test_no_markup_of_the_words_becomes_markup_of_the_page(evil: tuple[FlaskClient, list[str]]) -> None:
    client, pages = evil
    for path in [*pages, "/?q=capsular+hooks"]:
        found = read(client.get(path).text)
        assert found.tags.count("script") == 1
        assert not [name for name, _ in found.attributes if name.startswith("on") or name == "style"]
        assert ("src", "x") not in found.attributes


def test_the_words_stay_as_they_were(evil: tuple[FlaskClient, list[str]]) -> None:
    client, _ = evil
    text = read(client.get("/cases").text).text
    for title in (EVIL, RIGHT_TO_LEFT, EMOJI, LONG[:300]):
        assert title in text


@pytest.mark.parametrize(
    "question", [EVIL, RIGHT_TO_LEFT, EMOJI, LONG[:1000], "\0\x01", "%00", "'; drop table cases; --", '"*" OR']
)
def test_any_question_is_answered_and_shown_as_text(evil: tuple[FlaskClient, list[str]], question: str) -> None:
    client, _ = evil
    answer = client.get("/", query_string={"q": question})
    assert answer.status_code == 200
    assert read(answer.text).tags.count("script") == 1


def test_titles_are_kept_apart_from_the_direction_of_the_page(evil: tuple[FlaskClient, list[str]]) -> None:
    client, pages = evil
    assert f"<bdi>{RIGHT_TO_LEFT}</bdi>" in client.get(pages[3]).text
    assert 'dir="auto"' in client.get(pages[3]).text


def test_ten_thousand_letters_are_all_there(evil: tuple[FlaskClient, list[str]]) -> None:
    client, pages = evil
    assert LONG in client.get(pages[5]).text
