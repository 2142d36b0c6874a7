"""An hour of narration is read at once, and nothing heavy is loaded before it is needed."""

from __future__ import annotations

import gc
import subprocess
import sys
import time

import pytest
from written_transcripts import FORMS, Speech, Spoken

from indexer.transcripts.reading import parse_transcript

HOUR_MS = 3_600_000


def an_hour() -> Speech:
    """About two words a second, five letters long, some with the marks of sentences."""
    terms = ["I", "take", "the", "hook", "through", "the", "side", "port,", "and", "now", "the", "capsule", "holds."]
    words, now_ms = [], 0
    while now_ms < HOUR_MS:
        length_ms = 80 * len(terms[len(words) % len(terms)])
        words.append(Spoken(terms[len(words) % len(terms)], now_ms, now_ms + length_ms))
        now_ms += length_ms + (1_500 if words[-1].text.endswith(".") else 60)
    return words


@pytest.mark.parametrize("name", FORMS)
def test_an_hour_is_read_in_a_fifth_of_a_second(name: str) -> None:
    data = FORMS[name](an_hour()).encode()
    assert any(_seconds(data, name) < 0.2 for _ in range(10))  # a busy machine may need a second try


def _seconds(data: bytes, name: str) -> float:
    """Processor time of one reading, without the sweeping of whatever else lives in the process of the tests."""
    gc.collect()
    gc.disable()
    begin = time.process_time()
    transcript = parse_transcript(data, name)
    spent = time.process_time() - begin
    gc.enable()
    assert len(transcript.words) > 7_000
    return spent


def test_webvtt_py_is_loaded_only_by_the_forms_that_need_it() -> None:
    program = "import sys; import indexer.transcripts.reading; sys.exit('webvtt' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0
