"""The outline of the sound is there after an intake, and made again where it went away."""

from __future__ import annotations

from pathlib import Path

import numpy
import pytest

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.intake import outlining, river
from tests.films import write_film
from tests.intake.conftest import Draft


@pytest.mark.parametrize("sound", ["aac", None])
def test_a_recording_has_an_outline_where_it_has_sound(
    sound: str | None, library: Library, settings: Settings, draft: Draft, card: Path
) -> None:
    film = write_film(card / "a.mkv", 100, sound=sound)
    done = river.add_recording(library, draft(sources=(film,), said=None), settings)
    outline = library.media(done.recording_id or "") / outlining.OUTLINE
    assert done.how == "added" and outline.is_file() is (sound is not None)
    if sound:
        assert numpy.load(outline, allow_pickle=False).shape == (2, 80)
