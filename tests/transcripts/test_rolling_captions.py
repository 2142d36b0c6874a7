"""Captions that show again what they showed before."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from written_transcripts import stamp

from indexer.transcripts.reading import parse_transcript


def words(cues: Sequence[str], length_ms: int = 2_000) -> list[str]:
    text = "WEBVTT\n\n" + "\n".join(
        f"{stamp(place * 2_000)} --> {stamp(place * 2_000 + length_ms)}\n{cue}\n" for place, cue in enumerate(cues)
    )
    return [word.text for word in parse_transcript(text.encode(), "film.vtt").words]


@pytest.mark.parametrize("length_ms", [2_000, 4_000])
def test_lines_that_move_up(length_ms: int) -> None:
    cues = ["I go in", "I go in\nwith the hook", "with the hook\nand turn", "and turn\nand turn", "and turn\nout"]
    assert " ".join(words(cues, length_ms)) == "I go in with the hook and turn and turn out"


def test_three_lines_that_move_up() -> None:
    cues = ["one two", "one two\nthree", "one two\nthree\nfour", "three\nfour\nfive", "four\nfive\nsix"]
    assert " ".join(words(cues)) == "one two three four five six"


def test_a_line_that_grows() -> None:
    cues = ["I", "I go", "I go in", "I go in slowly", "now", "now the ring"]
    assert " ".join(words(cues)) == "I go in slowly now the ring"


@pytest.mark.parametrize(
    "cues",
    [
        ["good", "good", "good", "now the ring", "good"],
        ["yes\nyes", "yes\nno", "turn\nit", "and\nout"],
        ["turn it", "turn it and turn it", "on", "off"],
        ["okay", "okay", "hold", "hold\nstill"],
    ],
)
def test_words_that_are_said_again_stay(cues: Sequence[str]) -> None:
    assert words(cues) == " ".join(cues).split()


def test_times_of_words_in_rolling_captions() -> None:
    blank = " "
    text = f"""WEBVTT

00:00:01.000 --> 00:00:03.000 align:start position:0%
{blank}
now<00:00:01.400><c> the</c><00:00:02.000><c> ring</c>

00:00:03.000 --> 00:00:03.010 align:start position:0%
now the ring
{blank}

00:00:09.000 --> 00:00:11.000 align:start position:0%
now the ring
goes<00:00:10.000><c> in</c>
"""
    spoken = parse_transcript(text.encode(), "film.vtt").words
    assert [(word.text, word.start_ms) for word in spoken] == [
        ("now", 1_000),
        ("the", 1_400),
        ("ring", 2_000),
        ("goes", 9_000),
        ("in", 10_000),
    ]
    assert all(word.end_ms - word.start_ms <= 1_000 for word in spoken)
