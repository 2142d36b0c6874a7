"""Who works here: the owner gives names, roles and passwords."""

from __future__ import annotations

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from indexer.consent import Role
from indexer.errors import BadInput, NotAllowed
from web.viewing import the_library, the_viewer

people = Blueprint("people", __name__)

ROLES = {
    Role.OWNER: "sees and changes everything",
    Role.SURGEON: "sees the own operations whatever their release, and decides about marks",
    Role.NARRATOR: "decides about marks in what may be seen",
    Role.EDUCATOR: "decides about marks in what may be seen, builds teaching sets",
    Role.TRAINEE: "looks at what is released for teaching",
}


@people.get("/people")
def page() -> str:
    """All who work here, and a form for one more."""
    _for_the_owner()
    return render_template("people.html", persons=the_library().persons(), roles=ROLES)


@people.post("/people")
def add() -> AnyResponse:
    """One more person, with or without a password."""
    _for_the_owner()
    name, password = request.form.get("name", ""), request.form.get("password", "")
    library = the_library()
    if library.known_person(name) is not None:
        raise BadInput("That name is in use here. Change the person's roles or password in the list instead.")
    library.add_person(the_viewer(), name, _roles(), password or None)
    return redirect(url_for("people.page"), 303)


@people.post("/people/roles")
def roles() -> AnyResponse:
    """Other roles for somebody, from the next request on."""
    _for_the_owner()
    the_library().set_roles(the_viewer(), request.form.get("name", ""), _roles())
    return redirect(url_for("people.page"), 303)


@people.post("/people/password")
def password() -> AnyResponse:
    """A new password for somebody, or none; every sign-in of theirs ends."""
    _for_the_owner()
    wanted = None if "none" in request.form else request.form.get("password", "")
    the_library().set_password(the_viewer(), request.form.get("name", ""), wanted)
    return redirect(url_for("people.page"), 303)


def _for_the_owner() -> None:
    if not the_viewer().owns:
        raise NotAllowed("The list of people", "it is for the owner of the library.")


def _roles() -> list[Role]:
    try:
        return [Role(role) for role in request.form.getlist("role")]
    except ValueError:
        raise BadInput("There is no such role here. Go back and choose from the list.") from None
