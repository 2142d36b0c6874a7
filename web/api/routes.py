"""The addresses of the API."""

from __future__ import annotations

from flask import Blueprint, Response, request

from web.api.models import CaseOut, FindAnswer
from web.api.openapi import document_text
from web.api.writing import answer_out, case_out
from web.asking import read_address
from web.viewing import the_library, the_terms, the_viewer

api = Blueprint("api", __name__, url_prefix="/api")


def _json(value: FindAnswer | CaseOut) -> Response:
    return Response(value.model_dump_json(), content_type="application/json")


@api.get("/find")
def find() -> Response:
    """The passages that answer a question, asked with the same parameters as the find page."""
    library = the_library()
    asked = read_address(request.args, library.vocabulary)
    return _json(answer_out(library.find(the_viewer(), asked.query())))


@api.get("/case/<case_id>")
def case(case_id: str) -> Response:
    """A case with its recordings, steps, mentions and measures."""
    return _json(case_out(the_library().case(the_viewer(), case_id), the_terms()))


@api.get("/openapi.json")
def openapi() -> Response:
    """This API, described."""
    return Response(document_text(), content_type="application/json")
