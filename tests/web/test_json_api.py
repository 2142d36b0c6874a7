"""The JSON API and its description."""

from __future__ import annotations

import json

import pytest
from flask.testing import FlaskClient

from tests.web.conftest import Filled
from web.api.models import CaseOut, FindAnswer
from web.api.openapi import PLACE, document, document_text


def test_find_answers_with_passages_and_counts(client: FlaskClient, filled: Filled) -> None:
    answer = FindAnswer.model_validate_json(client.get("/api/find?q=capsular+hooks").data)
    best = answer.passages[0]
    assert (best.case_id, best.recording_id, best.step) == (*filled.hooks, "capsule-support")
    assert best.page.startswith(f"/case/{filled.hooks[0]}/")
    assert any(piece.matched for piece in best.excerpt)
    assert any(count.facet == "device" and count.id == "capsular-hooks" for count in answer.counts)


def test_case_answers_with_steps(client: FlaskClient, filled: Filled) -> None:
    case = CaseOut.model_validate_json(client.get(f"/api/case/{filled.hooks[0]}").data)
    (recording,) = case.recordings
    assert [step.step for step in recording.steps][:3] == ["case-introduction", "side-port", "capsulorhexis"]
    assert recording.steps[3].start_ms == 5480
    assert recording.measures[0].low == 6.5


def test_no_path_of_a_file_leaves(client: FlaskClient, filled: Filled) -> None:
    text = client.get(f"/api/case/{filled.hooks[0]}").text
    assert str(filled.film) not in text and filled.film.name not in text


@pytest.mark.parametrize(
    ("path", "status"), [("/api/case/nothing", 404), ("/api/find?device=unicorn", 400), ("/api/nothing", 404)]
)
def test_faults_are_json(client: FlaskClient, path: str, status: int) -> None:
    answer = client.get(path)
    assert answer.status_code == status
    assert answer.get_json()["status"] == status


def test_the_description_in_schemas_is_what_the_code_would_write() -> None:
    """After a change of the models: python -m web.api.openapi."""
    assert PLACE.read_text(encoding="utf-8") == document_text()


def test_the_description_is_served(client: FlaskClient) -> None:
    assert client.get("/api/openapi.json").get_json() == document()


def test_every_reference_of_the_description_is_met() -> None:
    text = document_text()
    names = {part.split('"')[0] for part in text.split("#/components/schemas/")[1:]}
    assert names <= set(json.loads(text)["components"]["schemas"])


def test_the_description_names_the_addresses_of_the_api(client: FlaskClient) -> None:
    rules = {str(rule).replace("<", "{").replace(">", "}") for rule in client.application.url_map.iter_rules()}
    assert set(document()["paths"]) == {rule for rule in rules if rule.startswith("/api/") and "openapi" not in rule}
