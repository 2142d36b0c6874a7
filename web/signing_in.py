"""The door: who has not signed in gets nothing of the library. A password lets in; on this machine alone, so does
the key in the address that the console printed, which is exchanged for a cookie at once.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
from urllib.parse import quote, urlsplit

from flask import Blueprint, Flask, Response, current_app, make_response, redirect, render_template, request, session
from flask import url_for as address_of
from werkzeug.wrappers import Response as AnyResponse

from indexer.catalogue import folder, signing
from indexer.config import Settings
from indexer.consent import Viewer
from web.guard import LOOPBACK
from web.guessing import Guesses, TooManyGuesses
from web.viewing import SIGNED_IN, the_library, the_viewer

door = Blueprint("door", __name__)

DRESS = frozenset({"static", "look.steps", "look.choose"})
OPEN = frozenset({"about.page", "door.page", "door.sign_in", "door.enter"})
"""What is answered without signing in; nothing of either holds anything of a case."""
SENTENCE = "Sign in first; here is nothing to see without."
WRONG = "Name and password do not fit each other. Nothing was opened."


def put_door(app: Flask, settings: Settings, *, shut: bool) -> None:
    """Sign cookies with the library's own secret; if `shut`, let nobody in who has not signed in."""
    secret = folder.site_key(app.extensions["library"].folder)
    app.secret_key = secret
    app.extensions["guesses"] = Guesses()
    app.extensions["entry_key"] = secrets.token_urlsafe(32) if shut and alone(settings.host) else None
    app.config.update(
        # Cookies know no ports: two libraries on one machine would sign each other out.
        SESSION_COOKIE_NAME=f"scrubmark-{hashlib.sha256(secret).hexdigest()[:8]}",
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Strict",
        PERMANENT_SESSION_LIFETIME=signing.LASTS,
        SESSION_REFRESH_EACH_REQUEST=False,
    )
    app.before_request(turn_away if shut else _greet)


def alone(host: str) -> bool:
    """Whether the site answers to this machine only."""
    return host.strip("[]").lower() in LOOPBACK


def entry_address(app: Flask, address: str) -> str:
    """The address that lets in whoever started the site; the plain one where everybody signs in."""
    key = app.extensions["entry_key"]
    return f"{address}enter?key={key}" if key else address


def turn_away() -> AnyResponse | None:
    """Send to the sign-in whoever has not signed in."""
    if request.endpoint in DRESS or the_viewer().person_id is not None or request.endpoint in OPEN:
        return None
    if request.path.startswith("/api/"):
        answer = make_response({"error": SENTENCE, "status": 401}, 401)
    elif request.path.startswith(("/film/", "/still/")):
        answer = Response(SENTENCE + "\n", 401, content_type="text/plain; charset=utf-8")
    else:
        return redirect(address_of("door.page", back=_asked_for()), 303)
    return answer


def _greet() -> None:
    the_viewer()


def _asked_for() -> str | None:
    """The page to go on to; what was only posted is not done again."""
    if request.method != "GET" or request.path == "/":
        return None
    return request.full_path if request.query_string else request.path


@door.get("/sign-in")
def page() -> AnyResponse:
    """Where one signs in."""
    if the_viewer().person_id is not None:
        return redirect(_inside(request.args.get("back")), 303)
    return _page()


@door.post("/sign-in")
def sign_in() -> AnyResponse:
    """Look at name and password."""
    name, password = request.form.get("name", ""), request.form.get("password", "")
    guesses: Guesses = current_app.extensions["guesses"]
    address = request.remote_addr or ""
    try:
        guesses.allow(name, address)
    except TooManyGuesses as wait:
        answer = _page(str(wait), 429)
        answer.headers["Retry-After"] = str(wait.wait_s)
        return answer
    found = the_library().password_fits(name, password)
    if found is None:
        return _page(WRONG, 403)
    guesses.fitted(name, address)
    return _let_in(found, request.form.get("back"))


@door.get("/enter")
def enter() -> AnyResponse:
    """Take the printed key for a cookie, and out of the address bar. It opens nothing from another machine."""
    key = current_app.extensions.get("entry_key")
    if not key or request.remote_addr not in LOOPBACK:
        return redirect(address_of("door.page"), 303)
    if not hmac.compare_digest(request.args.get("key", "").encode(), key.encode()):
        return _page("That address is not the one that was printed last. Take it from the console again.", 403)
    return _let_in(the_library().owner, None)


@door.post("/sign-out")
def sign_out() -> AnyResponse:
    """End this sign-in, here and for any copy of its cookie."""
    if key := session.get(SIGNED_IN):
        the_library().sign_out(key)
    session.clear()
    return redirect(address_of("door.page"), 303)


def _let_in(viewer: Viewer, back: str | None) -> AnyResponse:
    if old := session.get(SIGNED_IN):
        the_library().sign_out(old)
    session.clear()
    session.permanent = True
    session[SIGNED_IN] = the_library().sign_in(viewer)
    return redirect(_inside(back), 303)


def _page(trouble: str | None = None, status: int = 200) -> Response:
    back = request.values.get("back", "")
    shown = render_template("sign_in.html", trouble=trouble, back=back, printed=current_app.extensions["entry_key"])
    return make_response(shown, status)


def _inside(back: str | None) -> str:
    """A path of this site, whatever the address says."""
    try:
        parts = urlsplit(back or "/")
    except ValueError:
        return "/"
    path = "/" + quote(parts.path.lstrip("/\\"), safe="/%")
    return f"{path}?{parts.query}" if parts.query and not parts.netloc else path
