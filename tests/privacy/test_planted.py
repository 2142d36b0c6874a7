"""Some of the planted cases of the half for judging, searched as the judging script does; all of it says the script."""

from __future__ import annotations

import pytest

from indexer.vocabulary.loading import load_vocabulary
from tests.privacy.judge_words import judge
from tests.privacy.planting import cases


@pytest.mark.slow
def test_what_is_listed_or_has_a_pattern_is_found() -> None:
    judged = judge([case for case in cases() if case.judging][:12], load_vocabulary())
    clean = [planted for planted, _ in judged.missed if planted.listed and planted.said == "clean"]
    assert clean == []
    by_pattern = [p for p, _ in judged.missed if p.kind not in ("name", "place", "hospital")]
    every = [p for p in judged.found if p.kind not in ("name", "place", "hospital")]
    assert len(by_pattern) <= 0.02 * (len(every) + len(by_pattern))
