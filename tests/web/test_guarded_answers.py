"""What every answer says about safety; which hosts are answered; that nothing unforeseen shows a traceback."""

from __future__ import annotations

import pytest
from flask import Flask
from flask.testing import FlaskClient

from indexer.config import Settings
from indexer.errors import Conflict, LibraryBusy, NotAllowed, ToolFailed
from tests.web.conftest import Filled, owner_of
from web import create_app
from web.guard import host_allowed

PAGES = (
    "/",
    "/?q=hooks",
    "/cases",
    "/about",
    "/nothing-here",
    "/api/find?q=hooks",
    "/look/steps.css",
    "/static/site.css",
)


@pytest.mark.parametrize("path", PAGES)
def test_every_answer_is_guarded(client: FlaskClient, path: str) -> None:
    headers = client.get(path).headers
    policy = headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy and "script-src 'self'" in policy and "style-src 'self'" in policy
    assert "unsafe" not in policy and "frame-ancestors 'none'" in policy
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "no-referrer"
    assert headers["Cross-Origin-Opener-Policy"] == "same-origin"
    assert headers["Cross-Origin-Resource-Policy"] == "same-origin"


@pytest.mark.parametrize("path", ["/", "/?q=hooks", "/cases", "/about", "/api/find?q=hooks", "/nothing-here"])
def test_pages_are_not_kept_by_the_browser(client: FlaskClient, path: str) -> None:
    assert client.get(path).headers["Cache-Control"] == "no-store"


def test_a_case_and_its_film_are_not_kept_by_the_browser(client: FlaskClient, filled: Filled) -> None:
    case, recording = filled.hooks
    for path in (f"/case/{case}/{recording}", f"/film/{recording}"):
        assert client.get(path).headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize(
    ("host", "bound", "allowed"),
    [
        ("127.0.0.1:8321", "127.0.0.1", True),
        ("localhost", "127.0.0.1", True),
        ("LOCALHOST:80", "127.0.0.1", True),
        ("[::1]:8321", "127.0.0.1", True),
        ("theatre.example:8321", "theatre.example", True),
        ("evil.example", "127.0.0.1", False),
        ("127.0.0.1.evil.example", "127.0.0.1", False),
        ("localhost.evil.example", "127.0.0.1", False),
        ("", "127.0.0.1", False),
        ("[::1", "127.0.0.1", False),
        ("192.0.2.7:8321", "0.0.0.0", True),
        ("192.0.2.7:8321", "127.0.0.1", False),
        ("evil.example", "0.0.0.0", False),
    ],
)
def test_only_our_own_names_are_answered(host: str, bound: str, allowed: bool) -> None:
    assert host_allowed(host, bound) is allowed


def test_a_foreign_name_gets_no_page(client: FlaskClient) -> None:
    answer = client.get("/cases", headers={"Host": "evil.example"})
    assert answer.status_code == 421
    assert b"Hooks for a loose bag" not in answer.data


def test_another_site_cannot_change_the_look(client: FlaskClient) -> None:
    answer = client.post("/look", data={"look": "light"}, headers={"Sec-Fetch-Site": "cross-site"})
    assert answer.status_code == 403
    assert "Set-Cookie" not in answer.headers


@pytest.mark.parametrize("back", ["//evil.example/x", "https://evil.example", "\\\\evil.example", "/cases?x=1"])
def test_choosing_a_look_stays_on_this_site(client: FlaskClient, back: str) -> None:
    answer = client.post("/look", data={"look": "light", "back": back})
    assert answer.status_code == 303
    assert answer.headers["Location"].startswith("/") and not answer.headers["Location"].startswith("//")
    assert "HttpOnly" in answer.headers["Set-Cookie"] and "SameSite=Strict" in answer.headers["Set-Cookie"]
    assert b'data-look="light"' in client.get("/about").data


@pytest.mark.parametrize(
    ("fault", "status"),
    [
        (NotAllowed("Showing", "no consent covers it."), 403),
        (Conflict("The step", "by Heron"), 409),
        (LibraryBusy("/lib", "another intake is at work."), 503),
        (ToolFailed("ffmpeg", "took too long"), 500),
        (ZeroDivisionError("secret inner words"), 500),
    ],
)
@pytest.mark.parametrize("prefix", ["", "/api"])
def test_faults_become_clear_answers(filled: Filled, fault: Exception, status: int, prefix: str) -> None:
    app: Flask = create_app(filled.library, Settings(library=filled.library.folder), viewer_of=owner_of)

    @app.get(f"{prefix}/breaks")
    def breaks() -> str:
        raise fault

    answer = app.test_client().get(f"{prefix}/breaks")
    assert answer.status_code == status
    assert "Traceback" not in answer.text and "secret inner words" not in answer.text
    if prefix:
        assert set(answer.get_json()) == {"error", "status"}
    else:
        assert "<h1>" in answer.text


def test_a_method_that_is_not_taken_says_so(client: FlaskClient) -> None:
    answer = client.post("/cases")
    assert answer.status_code == 405 and "Allow" in answer.headers


def test_large_forms_are_refused(client: FlaskClient) -> None:
    assert client.post("/look", data={"look": "x" * 200_000}).status_code == 413


def test_the_log_says_where_and_not_what(filled: Filled, caplog: pytest.LogCaptureFixture) -> None:
    """What a fault says may be words of a patient, and so may an address."""
    app: Flask = create_app(filled.library, Settings(library=filled.library.folder), viewer_of=owner_of)

    @app.get("/breaks/<words>")
    def breaks(words: str) -> str:
        raise ValueError(f"cannot read {words}")

    app.test_client().get("/breaks/spoken-name?q=typed-name")
    assert "ValueError" in caplog.text and "test_guarded_answers" in caplog.text
    assert "spoken-name" not in caplog.text and "typed-name" not in caplog.text
