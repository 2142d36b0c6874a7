"""Films, stills and captions as they are sent."""

from __future__ import annotations

from pathlib import Path

from flask import Flask
from flask.testing import FlaskClient

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.models import Cue
from indexer.vocabulary.vocabulary import Vocabulary
from tests.web.conftest import STILL, Filled, owner_of
from tests.web.invented import HOOKS, put_case
from tests.web.reading import ReadingClient
from web import create_app
from web.media import caption_lines


def test_a_film_is_sent_whole_and_says_that_it_takes_ranges(client: FlaskClient, filled: Filled) -> None:
    answer = client.get(f"/film/{filled.hooks[1]}")
    assert answer.mimetype == "video/mp4"
    assert answer.headers["Accept-Ranges"] == "bytes"
    assert answer.data == filled.film.read_bytes()


def test_a_film_is_sent_in_part(client: FlaskClient, filled: Filled) -> None:
    answer = client.get(f"/film/{filled.hooks[1]}", headers={"Range": "bytes=100-199"})
    assert answer.status_code == 206
    assert answer.data == filled.film.read_bytes()[100:200]


def test_a_head_request_gets_the_length_alone(client: FlaskClient, filled: Filled) -> None:
    answer = client.head(f"/film/{filled.hooks[1]}")
    assert answer.headers["Content-Length"] == str(filled.film.stat().st_size)
    assert answer.data == b""


def test_a_film_that_is_away_is_said_plainly(client: FlaskClient, filled: Filled) -> None:
    answer = client.get(f"/film/{filled.away[1]}")
    assert answer.status_code == 503
    assert answer.mimetype == "text/plain"
    assert "its drive is away" in answer.text


def test_a_film_that_goes_away_while_the_site_runs(tmp_path: Path, vocabulary: Vocabulary, film: Path) -> None:
    own = tmp_path / "own.mp4"
    own.write_bytes(film.read_bytes())
    with Library.open(tmp_path / "lib", vocabulary=vocabulary) as library:
        case, recording = put_case(library, own, "Soon away", HOOKS)
        app: Flask = create_app(library, Settings(), viewer_of=owner_of)
        app.test_client_class = ReadingClient
        client = app.test_client()
        assert client.get(f"/film/{recording}").status_code == 200
        own.unlink()
        assert client.get(f"/film/{recording}").status_code == 503
        assert "The film is away." in client.get(f"/case/{case}/{recording}").text
        assert "Capsule support" in client.get("/?q=capsular+hooks").text


def test_a_still_is_sent(client: FlaskClient, filled: Filled) -> None:
    answer = client.get(f"/still/{filled.hooks[1]}/5480.jpg")
    assert (answer.mimetype, answer.data) == ("image/jpeg", STILL)


def test_a_still_of_another_moment_is_not_here(client: FlaskClient, filled: Filled) -> None:
    assert client.get(f"/still/{filled.hooks[1]}/5481.jpg").status_code == 404


def test_no_path_leads_out_of_the_library(client: FlaskClient, filled: Filled) -> None:
    for path in (
        "/film/..%2f..%2fetc%2fpasswd",
        f"/still/{filled.hooks[1]}/..%2f..%2ffilm.jpg",
        "/static/..%2fsite.py",
    ):
        assert client.get(path).status_code == 404


def test_captions_are_webvtt(client: FlaskClient, filled: Filled) -> None:
    answer = client.get(f"/film/{filled.hooks[1]}/words.vtt")
    assert answer.mimetype == "text/vtt"
    assert answer.text.startswith("WEBVTT\n\n00:00:00.000 --> 00:00:02.000\nThis eye has")


def test_captions_cannot_be_broken_by_words() -> None:
    """WebVTT: a payload ends at a blank line and must not hold `-->`; `&` and `<` begin markup."""
    cue = Cue(start_ms=0, end_ms=900, text="a <b>bold</b>\n\n00:01 --> 00:02 & more")
    assert list(caption_lines((cue,)))[3] == "a &lt;b&gt;bold&lt;/b&gt; 00:01 --&gt; 00:02 &amp; more"
