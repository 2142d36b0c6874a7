"""Dark, light or as the device is set, and the stylesheets that are computed rather than written."""

from __future__ import annotations

from urllib.parse import urlsplit

from flask import Blueprint, Response, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from web.colours import step_stylesheet
from web.viewing import the_library

look = Blueprint("look", __name__)

LOOKS = ("device", "dark", "light")
COOKIE = "look"
A_YEAR_S = 365 * 24 * 3600


def chosen_look() -> str:
    """What this browser was set to; `device` where nothing was chosen."""
    value = request.cookies.get(COOKIE, "device")
    return value if value in LOOKS else "device"


@look.post("/look")
def choose() -> AnyResponse:
    """Remember the look that was chosen and go back to the page it was chosen on."""
    wanted = request.form.get("look", "device")
    back = urlsplit(request.form.get("back", "/"))
    path = "/" + back.path.lstrip("/\\")
    answer = redirect(f"{path}?{back.query}" if back.query else path, 303)
    if wanted in LOOKS:
        answer.set_cookie(COOKIE, wanted, max_age=A_YEAR_S, httponly=True, samesite="Strict")
    return answer


@look.get("/look/steps.css")
def steps() -> Response:
    """Hue and lift of every step of the vocabulary."""
    answer = Response(step_stylesheet(the_library().vocabulary), content_type="text/css; charset=utf-8")
    answer.headers["Cache-Control"] = "no-cache"
    answer.add_etag()
    answer.make_conditional(request.environ)
    return answer
