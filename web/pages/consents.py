"""Consent stated, withdrawn, and cases of one patient tied: from the page of a case, and for many from the list."""

from __future__ import annotations

from datetime import date

from flask import Blueprint, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from indexer.consent import Release
from indexer.errors import BadInput
from web.viewing import the_library, the_viewer

consents = Blueprint("consents", __name__, url_prefix="/consent")

LONGEST = 300


@consents.post("/state")
def state() -> AnyResponse:
    """What the consent of the named cases allows from now on."""
    named = _named()
    more = {"until": _until(), "purpose": _line("purpose"), "evidence": _line("evidence")}
    the_library().state_consents(the_viewer(), named, _release(), on=date.today(), **more)
    return _back(named)


@consents.post("/withdraw")
def withdraw() -> AnyResponse:
    """Make the named cases private at once."""
    named = _named()
    the_library().withdraw_consents(the_viewer(), named, on=date.today())
    return _back(named)


@consents.post("/tie")
def tie() -> AnyResponse:
    """Say that the named cases are of one patient."""
    named = _named()
    if len(named) < 2:
        raise BadInput("Tick at least two cases of the same patient. Nothing was changed.")
    the_library().tie_cases(the_viewer(), named)
    return _back(named)


@consents.post("/untie")
def untie() -> AnyResponse:
    """Take one case out of those of its patient."""
    named = _named()
    for case_id in named:
        the_library().untie_case(the_viewer(), case_id)
    return _back(named)


def _named() -> tuple[str, ...]:
    named = tuple(dict.fromkeys(request.form.getlist("case")))
    if not named:
        raise BadInput("No case was ticked. Go back and tick those that are meant; nothing was changed.")
    return named


def _release() -> Release:
    try:
        return Release(request.form.get("release", ""))
    except ValueError:
        raise BadInput("Say what the consent allows. Nothing was changed.") from None


def _until() -> date | None:
    said = request.form.get("until", "").strip()
    if not said:
        return None
    try:
        until = date.fromisoformat(said)
    except ValueError:
        raise BadInput("A day is written as 2031-12-31. Nothing was changed.") from None
    if until < date.today():
        raise BadInput("That day is over. Choose one to come; nothing was changed.")
    return until


def _line(name: str) -> str:
    return " ".join(request.form.get(name, "").split())[:LONGEST]


def _back(named: tuple[str, ...]) -> AnyResponse:
    there = url_for("case.first", case_id=named[0]) if len(named) == 1 else url_for("cases.page")
    return redirect(there, 303)
