"""The page about times: charts without script or style, a sentence and a table for each, cautions on all."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from datetime import date, timedelta

import pytest
from flask.testing import FlaskClient

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.models.timing import LoggedOperation, Stay
from indexer.timing.taking_logs import LogDetails, take
from tests.timing.conftest import Add
from web import create_app
from web.guard import CONTENT_POLICY

STEPS = ("main-incision", "capsulorhexis", "phacoemulsification", "wound-closure")


@pytest.fixture
def site(library: Library) -> FlaskClient:
    """Twenty-four logged operations, every third of an eye with a dense nucleus."""
    for number in range(24):
        edges = [5_000, *(20_000 + 1000 * (number % 7) + 30_000 * place for place in range(1, len(STEPS) + 1))]
        stays = tuple(Stay(step, *edges[at : at + 2], True) for at, step in enumerate(STEPS))
        day = date(2026, 1, 1) + timedelta(days=number)
        one = LoggedOperation(name=f"<b>{number}</b>", length_ms=edges[-1] + 2_000, stays=stays, day=day)
        findings = ("dense-nucleus", "small-pupil") if number % 3 == 0 else ()
        take(library, [one], LogDetails(findings=findings, used=("iris-prolapse",) if number == 5 else ()))
    return create_app(library, Settings(), viewer_of=lambda opened: opened.owner).test_client()


def read(site: FlaskClient, address: str) -> str:
    answer = site.get(address)
    assert answer.status_code == 200
    return answer.get_data(as_text=True)


def pictures(html: str) -> list[ET.Element]:
    return [ET.fromstring(svg) for svg in re.findall(r"<svg [^>]*role=\"img\".*?</svg>", html, flags=re.DOTALL)]


def test_every_chart_has_its_sentence_its_table_and_links(site: FlaskClient) -> None:
    html = read(site, "/times?step=capsulorhexis&beside=dense-nucleus")
    figures = re.findall(r"<figure.*?</figure>", html, flags=re.DOTALL)
    assert len(figures) == len(pictures(html)) == 3
    for figure in figures:
        assert re.search(r"<figcaption><p>.{20,}</p>", figure) and "<table>" in figure
        assert re.search(r'href="/case/[a-z0-9]+/[a-z0-9]+\?t=', figure)
        assert re.search(r"<title>.*?s</title>", figure)
        assert not re.search(r'href="(?!/case/)', figure)


def test_the_strict_policy_has_nothing_to_block(site: FlaskClient) -> None:
    for address in ("/times", "/times?step=capsulorhexis&beside=2026-01-10"):
        answer = site.get(address)
        assert answer.headers["Content-Security-Policy"] == CONTENT_POLICY
        html = answer.get_data(as_text=True)
        assert not re.search(r"\sstyle=|<style|\son[a-z]+=|javascript:", html)
        for svg in pictures(html):
            tags = {each.tag.rpartition("}")[2] for each in svg.iter()}
            assert tags <= {"svg", "g", "path", "rect", "line", "text", "a", "title"}


def test_titles_are_text_never_markup(site: FlaskClient) -> None:
    html = read(site, "/times?step=capsulorhexis")
    assert "<b>" not in html and "&lt;b&gt;3&lt;/b&gt;" in html


@pytest.mark.parametrize("address", ["/times", "/times?step=capsulorhexis", "/times?operator=nobody"])
def test_the_caution_stands_on_every_page(site: FlaskClient, address: str) -> None:
    html = read(site, address)
    assert "Faster is not better" in html and "They rank nobody" in html


def test_an_event_is_a_triangle_and_said(site: FlaskClient) -> None:
    html = read(site, "/times?step=capsulorhexis")
    assert "1 of 24 had an event out of the ordinary" in html and "Iris prolapse" in html


def test_proposals_are_said_on_the_page_and_every_figure(site: FlaskClient) -> None:
    html = read(site, "/times?proposals=1&step=capsulorhexis")
    assert "nobody confirmed" in html
    assert html.count("with proposals</i>") == len(pictures(html)) == 2
    assert "with proposals</i>" not in read(site, "/times")


def test_groups_of_other_eyes_or_few_are_warned_of(site: FlaskClient) -> None:
    html = read(site, "/times?step=capsulorhexis&beside=dense-nucleus")
    assert "Only 8 operations" in html and "not the same kind of eyes" in html
    # What parts the groups is no difference in case mix.
    assert re.search(r"Small pupil</bdi></th><td>0 of 16</td><td>8 of 8</td>", html)
    assert "<bdi>Dense nucleus</bdi>" not in html


def test_an_event_is_summed_up_against_given_rates(site: FlaskClient) -> None:
    html = read(site, "/times?event=iris-prolapse&acceptable=5&unacceptable=10")
    assert "Iris prolapse: 1 in 24 operations (4.2%)" in html and len(pictures(html)) == 3
    assert "The sum has reached neither line" in html
    assert site.get("/times?event=iris-prolapse&acceptable=10&unacceptable=5").status_code == 400
    assert site.get("/times?event=iris-prolapse").status_code == 400


def test_a_changed_mark_makes_the_page_anew(site: FlaskClient, film: Add) -> None:
    assert "confirmed steps of 24 operations" in read(site, "/times")
    film([("capsulorhexis", 10, 40, "sure")])
    assert "confirmed steps of 25 operations" in read(site, "/times")


@pytest.mark.parametrize(
    "address", ["/times?since=x", "/times?step=coffee", "/times?beside=coffee", "/times?finding=rhexis"]
)
def test_what_cannot_be_read_is_one_clear_page(site: FlaskClient, address: str) -> None:
    assert site.get(address).status_code == 400


def test_a_log_says_that_there_is_nothing_to_play(site: FlaskClient, library: Library) -> None:
    case = library.cases(library.owner)[0].id
    html = site.get(f"/case/{case}", follow_redirects=True).get_data(as_text=True)
    assert "there is nothing to play" in html and "The film is away" not in html
    assert site.get(f"/api/case/{case}").get_json()["recordings"][0]["kind"] == "logged"
