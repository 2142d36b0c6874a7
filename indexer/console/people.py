"""What the commands of `people` do."""

from __future__ import annotations

import sys
from collections.abc import Sequence

import click

from indexer.catalogue.library import Library
from indexer.consent import Role
from indexer.errors import BadInput


def add(library: Library, name: str, roles: Sequence[str], password: str | None) -> None:
    """One more person; of somebody who is there already, the roles and the password."""
    given = [Role(role) for role in roles]
    if library.known_person(name) is None:
        library.add_person(library.owner, name, given, password)
    else:
        library.set_roles(library.owner, name, given)
        if password is not None:
            library.set_password(library.owner, name, password)
    show(library)


def show(library: Library) -> None:
    """All who work here."""
    for person in library.persons():
        entry = "signs in" if person.may_sign_in else "no password"
        click.echo(f"{person.pseudonym}  {', '.join(person.roles) or 'no role'}  ({entry})")


def password(library: Library, name: str, *, none: bool) -> None:
    """Ask for a new password twice, or take it away; sign-ins of that person end."""
    library.set_password(library.owner, name, None if none else asked())
    click.echo(f"{name} {'cannot sign in any more' if none else 'signs in with the new password'}.")


def asked() -> str:
    """A password as it is typed twice, never shown; from a pipe, its first line."""
    if sys.stdin.isatty():
        typed: str = click.prompt("Password", hide_input=True, confirmation_prompt=True)
        return typed
    line = sys.stdin.readline().rstrip("\r\n")
    if not line:
        raise BadInput("There is no password. Type it when asked, or hand it over on standard input.")
    return line
