"""The OpenAPI 3.1 document of the API, made from its models; `python -m web.api.openapi` writes it into schemas/."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from pydantic.json_schema import models_json_schema

from indexer.models.tagged import AssertionKind
from web.api.marking_models import DeedIn, GroundOut, MarkingOut
from web.api.models import CaseOut, Fault, FindAnswer
from web.asking import FILTERS, LAST_PAGE

PLACE = Path(__file__).parents[2] / "schemas" / "openapi.json"


def document() -> dict[str, Any]:
    """The whole document as plain values."""
    _, definitions = models_json_schema(
        [
            *((model, "serialization") for model in (FindAnswer, CaseOut, MarkingOut, GroundOut, Fault)),
            (DeedIn, "validation"),
        ],
        ref_template="#/components/schemas/{model}",
    )
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Scrubmark",
            "version": "1",
            "description": "Reads a library on this machine and marks steps in it. Times are whole milliseconds of the recording.",
        },
        "paths": {
            "/api/find": {
                "get": _operation("find", "Passages that answer a question", _find_parameters(), "FindAnswer")
            },
            "/api/case/{case_id}": {"get": _operation("case", "One case with all its marks", [_case_id()], "CaseOut")},
            **_marking_paths(),
        },
        "components": {"schemas": definitions["$defs"]},
    }


def _marking_paths() -> dict[str, Any]:
    place = "/api/marking/{recording_id}"
    of = [{"name": "recording_id", "in": "path", "required": True, "schema": {"type": "string"}}]
    deed = {"required": True, "content": {"application/json": {"schema": {"$ref": "#/components/schemas/DeedIn"}}}}
    done = _operation("mark", "Do something to the steps; 409 where somebody else changed them", of, "MarkingOut")
    undone = _operation("undo", "Take back what this person did last", of, "MarkingOut")
    redone = _operation("redo", "Do again what this person took back last", of, "MarkingOut")
    return {
        place: {
            "get": _operation("marking", "The steps as they stand", of, "MarkingOut"),
            "post": {**done, "requestBody": deed},
        },
        f"{place}/ground": {"get": _operation("ground", "What marking needs to know", of, "GroundOut")},
        f"{place}/undo": {"post": undone},
        f"{place}/redo": {"post": redone},
    }


def document_text() -> str:
    """The document as it stands in schemas/."""
    return json.dumps(document(), indent=2, ensure_ascii=False) + "\n"


def _operation(name: str, summary: str, parameters: list[dict[str, Any]], model: str) -> dict[str, Any]:
    return {
        "operationId": name,
        "summary": summary,
        "parameters": parameters,
        "responses": {"200": _answer(summary, model), "default": _answer("What went wrong", "Fault")},
    }


def _answer(description: str, model: str) -> dict[str, Any]:
    schema = {"$ref": f"#/components/schemas/{model}"}
    return {"description": description, "content": {"application/json": {"schema": schema}}}


def _case_id() -> dict[str, Any]:
    return {"name": "case_id", "in": "path", "required": True, "schema": {"type": "string"}}


def _find_parameters() -> list[dict[str, Any]]:
    def parameter(name: str, description: str, **schema: Any) -> dict[str, Any]:
        return {"name": name, "in": "query", "description": description, "schema": schema}

    return [
        parameter("q", "The question in words.", type="string", maxLength=1000),
        *(
            parameter(
                facet,
                f"Only passages with one of these; ids of the facet {facet}.",
                type="array",
                items={"type": "string"},
            )
            for facet in FILTERS
        ),
        parameter("assertion", "How what is asked for has to be meant.", enum=[kind.value for kind in AssertionKind]),
        parameter("measure", "Id of a measure that has to be named.", type="string"),
        parameter("least", "Lowest value of the measure, in its unit.", type="number"),
        parameter("most", "Highest value of the measure, in its unit.", type="number"),
        parameter("page", "Page of the answer.", type="integer", minimum=1, maximum=LAST_PAGE),
    ]


if __name__ == "__main__":
    PLACE.write_text(document_text(), encoding="utf-8")
