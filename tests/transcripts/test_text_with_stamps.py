"""Plain text with stamps, as pasted from a web player or typed."""

from __future__ import annotations

import pytest

from indexer.errors import TranscriptUnreadable
from indexer.models.timed import Transcript
from indexer.transcripts.reading import parse_transcript


def read(text: str) -> Transcript:
    return parse_transcript(text.encode(), "film.txt")


def cues(text: str) -> list[tuple[int, str]]:
    return [(cue.start_ms, cue.text) for cue in read(text).cues]


TWO = [(5_000, "hook in"), (70_000, "now the ring")]


@pytest.mark.parametrize(
    "text",
    [
        "[0:05] hook in\n[1:10] now the ring",
        "[00:00:05] hook in\n\n[00:01:10] now the ring\n",
        "(0:05) hook in\n(1:10) now the ring",
        "[0:05]\nhook in\n[1:10]\nnow the ring",
        "0:05\nhook in\n1:10\nnow the ring",
        "0:05 hook in\n1:10 now the ring",
        "00:00:05 hook in\n00:01:10 now the ring",
        "0:05 - hook in\n1:10 - now the ring",
        "- 0:05: hook in\n- 1:10: now the ring",
        "0:05\thook\n\tin\n1:10\tnow the ring",
        "[0:05] hook in [1:10] now the ring",
        "[0:05 - 0:30] hook in\n[1:10 --> 1:20] now the ring",
        "0:05 - 0:30 hook in\n1:10 - 1:20 now the ring",
        "Surgeon (0:05)\nhook in\nNurse (1:10)\nnow the ring",
        "Anna Vey 00:05\nhook in\nAnna Vey 01:10\nnow the ring",
        "[0:05] Surgeon: hook in\n[1:10] Surgeon: now the ring",
        "[ 0:05 ] hook in\r\n[1:10]: now the ring\r\n",
        "[0:05.000] hook in\n[1:10,000] now the ring",
    ],
)
def test_every_way_to_stamp(text: str) -> None:
    assert cues(text) == TWO
    assert read(text).left_out == ()


def test_a_range_ends_its_block() -> None:
    assert [cue.end_ms for cue in read("[0:05 - 0:30] hook in\n[1:10 --> 1:20] now the ring").cues] == [30_000, 80_000]


def test_the_last_block_lasts_as_long_as_its_words() -> None:
    (cue,) = read("[1:00] now the ring goes in").cues
    assert 61_000 < cue.end_ms < 64_000


def test_a_time_inside_the_words_of_text_with_bare_stamps_stays_a_word() -> None:
    assert cues("0:05 hook at (2:30) in\n1:10 and at 3:15 a ring") == [
        (5_000, "hook at (2:30) in"),
        (70_000, "and at 3:15 a ring"),
    ]


def test_one_mistyped_time_costs_no_word_and_no_other_time() -> None:
    transcript = read("[0:05] hook in\n[41:10] slowly\n[1:10] now the ring\n[2:00] done\n")
    assert [(cue.start_ms, cue.text) for cue in transcript.cues] == [
        (5_000, "hook in slowly"),
        (70_000, "now the ring"),
        (120_000, "done"),
    ]
    ((line, reason),) = [(one.line, one.reason) for one in transcript.left_out]
    assert line == 2 and "backwards" in reason


def test_a_time_that_is_none_is_told_and_its_words_kept() -> None:
    transcript = read("[0:05] hook in\n[0:75] slowly\n[1:10] now\n")
    assert [cue.text for cue in transcript.cues] == ["hook in slowly", "now"]
    assert transcript.left_out[0].line == 2


def test_words_before_the_first_time_are_told() -> None:
    transcript = read("A loose lens\n\n[0:05] hook in\n")
    assert [cue.text for cue in transcript.cues] == ["hook in"]
    assert transcript.left_out[0].line == 1


@pytest.mark.parametrize("text", ["just words\nand more", "[0:75] hook", "[x:yy] hook", "12 30 hook", "[5] hook"])
def test_text_without_a_time_is_refused(text: str) -> None:
    with pytest.raises(TranscriptUnreadable, match=r"film\.txt, line 1: expected a time such as \[1:05\]"):
        read(text)
