"""The addresses of marking: what they take, what they refuse, and what they say of each step."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.consent import NOBODY, Viewer
from indexer.models import Cut, KindGuess, Survey
from tests.web.conftest import Filled, put_media
from tests.web.invented import HOOKS, put_case
from web import create_app
from web.api.marking_models import GroundOut, MarkingOut


class Site:
    """The site for one viewer after the other, and a recording of its own to mark."""

    def __init__(self, library: Library, recording: str, case: str) -> None:
        self.library, self.case, self.at = library, case, f"/api/marking/{recording}"
        self.viewer = library.owner
        app: Flask = create_app(library, Settings(library=library.folder), viewer_of=lambda _library: self.viewer)
        self.client: FlaskClient = app.test_client()

    def state(self) -> MarkingOut:
        return MarkingOut.model_validate_json(self.client.get(self.at).data)

    def post(self, verb: str, place: int | None = None, **more: Any) -> Any:
        marks = self.state().marks
        seen = {mark.id: mark.version for mark in marks}
        segment = None if place is None else marks[place].id
        return self.client.post(self.at, json={"verb": verb, "segment": segment, "seen": seen, **more})


@pytest.fixture
def site_of_one(tmp_path: Any, vocabulary: Any, film: Any) -> Iterator[Site]:
    with Library.open(tmp_path / "lib", vocabulary=vocabulary) as library:
        case, recording = put_case(library, film, "One", HOOKS, release="teaching")
        put_media(library, recording, ())
        yield Site(library, recording, case)


def as_viewer(library: Library, who: str) -> Viewer:
    return NOBODY if who == "nobody" else library.owner if who == "owner" else library.person(who)


def test_each_step_says_why_and_what_else_it_could_be(site_of_one: Site) -> None:
    first, *_ = site_of_one.state().marks
    assert (first.label, first.sure, first.settled) == ("Case introduction", "likely", False)
    assert first.why == "usual order: usually comes at this place"
    assert len(first.rather) == 6 and first.step not in first.rather


def test_the_ground_offers_what_usually_comes_next(site_of_one: Site) -> None:
    ground = GroundOut.model_validate_json(site_of_one.client.get(site_of_one.at + "/ground").data)
    assert ground.first[0] == "case-introduction"
    assert all(step not in after for step, after in ground.then.items())
    assert [step.number for step in ground.steps] == sorted(step.number for step in ground.steps)
    assert len(ground.words) > 40


def test_a_moment_is_taken_to_the_picture_that_shows_it(site_of_one: Site) -> None:
    site_of_one.post("edge", 2, edge="start", at_ms=2999)
    edge = site_of_one.state().marks[2].start
    assert (edge.at_ms, edge.frame, edge.source) == (2960, 2.96, "person")


def test_cuts_of_a_surveyed_film_are_offered(site_of_one: Site) -> None:
    guess = KindGuess(kind="edited", confidence=0.9, reasons=())
    cuts = tuple(Cut(at_ms=at, frame=at // 40, kind="hard", strength=0.8) for at in (2000, 8000))
    survey = Survey(frames=300, length_ms=12_000, cuts=cuts, guess=guess)
    site_of_one.library.put_survey(site_of_one.at.rpartition("/")[2], survey, (), ())
    ground = GroundOut.model_validate_json(site_of_one.client.get(site_of_one.at + "/ground").data)
    assert ground.cuts_ms == (2000, 8000)


def test_undo_and_redo_by_address(site_of_one: Site) -> None:
    before = site_of_one.state()
    site_of_one.post("join", 0)
    assert len(site_of_one.state().marks) == len(before.marks) - 1
    back = MarkingOut.model_validate_json(site_of_one.client.post(site_of_one.at + "/undo").data)
    assert [mark.step for mark in back.marks] == [mark.step for mark in before.marks]
    assert (back.undo, back.redo) == (None, "join")
    assert site_of_one.client.post(site_of_one.at + "/redo").status_code == 200
    assert [(each.verb, each.by) for each in site_of_one.state().lately] == [("join", "owner")]


@pytest.mark.parametrize(
    ("who", "status"), [("owner", 200), ("Heron", 200), ("Plover", 403), ("nobody", 404)]
)  # the invented cases are operated by Heron
@pytest.mark.parametrize("path", ["", "/undo"])
def test_who_may_mark(site_of_one: Site, who: str, status: int, path: str) -> None:
    site_of_one.viewer = as_viewer(site_of_one.library, who)
    if who == "nobody":
        assert site_of_one.client.get(site_of_one.at).status_code == 404
        answer = site_of_one.client.post(site_of_one.at + path, json={"verb": "keep"})
    else:
        answer = site_of_one.post("keep", 0)
        if path:
            answer = site_of_one.client.post(site_of_one.at + path)
    assert answer.status_code == status


@pytest.mark.parametrize(
    ("body", "status"),
    [
        (b"", 400),
        (b"{}", 400),
        (b'{"verb": "dance"}', 400),
        (b'{"verb": "keep", "more": 1}', 400),
        (b'{"verb": "edge", "at_ms": -5}', 400),
        (b'{"verb": "keep", "segment": "nothing"}', 400),
        (b'{"verb": "keep", "segment": "gone", "seen": {"gone": 1}}', 409),
        (b'{"verb": "begin", "step": "capsular-hooks", "at_ms": 5}', 400),
        (b"x" * 100_000, 413),
    ],
)
def test_what_cannot_be_done_is_said(site_of_one: Site, body: bytes, status: int) -> None:
    before = site_of_one.state()
    answer = site_of_one.client.post(site_of_one.at, data=body)
    assert answer.status_code == status
    assert answer.get_json()["error"]
    assert site_of_one.state() == before


def test_another_site_cannot_mark(site_of_one: Site) -> None:
    answer = site_of_one.client.post(site_of_one.at, json={"verb": "keep"}, headers={"Sec-Fetch-Site": "cross-site"})
    assert answer.status_code == 403


def test_the_page_stands_under_its_case(client: FlaskClient, filled: Filled) -> None:
    case, recording = filled.hooks
    page = client.get(f"/case/{case}/{recording}/mark")
    assert page.status_code == 200
    assert page.text.count('class="mark"') == 5
    assert f"/case/{case}/{recording}/mark" in client.get(f"/case/{case}/{recording}").text
    assert client.get(f"/case/{filled.plain[0]}/{recording}/mark").status_code == 404
