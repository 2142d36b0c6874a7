"""The case page and the list of cases: ribbon, words, film, and who may see them."""

from __future__ import annotations

import itertools
import re

import pytest
from flask import Flask
from flask.testing import FlaskClient

from indexer.config import Settings
from indexer.consent import NOBODY, Role, Viewer
from tests.web.conftest import Filled
from tests.web.reading import ReadingClient
from tests.web.test_find_pages import words
from web.site import create_app


def case_page(client: FlaskClient, ids: tuple[str, str], query: str = "") -> str:
    answer = client.get(f"/case/{ids[0]}/{ids[1]}{query}")
    assert answer.status_code == 200
    return answer.text


def row(page: str, step: str) -> str:
    """The part of the page that is one step."""
    return re.search(rf'<section class="row[^>]+data-step="{step}".*?</section>', page, re.DOTALL)[0]  # type: ignore[index]


def test_a_case_opens_with_its_first_recording(client: FlaskClient, filled: Filled) -> None:
    answer = client.get(f"/case/{filled.hooks[0]}?t=3")
    assert answer.headers["Location"] == f"/case/{filled.hooks[0]}/{filled.hooks[1]}?t=3"


def test_bands_bear_number_name_and_standing(client: FlaskClient, filled: Filled) -> None:
    page = case_page(client, filled.hooks)
    proposed, accepted = row(page, "chopping"), row(page, "capsulorhexis")
    assert 'data-standing="proposed"' in proposed and "proposed, likely" in words(proposed)
    assert 'data-standing="accepted"' in accepted
    assert re.search(r'<span class="num">8</span> <span class="label">Chopping', proposed)


def test_rows_leave_no_longer_hole_in_time(client: FlaskClient, filled: Filled) -> None:
    page = case_page(client, filled.hooks)
    times = [(int(a), int(b)) for a, b in re.findall(r'class="row[^>]+data-start="(\d+)" data-end="(\d+)"', page)]
    assert times[0][0] == 0 and times[-1][1] == 12_000
    assert all(0 <= other[0] - one[1] < 2000 for one, other in itertools.pairwise(times))


def test_time_without_a_step_keeps_its_words(client: FlaskClient, filled: Filled) -> None:
    assert "No step marked" in words(row(case_page(client, filled.hooks), ""))
    assert "One moment for the focus." in words(row(case_page(client, filled.hooks), ""))


def test_lengths_are_time(client: FlaskClient, filled: Filled) -> None:
    sheet = client.get(f"/case/{filled.hooks[0]}/{filled.hooks[1]}/lengths.css")
    assert sheet.mimetype == "text/css"
    assert "#r3{--seconds:2.48}" in sheet.text
    assert re.match(r"\.document\{--second:[\d.]+px\}", sheet.text)


def test_named_things_show_how_they_were_meant(client: FlaskClient, filled: Filled) -> None:
    support = row(case_page(client, filled.hooks), "capsule-support")
    assert re.search(r'data-facet="device" data-assertion="done"[^>]*>.*?four', support, re.DOTALL)
    assert "Capsular tension ring (considered)" in words(support)


def test_measures_stand_beside_their_step(client: FlaskClient, filled: Filled) -> None:
    assert "Capsulorhexis diameter 6.5 mm" in words(row(case_page(client, filled.hooks), "capsulorhexis"))
    assert "Capsulorhexis diameter 5 to 5.5 mm" in words(row(case_page(client, filled.plain), "capsulorhexis"))


def test_a_step_says_why(client: FlaskClient, filled: Filled) -> None:
    assert "usual order: usually comes at this place" in words(row(case_page(client, filled.hooks), "chopping"))


def test_the_film_starts_at_the_middle_of_the_wanted_frame(client: FlaskClient, filled: Filled) -> None:
    """5.48 s is the start of frame 137 of a film of 25 frames a second; its middle is at 5.5 s."""
    page = case_page(client, filled.hooks, "?t=5.48")
    assert f'src="/film/{filled.hooks[1]}#t=5.5"' in page
    film = re.search(r"<case-film[^>]*>", page)[0]  # type: ignore[index]
    assert 'data-seek="5.5"' in film and 'data-frame="5.48"' in film


def test_without_frame_times_half_a_frame_is_added(client: FlaskClient, filled: Filled) -> None:
    film = re.search(r"<case-film[^>]*>", case_page(client, filled.plain, "?t=3"))[0]  # type: ignore[index]
    assert 'data-seek="3.02"' in film and "data-frame" not in film


@pytest.mark.parametrize("t", ["", "x", "-1", "1e9", "99999", "nan", "12", "5,3"])
def test_an_odd_moment_starts_at_the_beginning(client: FlaskClient, filled: Filled, t: str) -> None:
    page = case_page(client, filled.hooks, f"?t={t}")
    assert f'src="/film/{filled.hooks[1]}"' in page


def test_the_passage_that_was_chosen_is_marked(client: FlaskClient, filled: Filled) -> None:
    page = case_page(client, filled.hooks, "?t=6")
    assert re.findall(r'class="row chosen" id="(r\d+)"', page) == ["r4"]


def test_every_time_in_the_margin_is_a_link_that_works_without_scripts(client: FlaskClient, filled: Filled) -> None:
    stamps = re.findall(r'<a class="stamp" href="([^"]+)"', case_page(client, filled.hooks))
    assert len(stamps) >= 6
    assert all(re.search(r"\?t=([\d.]+)#t=\1$", stamp) for stamp in stamps)


def test_without_a_transcript_it_says_how_to_add_one(client: FlaskClient, filled: Filled) -> None:
    assert "There is no transcript yet, so no steps are proposed." in words(case_page(client, filled.unmarked))


def test_a_film_that_is_away_is_said_and_the_words_stay(client: FlaskClient, filled: Filled) -> None:
    page = case_page(client, filled.away)
    assert "The film is away." in words(page) and "quiet main incision" in words(page).replace("  ", " ")
    assert "<video" not in page


def test_a_recording_of_another_case_is_not_here(client: FlaskClient, filled: Filled) -> None:
    assert client.get(f"/case/{filled.hooks[0]}/{filled.plain[1]}").status_code == 404


def test_the_list_has_every_case(client: FlaskClient) -> None:
    page = words(client.get("/cases").text)
    for title in ("Hooks for a loose bag", "A quiet eye", "On a drive that is away", "Not narrated yet"):
        assert title in page
    assert "5 steps, 1 accepted" in page


def test_the_caution_stands_on_every_page(client: FlaskClient, filled: Filled) -> None:
    for path in ("/", "/cases", "/about", f"/case/{filled.hooks[0]}/{filled.hooks[1]}", "/nothing"):
        assert "Not a medical device" in client.get(path).text


# Who may see what


def site_for(filled: Filled, viewer: Viewer) -> FlaskClient:
    app: Flask = create_app(filled.library, Settings(), viewer_of=lambda library: viewer)
    app.test_client_class = ReadingClient
    return app.test_client()


@pytest.fixture
def trainee(filled: Filled) -> FlaskClient:
    return site_for(filled, filled.library.person("Wren", roles=(Role.TRAINEE,)))


@pytest.mark.parametrize(
    "path",
    ["/case/{0}", "/case/{0}/{1}", "/case/{0}/{1}/lengths.css", "/film/{1}", "/film/{1}/words.vtt", "/api/case/{0}"],
)
def test_what_may_not_be_seen_looks_like_what_is_not_there(trainee: FlaskClient, filled: Filled, path: str) -> None:
    hidden = trainee.get(path.format(*filled.plain))
    unknown = trainee.get(path.format("aaaaaaaaaaaa", "bbbbbbbbbbbb"))
    assert (hidden.status_code, unknown.status_code) == (404, 404)
    told = hidden.text.replace(filled.plain[0], "aaaaaaaaaaaa").replace(filled.plain[1], "bbbbbbbbbbbb")
    assert told == unknown.text


def test_a_trainee_sees_what_teaching_allows(trainee: FlaskClient, filled: Filled) -> None:
    assert trainee.get(f"/case/{filled.hooks[0]}/{filled.hooks[1]}").status_code == 200
    assert "A quiet eye" not in trainee.get("/cases").text
    assert "A quiet eye" not in trainee.get("/?step=capsulorhexis").text


def test_nobody_sees_nothing_private(filled: Filled) -> None:
    client = site_for(filled, NOBODY)
    assert client.get(f"/still/{filled.hooks[1]}/5480.jpg").status_code == 404
    assert client.get(f"/film/{filled.hooks[1]}").status_code == 404


def test_ids_tell_nothing_of_the_patient(filled: Filled) -> None:
    for one in (*filled.hooks, *filled.plain):
        assert re.fullmatch(r"[a-z0-9]{8,20}", one)
