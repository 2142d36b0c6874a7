"""Whatever the file: timed words in order, or one clear line. Nothing else, and soon.

5,000 transcripts in all forms, most of them good ones that were damaged, the rest random text and random bytes.
"""

from __future__ import annotations

import time

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from written_transcripts import FORMS, steady

from indexer.errors import TranscriptUnreadable
from indexer.models.timed import Transcript
from indexer.transcripts.reading import parse_transcript

SAMPLE = steady(
    ["I go in with the hook.", "Good.", "Good.", "Now, 5.5 mm, the rhexis & the flap?", "It runs out, so I stop here."]
    * 3,
    pause_ms=2_500,
)
WRITTEN = {name: form(SAMPLE) for name, form in FORMS.items()}
# Pieces that mean something to one form or another.
# fmt: off
SCRAPS = (
    "-->", " --> ", "->", "\n", "\n\n", "\r", "\r\n", "\x00", "\ufeff", "[", "]", "{", "}", '"', ",", ":", ".",
    "<", ">", "<c>", "</c>", "<v ", "&", "&#", "&#x110000;", "&amp;", "WEBVTT", "NOTE", "STYLE\n", "REGION\n",
    "0:00", "[0:40]", "(1:02:03)", "[99:59]", "00:00:00.000", "00:00:01.000 --> 00:00:00.000\n",
    "99999999999:00:00,000", "-1", "-00:00:05,000", "NaN", "1e999", "null", "[]", '"words": [{}]', '"start": -5',
    '"start": "x"', "9" * 400, " " * 300, ">>", "SURGEON:", "[Music]", "é", "漢字", "\ud7ff", "\u2028", "٣:٣٠",
    "１:２３",
)
# fmt: on
TEXT = st.lists(st.sampled_from(SCRAPS) | st.text(max_size=6), max_size=30).map("".join)
ENCODINGS = st.sampled_from(["utf-8"] * 6 + ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32"])
CHECKED = settings(deadline=2_000, suppress_health_check=list(HealthCheck))


@st.composite
def damaged(draw: st.DrawFn, text: str) -> bytes:
    """A good transcript after up to eight wounds: stretches cut out, doubled, moved, overwritten, the end torn off."""
    for _ in range(draw(st.integers(0, 8))):
        begin = draw(st.integers(0, len(text)))
        end = min(len(text), begin + draw(st.sampled_from((0, 1, 2, 9, 60, 400))))
        wound = draw(st.sampled_from(("cut", "double", "move", "put", "put", "put", "tear")))
        stretch = text[begin:end]
        if wound == "tear":
            text = text[:begin] if begin > 40 else text
        elif wound == "double":
            text = text[:end] + stretch + text[end:]
        else:
            text = text[:begin] + text[end:]
        if wound in ("move", "put"):
            at = draw(st.integers(0, len(text))) if wound == "move" else begin
            text = text[:at] + (stretch if wound == "move" else draw(st.sampled_from(SCRAPS))) + text[at:]
    data = text.encode(draw(ENCODINGS))
    if draw(st.integers(0, 9)) == 0 and data:
        at = draw(st.integers(0, len(data) - 1))
        data = data[:at] + draw(st.binary(max_size=4)) + data[at + 1 :]
    return data


def check(data: bytes, name: str) -> None:
    try:
        transcript = parse_transcript(data, name)
    except TranscriptUnreadable as error:
        assert "\n" not in str(error) and str(error).startswith(name)
        assert error.line is None or error.line >= 1
        return
    check_times(transcript)


def check_times(transcript: Transcript) -> None:
    assert transcript.words
    starts = [cue.start_ms for cue in transcript.cues]
    assert starts == sorted(starts) and all(cue.start_ms <= cue.end_ms for cue in transcript.cues)
    assert " ".join(word.text for word in transcript.words) == " ".join(cue.text for cue in transcript.cues)
    latest_ms = max(cue.end_ms for cue in transcript.cues) + 1_000
    at_ms = cue = 0
    for word in transcript.words:
        assert cue <= word.cue and at_ms <= word.start_ms <= word.end_ms <= latest_ms
        assert word.start_ms >= transcript.cues[word.cue].start_ms - 1_000
        at_ms, cue = word.end_ms, word.cue
    assert all(one.line >= 1 and one.reason for one in transcript.left_out)
    transcript.model_dump_json()


@pytest.mark.slow
@pytest.mark.parametrize("name", FORMS)
@given(data=st.data())
@settings(CHECKED, max_examples=650)
def test_damaged_transcripts(name: str, data: st.DataObject) -> None:
    check(data.draw(damaged(WRITTEN[name])), name)


@pytest.mark.slow
@given(text=TEXT, encoding=ENCODINGS, name=st.sampled_from([*FORMS, "film", "film.mp4"]))
@settings(CHECKED, max_examples=800)
def test_random_text(text: str, encoding: str, name: str) -> None:
    check(text.encode(encoding), name)


@pytest.mark.slow
@given(
    data=st.binary(max_size=300),
    head=st.sampled_from([b"", b"WEBVTT\n\n", b"[0:01] ", b"[{"]),
    name=st.sampled_from([*FORMS]),
)
@settings(CHECKED, max_examples=300)
def test_random_bytes(data: bytes, head: bytes, name: str) -> None:
    check(head + data, name)


LONG = 200_000


@pytest.mark.parametrize(
    "text",
    [
        "<" * LONG,
        "<a " * (LONG // 3),
        "{\\" * (LONG // 2),
        "[" * LONG,
        "(" * LONG + "0:01",
        "a b 0:01" + " " * LONG + "x",
        "[0:01" + " " * LONG + "x",
        "0:01 " * (LONG // 5),
        "[0:01] " * (LONG // 7),
        "&#" * (LONG // 2),
        "." * LONG + "x",
        "0" * LONG + ":",
        "00:00:01,000 --> 00:00:02,000\nx\n" * (LONG // 32),
        "00:00:01,000 --> 00:00:02,000" + " " * LONG + "\nx\n",
        "-->\n" * (LONG // 4),
        "\n" * LONG + "x",
        "WEBVTT\n\n" + "00:01.000 --> 00:02.000\n" * (LONG // 24),
        "WEBVTT\n\n" + "00:01.0 --> 00:02.0\nx\n\n" * (LONG // 23),
        "WEBVTT\n\n00:01.000 --> 00:02.000\n" + "x<00:00:01.500>" * (LONG // 15),
        "WEBVTT\n\n" + "00:01.000 --> 00:02.000\nx\ny\n\n" * (LONG // 29),
        '[{"start": 1, "end": 2, "text": "' + "x " * (LONG // 2) + '"}]',
        "[" + ",".join(['{"start": 1}'] * (LONG // 12)) + ',{"start": 1, "text": "x"}]',
    ],
    ids=lambda text: repr(text[:12]),
)
@pytest.mark.parametrize("name", ["film.vtt", "film.srt", "film.txt", "film.json"])
def test_no_text_is_slow_for_its_length(text: str, name: str) -> None:
    begin = time.process_time()
    check(text.encode(), name)
    assert time.process_time() - begin < 5
