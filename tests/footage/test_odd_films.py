"""Broken and odd films: one clear line each, nothing hangs, nothing crashes."""

import time
from pathlib import Path

import pytest

from indexer.config import Settings
from indexer.errors import RecordingUnreadable
from indexer.footage.probing import probe
from tests.footage.odd_films import ODD_FILMS, Odd


@pytest.mark.parametrize("odd", ODD_FILMS, ids=lambda odd: odd.name)
def test_an_odd_film_is_refused_in_one_line_or_taken(odd: Odd, tmp_path: Path) -> None:
    path = tmp_path / odd.name
    odd.make(path)
    begun = time.monotonic()
    try:
        found = probe(path, Settings(library=tmp_path))
    except RecordingUnreadable as refusal:
        assert odd.refused is not None, refusal.reason
        assert odd.refused in refusal.reason
        assert "\n" not in refusal.reason and refusal.reason.endswith(".")
        assert "Error" not in refusal.reason and "code" not in refusal.reason.split()
    else:
        assert not odd.refused, found
        assert odd.remark is None or any(odd.remark in remark for remark in found.remarks)
        assert found.frames > 1 and found.duration_ms > 0
    assert time.monotonic() - begun < 20
