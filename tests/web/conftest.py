"""A library with invented cases, and the site over it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import numpy
import pytest
from flask import Flask
from flask.testing import FlaskClient

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.consent import Viewer
from indexer.vocabulary.vocabulary import Vocabulary
from tests.films import write_film
from tests.web.invented import HOOKS, PLAIN, RATE, put_case, small_vocabulary
from tests.web.reading import ReadingClient
from web import create_app

STILL = bytes.fromhex("ffd8ffe000104a46494600010100000100010000ffd9")
"""The shortest thing that calls itself a JPEG."""


def owner_of(library: Library) -> Viewer:
    """For pages that are not about signing in."""
    return library.owner


class Filled(NamedTuple):
    """A library and the (case, recording) ids of what is in it."""

    library: Library
    film: Path
    hooks: tuple[str, str]
    plain: tuple[str, str]
    away: tuple[str, str]
    unmarked: tuple[str, str]


@pytest.fixture(scope="session")
def vocabulary() -> Vocabulary:
    return small_vocabulary()


@pytest.fixture(scope="session")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Twelve seconds of numbered frames."""
    return write_film(tmp_path_factory.mktemp("films") / "twelve.mp4", 300, RATE, size=(320, 180), gop=12)


@pytest.fixture(scope="session")
def filled(tmp_path_factory: pytest.TempPathFactory, vocabulary: Vocabulary, film: Path) -> Iterator[Filled]:
    """Four cases: hooks (teaching), plain (private), one whose film is away, one without a transcript."""
    with Library.open(tmp_path_factory.mktemp("library") / "lib", vocabulary=vocabulary) as library:
        hooks = put_case(
            library,
            film,
            "Hooks for a loose bag",
            HOOKS,
            release="teaching",
            findings=("weak-zonules",),
            accepted=("capsulorhexis",),
            stills_ms=(3000, 5480),
        )
        put_media(library, hooks[1], (3000, 5480))
        plain = put_case(library, film, "A quiet eye", PLAIN)
        away = put_case(library, Path("/nowhere/away.mp4"), "On a drive that is away", PLAIN)
        unmarked = put_case(library, film, "Not narrated yet", ())
        yield Filled(library, film, hooks, plain, away, unmarked)


def put_media(library: Library, recording_id: str, stills_ms: tuple[int, ...]) -> None:
    """What an intake leaves beside the catalogue: the times of the frames, and stills."""
    folder = library.media(recording_id)
    (folder / "stills").mkdir(parents=True, exist_ok=True)
    numpy.save(folder / "frames.npy", numpy.arange(300) / float(RATE))
    for ms in stills_ms:
        (folder / "stills" / f"{ms}.jpg").write_bytes(STILL)


@pytest.fixture(scope="session")
def site(filled: Filled) -> Flask:
    app: Flask = create_app(filled.library, Settings(library=filled.library.folder), viewer_of=owner_of)
    app.test_client_class = ReadingClient
    return app


@pytest.fixture
def client(site: Flask) -> FlaskClient:
    return site.test_client()
