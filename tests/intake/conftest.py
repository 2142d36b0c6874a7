"""Small films with their narrations, and real libraries in temporary folders with the vocabulary that ships."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.models import CaseDraft
from indexer.vocabulary.loading import load_vocabulary
from indexer.vocabulary.vocabulary import Vocabulary
from tests.films import write_film

SAID = """WEBVTT

00:00.500 --> 00:03.000
Now the rhexis with the forceps, round and round.

00:03.500 --> 00:06.500
Hydrodissection, and the nucleus turns in the bag.

00:07.000 --> 00:09.500
Now the phaco tip, and I chop the nucleus into quarters.
"""


@pytest.fixture(scope="session")
def vocabulary() -> Vocabulary:
    return load_vocabulary()


@pytest.fixture
def library(tmp_path: Path, vocabulary: Vocabulary) -> Iterator[Library]:
    with Library.open(tmp_path / "library", vocabulary=vocabulary) as opened:
        yield opened


@pytest.fixture
def settings(library: Library) -> Settings:
    return Settings(library=library.folder)


@pytest.fixture(scope="session")
def ten_seconds(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A film of ten seconds that browsers play as it is."""
    return write_film(tmp_path_factory.mktemp("films") / "ten.mp4", 250, options={"movflags": "faststart"}).read_bytes()


@pytest.fixture
def card(tmp_path: Path) -> Path:
    """An empty folder for recordings."""
    folder = tmp_path / "card"
    folder.mkdir()
    return folder


Draft = Callable[..., CaseDraft]


@pytest.fixture
def draft(card: Path, ten_seconds: bytes) -> Draft:
    """Make a recording on the card, where it is not there yet, and the draft for it."""

    def drafting(name: str = "one.mp4", said: str | None = SAID, **more: object) -> CaseDraft:
        film = card / name
        if not film.exists():
            # Bytes behind the last box are passed over by readers, and make the content another.
            film.write_bytes(ten_seconds + b"\0\0\0\x14free" + name.encode()[:12].ljust(12))
        transcript = film.with_suffix(".vtt")
        if said is not None:
            transcript.write_text(said)
        given = {"title": name, "sources": (film,), "transcript": transcript if said is not None else None, **more}
        return CaseDraft.model_validate(given)

    return drafting
