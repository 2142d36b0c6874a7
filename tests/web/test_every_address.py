"""Every address of the site, asked as everybody: nothing of a case comes out to whom it is not released.

The addresses are the app's own map: one that is added later is walked here without a word in this file.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import NamedTuple

import pytest
from flask import Flask
from werkzeug.routing import IntegerConverter, Rule

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.consent import NOBODY, Release, Role, Viewer
from indexer.vocabulary.vocabulary import Vocabulary
from tests.web.conftest import put_media
from tests.web.invented import put_case
from tests.web.reading import ReadingClient
from web import create_app

TODAY = date.today()
STATES = ("private", "teaching", "public", "withdrawn", "expired", "tied")
SEEN_BY_ACCOUNTS = {"teaching", "public"}
OPERATORS_OWN = set(STATES)
ASKED = ("", "?q=hooks", "?q=quietly", "?device=capsular-hooks", "?step=capsule-support", "?finding=weak-zonules")


class Planted(NamedTuple):
    """A case, and what nobody else's page may hold."""

    case_id: str
    recording_id: str
    title: str
    word: str
    film: bytes


class Walked(NamedTuple):
    library: Library
    planted: dict[str, Planted]


@pytest.fixture(scope="module")
def walked(tmp_path_factory: pytest.TempPathFactory, vocabulary: Vocabulary) -> Iterator[Walked]:
    folder = tmp_path_factory.mktemp("walked")
    with Library.open(folder / "lib", vocabulary=vocabulary) as library:
        planted = {state: _plant(library, folder, state) for state in STATES}
        owner, expired = library.owner, planted["expired"].case_id
        library.state_consent(owner, expired, Release.PUBLIC, on=TODAY, until=TODAY - timedelta(1))
        library.state_consent(owner, planted["withdrawn"].case_id, Release.PUBLIC, on=TODAY)
        library.state_consent(owner, planted["tied"].case_id, Release.PUBLIC, on=TODAY)
        library.tie_cases(owner, (planted["withdrawn"].case_id, planted["tied"].case_id))
        library.withdraw_consent(owner, planted["withdrawn"].case_id, on=TODAY)
        yield Walked(library, planted)


def _plant(library: Library, folder: Path, state: str) -> Planted:
    """A case with words, a title and bytes that no other has."""
    word, title, film = f"zq{state}zq", f"Xv{state}vx", f"bytes of {state}".encode() * 40
    path = folder / f"{state}.mp4"
    path.write_bytes(film)
    release = state if state in ("teaching", "public") else "private"
    scenes = ((0.0, 6.0, "capsule-support", f"Now {{capsular-hooks:done:four hooks}} {word} quietly."),)
    ids = put_case(library, path, title, scenes, release=release, findings=("weak-zonules",), stills_ms=(1000,))
    put_media(library, ids[1], (1000,))
    (library.media(ids[1]) / "stills" / "1000.jpg").write_bytes(film)
    return Planted(*ids, title, word, film)


def people(library: Library) -> dict[str, tuple[Viewer, set[str]]]:
    """Everybody, and the states of cases that each may see; Heron operated all of them."""
    others = {role.value: library.person(f"a {role.value}", roles=[role]) for role in Role if role is not Role.OWNER}
    return {
        "owner": (library.owner, set(STATES)),
        "operator": (library.person("Heron", roles=[Role.SURGEON]), OPERATORS_OWN),
        **{name: (viewer, SEEN_BY_ACCOUNTS) for name, viewer in others.items()},
        "without a role": (library.person("Plover"), SEEN_BY_ACCOUNTS),
        "nobody": (NOBODY, {"public"}),
    }


WHO = ("owner", "operator", "surgeon", "narrator", "educator", "trainee", "without a role", "nobody")


def addresses(app: Flask, case: Planted) -> Iterator[tuple[str, str]]:
    """Each address with this case's ids filled in, and each method it takes."""
    adapter = app.url_map.bind("localhost")
    for rule in app.url_map.iter_rules():
        if rule.endpoint not in ("static", "door.sign_out"):
            for method in sorted((rule.methods or set()) - {"OPTIONS", "HEAD"}):
                yield method, adapter.build(rule.endpoint, _filled(rule, case), method=method)


def _filled(rule: Rule, case: Planted) -> dict[str, object]:
    known: dict[str, object] = {"case_id": case.case_id, "recording_id": case.recording_id, "at_ms": 1000}
    # An argument that nothing here is called is given the case's id, or a number where only that fits.
    number = {name for name in rule.arguments if isinstance(rule._converters[name], IntegerConverter)}
    return {name: known.get(name, 1 if name in number else case.case_id) for name in rule.arguments}


def client_of(library: Library, viewer: Viewer | None) -> ReadingClient:
    """The site as a viewer has it; None: as it is served, to somebody who has not signed in."""
    app: Flask = create_app(library, Settings(), viewer_of=(lambda _: viewer) if viewer is not None else None)
    app.test_client_class = ReadingClient
    return app.test_client()  # type: ignore[return-value]


def leaks(answer: bytes, location: str, case: Planted, asked: str) -> list[str]:
    """What of a case an answer holds; the ids that were asked for may come back."""
    told = answer + location.encode()
    secrets = {"title": case.title, "word": case.word}
    found = [name for name, secret in secrets.items() if secret.encode() in told]
    found += ["film"] if case.film[:24] in answer else []
    return found + [one for one in (case.case_id, case.recording_id) if one not in asked and one.encode() in told]


@pytest.mark.parametrize("who", WHO)
def test_nothing_of_an_invisible_case_comes_out(walked: Walked, who: str) -> None:
    viewer, allowed = people(walked.library)[who]
    client = client_of(walked.library, viewer)
    hidden = [case for state, case in walked.planted.items() if state not in allowed]
    for target in walked.planted.values():
        for method, path in addresses(client.application, target):
            queries = ASKED if method == "GET" and target is walked.planted["private"] else ("",)
            for query in queries:
                # What is posted names no case: a case that the viewer may state consents of stays as it is.
                answer = client.open(path + query, method=method)
                for case in hidden:
                    asked = path if case is target else ""
                    location = answer.headers.get("Location", "")
                    assert leaks(answer.data, location, case, asked) == [], (who, method, path, query)


def test_who_has_not_signed_in_gets_nothing_at_all(walked: Walked) -> None:
    client = client_of(walked.library, None)
    for target in walked.planted.values():
        for method, path in addresses(client.application, target):
            answer = client.open(path, method=method)
            for case in walked.planted.values():
                location = answer.headers.get("Location", "")
                assert leaks(answer.data, location, case, path if case is target else "") == [], (method, path)


@pytest.mark.parametrize("who", WHO)
def test_what_is_allowed_is_seen_and_counted_and_no_more(walked: Walked, who: str) -> None:
    viewer, allowed = people(walked.library)[who]
    client = client_of(walked.library, viewer)
    listed, found = client.get("/cases").text, client.get("/api/find?q=hooks").get_json()
    assert {state for state, case in walked.planted.items() if case.title in listed} == allowed
    assert found["total"] == len(allowed) == len(found["passages"])
    counts = [one["count"] for one in found["counts"] if one["id"] == "capsule-support"]
    assert counts in ([len(allowed)], [])
    for state, case in walked.planted.items():
        film = client.get(f"/film/{case.recording_id}")
        assert (film.status_code == 200 and film.data == case.film) is (state in allowed)


@pytest.mark.parametrize(
    "path", ["/case/{0}", "/film/{1}", "/film/{1}/words.vtt", "/still/{1}/1000.jpg", "/api/case/{0}"]
)
def test_a_link_that_was_given_ends_with_the_consent(walked: Walked, path: str) -> None:
    case = walked.planted["teaching"]
    client = client_of(walked.library, people(walked.library)["trainee"][0])
    address = path.format(case.case_id, case.recording_id)
    before = client.get(address)
    assert before.status_code in (200, 302) and "no-store" in before.headers["Cache-Control"]
    walked.library.withdraw_consent(walked.library.owner, case.case_id, on=TODAY)
    try:
        ranged = client.get(address, headers={"Range": "bytes=0-9"})
        assert (client.get(address).status_code, ranged.status_code) == (404, 404)
    finally:
        walked.library.state_consent(walked.library.owner, case.case_id, Release.TEACHING, on=TODAY)


@pytest.mark.parametrize("deed", ["state", "withdraw", "tie", "untie"])
@pytest.mark.parametrize("who", ["surgeon", "educator", "trainee", "nobody"])
def test_only_the_owner_and_the_operator_change_a_consent(walked: Walked, deed: str, who: str) -> None:
    viewer, _ = people(walked.library)[who]
    client = client_of(walked.library, viewer)
    form = {"case": [walked.planted["public"].case_id, walked.planted["private"].case_id], "release": "private"}
    assert client.post(f"/consent/{deed}", data=form).status_code in (403, 404)
    assert walked.library.case(walked.library.owner, walked.planted["public"].case_id).release == "public"


def test_a_consent_is_stated_withdrawn_and_tied_on_the_pages(walked: Walked) -> None:
    client = client_of(walked.library, walked.library.owner)
    case, other = walked.planted["private"].case_id, walked.planted["expired"].case_id
    said = {
        "case": [case],
        "release": "teaching",
        "purpose": "courses here",
        "until": "2099-12-31",
        "evidence": "folder 7",
    }
    client.post("/consent/state", data=said)
    page = client.get(f"/case/{case}/{walked.planted['private'].recording_id}").text
    assert all(word in page for word in ("courses here", "2099-12-31", "folder 7", "Withdraw the consent"))
    client.post("/consent/tie", data={"case": [case, other]})
    assert walked.library.case(walked.library.owner, other).release == "teaching"
    client.post("/consent/withdraw", data={"case": [other]})
    assert walked.library.case(walked.library.owner, case).release == "private"
    client.post("/consent/untie", data={"case": [other]})
    assert walked.library.case(walked.library.owner, case).tied_cases == ()
