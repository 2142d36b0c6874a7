"""Who gets in: by a password, by the printed address on this machine, and nobody else."""

from __future__ import annotations

import stat
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import update

from indexer.catalogue import signing, tables
from indexer.catalogue.folder import site_key
from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.consent import Role
from indexer.errors import BadInput, LibraryUnusable, NotAllowed
from indexer.vocabulary.vocabulary import Vocabulary
from tests.web.reading import ReadingClient
from web import create_app
from web.guessing import WINDOW_S, Guesses, TooManyGuesses
from web.serving import make_server
from web.signing_in import entry_address

PASSWORD = "four hooks and a ring"
HERE = "http://127.0.0.1:8321/"


@pytest.fixture
def library(tmp_path: Path, vocabulary: Vocabulary) -> Iterator[Library]:
    with Library.open(tmp_path / "library", vocabulary=vocabulary) as opened:
        opened.add_person(opened.owner, "Wren", [Role.TRAINEE], PASSWORD)
        yield opened


def client_of(library: Library, host: str = "127.0.0.1") -> FlaskClient:
    app: Flask = create_app(library, Settings(host=host))
    app.test_client_class = ReadingClient
    return app.test_client()


@pytest.fixture
def client(library: Library) -> FlaskClient:
    return client_of(library)


def key_of(client: FlaskClient) -> str:
    return entry_address(client.application, HERE).removeprefix(HERE.rstrip("/"))


def sign_in(client: FlaskClient, name: str = "Wren", password: str = PASSWORD, **more: str) -> tuple[int, str]:
    answer = client.post("/sign-in", data={"name": name, "password": password, **more})
    return answer.status_code, answer.headers.get("Location", "")


def signed_in(client: FlaskClient) -> bool:
    return client.get("/cases").status_code == 200


@pytest.mark.parametrize("path", ["/", "/cases", "/?q=hooks", "/people", "/case/aaaa", "/nothing-here"])
def test_without_signing_in_every_page_is_the_sign_in(client: FlaskClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 303 and urlsplit(answer.headers["Location"]).path == "/sign-in"


@pytest.mark.parametrize("path", ["/api/find?q=hooks", "/api/case/aaaa", "/film/aaaa", "/still/aaaa/1.jpg"])
def test_programs_and_films_are_told_so(client: FlaskClient, path: str) -> None:
    assert client.get(path).status_code == 401


def test_a_password_lets_in_and_back_to_where_one_was(client: FlaskClient) -> None:
    assert sign_in(client, back="/cases?x=1") == (303, "/cases?x=1")
    assert signed_in(client) and "Wren" in client.get("/cases").text


@pytest.mark.parametrize(
    "back", ["//evil.example/x", "https://evil.example", "\\\\evil.example", "/\\evil.example", ""]
)
def test_signing_in_stays_on_this_site(client: FlaskClient, back: str) -> None:
    status, there = sign_in(client, back=back)
    assert status == 303 and there.startswith("/") and not there.startswith(("//", "/\\"))


@pytest.mark.parametrize(
    ("name", "password"), [("Wren", "wrong"), ("Wren", ""), ("owner", ""), ("owner", PASSWORD), ("no one", PASSWORD)]
)
def test_what_does_not_fit_lets_nobody_in_and_says_the_same(client: FlaskClient, name: str, password: str) -> None:
    answer = client.post("/sign-in", data={"name": name, "password": password})
    assert answer.status_code == 403 and "do not fit each other" in answer.text
    assert f'value="{name}"' not in answer.text and not signed_in(client)


def test_the_cookie_is_closed_to_scripts_and_other_sites_and_says_nothing(client: FlaskClient) -> None:
    cookie = client.post("/sign-in", data={"name": "Wren", "password": PASSWORD}).headers["Set-Cookie"]
    assert "HttpOnly" in cookie and "SameSite=Strict" in cookie and "Expires=" in cookie
    assert "Wren" not in cookie


def test_a_changed_cookie_opens_nothing(client: FlaskClient) -> None:
    sign_in(client)
    name = client.application.config["SESSION_COOKIE_NAME"]
    cookie = client.get_cookie(name)
    assert cookie is not None
    client.set_cookie(name, cookie.value[:-2] + ("AA" if not cookie.value.endswith("AA") else "BB"))
    assert not signed_in(client)


def test_signing_out_ends_copies_of_the_cookie_too(client: FlaskClient) -> None:
    sign_in(client)
    name = client.application.config["SESSION_COOKIE_NAME"]
    cookie = client.get_cookie(name)
    assert cookie is not None
    assert client.post("/sign-out").status_code == 303
    client.set_cookie(name, cookie.value)
    assert not signed_in(client)


def test_a_sign_in_does_not_last(client: FlaskClient, library: Library) -> None:
    sign_in(client)
    with library._database.writing() as connection:
        connection.execute(update(tables.sign_ins).values(until=datetime.now(UTC) - timedelta(seconds=1)))
    assert not signed_in(client)


@pytest.mark.parametrize("new", ["another long password", None])
def test_a_new_password_and_a_password_taken_away_end_sign_ins(client: FlaskClient, library: Library, new) -> None:
    sign_in(client)
    library.set_password(library.owner, "Wren", new)
    assert not signed_in(client) and sign_in(client)[0] == 403


def test_other_roles_count_from_the_next_request_on(client: FlaskClient, library: Library) -> None:
    sign_in(client)
    assert client.get("/people").status_code == 403
    library.set_roles(library.owner, "Wren", [Role.OWNER])
    assert client.get("/people").status_code == 200


def test_the_printed_address_lets_in_and_leaves_the_address_bar(client: FlaskClient) -> None:
    answer = client.get(key_of(client))
    assert (answer.status_code, answer.headers["Location"]) == (303, "/")
    assert client.get("/people").status_code == 200


def test_another_key_does_not(client: FlaskClient, library: Library) -> None:
    older = key_of(client_of(library))
    for path in (older, "/enter", "/enter?key=", key_of(client)[:-1]):
        assert client.get(path).status_code == 403
    assert not signed_in(client)


def test_the_printed_address_opens_nothing_from_another_machine(client: FlaskClient) -> None:
    client.get(key_of(client), environ_overrides={"REMOTE_ADDR": "192.0.2.9"})
    assert not signed_in(client)


@pytest.mark.parametrize("host", ["0.0.0.0", "192.0.2.7", "theatre.example"])
def test_bound_to_another_address_everybody_signs_in(library: Library, host: str) -> None:
    client = client_of(library, host)
    assert key_of(client) == "/"
    where = {"base_url": "http://localhost"}
    assert client.get("/enter?key=None", **where).status_code == 303
    assert client.get("/cases", **where).status_code == 303
    assert client.get("/cases", environ_overrides={"REMOTE_ADDR": "192.0.2.9"}, **where).status_code == 303


def test_bound_to_another_address_somebody_has_to_have_a_password(library: Library) -> None:
    library.set_password(library.owner, "Wren", None)
    with pytest.raises(NotAllowed, match="scrubmark people password owner"):
        make_server(library, Settings(host="0.0.0.0", port=0))


@pytest.mark.parametrize("header", [{"Sec-Fetch-Site": "cross-site"}, {"Origin": "http://evil.example"}])
@pytest.mark.parametrize("path", ["/sign-in", "/sign-out", "/people", "/people/password"])
def test_another_site_cannot_post_here(client: FlaskClient, header: dict[str, str], path: str) -> None:
    client.get(key_of(client))
    assert client.post(path, headers=header, data={"name": "Wren", "password": PASSWORD}).status_code == 403


def test_guesses_are_slowed_down_and_the_right_password_too(client: FlaskClient) -> None:
    assert [sign_in(client, password="wrong")[0] for _ in range(6)] == [403] * 5 + [429]
    answer = client.post("/sign-in", data={"name": "Wren", "password": PASSWORD})
    assert answer.status_code == 429 and 0 < int(answer.headers["Retry-After"]) <= WINDOW_S + 1
    assert not signed_in(client)


def test_guesses_are_counted_for_the_name_the_address_and_both() -> None:
    now = [0.0]
    guesses = Guesses(lambda: now[0])
    for number in range(25):
        guesses.allow("Wren", f"192.0.2.{number}")
    with pytest.raises(TooManyGuesses):
        guesses.allow("Wren", "198.51.100.1")
    for number in range(25):
        guesses.allow(f"name {number}", "203.0.113.5")
    with pytest.raises(TooManyGuesses):
        guesses.allow("one more", "203.0.113.5")
    now[0] = WINDOW_S + 1
    guesses.allow("Wren", "198.51.100.1")


def test_passwords_are_kept_as_rfc_9106_recommends(library: Library) -> None:
    """RFC 9106, section 4, second recommended option: Argon2id, 3 passes, 4 lanes, 2^16 KiB, salt of 128 bits."""
    with library._database.reading() as connection:
        kept = signing.stored_hash(connection, "Wren")
    assert kept is not None and kept.startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    assert len(kept.split("$")[4]) == 22  # 16 bytes in base64 without padding


def test_a_published_hash_is_understood() -> None:
    """A vector of the reference implementation's own tests (phc-winner-argon2, src/test.c), from memory."""
    published = "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"
    assert signing.fits(published, "password") and not signing.fits(published, "passwore")


@pytest.mark.parametrize("password", ["", "short", "x" * 201])
def test_a_password_has_a_length(library: Library, password: str) -> None:
    with pytest.raises(BadInput, match="letters"):
        library.set_password(library.owner, "Wren", password)


def test_an_owner_stays(library: Library) -> None:
    with pytest.raises(BadInput, match="needs an owner"):
        library.set_roles(library.owner, "owner", [Role.SURGEON])


def test_the_secret_of_the_cookies_is_closed_to_others_and_stays(library: Library) -> None:
    first = site_key(library.folder)
    assert site_key(library.folder) == first and len(first) == 32
    assert stat.S_IMODE((library.folder / "site.key").stat().st_mode) == 0o600
    (library.folder / "site.key").write_bytes(b"")
    with pytest.raises(LibraryUnusable, match="damaged"):
        site_key(library.folder)
