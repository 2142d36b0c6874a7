"""Partly bad files keep what is good and tell the rest; wholly bad ones give one line."""

from __future__ import annotations

import json

import pytest

from indexer.errors import TranscriptUnreadable
from indexer.models.timed import Transcript
from indexer.transcripts.reading import parse_transcript


def read(name: str, text: str) -> Transcript:
    return parse_transcript(text.encode(), name)


GOOD_SUBRIP = "1\n00:00:01,000 --> 00:00:02,000\nhook in\n\n"
GOOD_SBV = "0:00:01.000,0:00:02.000\nhook in\n\n"
PARTLY = [
    ("film.vtt", "WEBVTT\n\n00:01.000 --> 00:02.000\nhook in\n\n00:xx --> 00:04.000\nlost\n", [6]),
    ("film.vtt", "WEBVTT\n\n00:01.000 --> 00:02.000\nhook in\n\nno time above\n", [6]),
    ("film.vtt", "WEBVTT\n\nlost\n\n00:01.000 --> 00:02.000\nhook in\n", [3]),
    ("film.vtt", "WEBVTT\n\n00:01.000 --> 00:02.000\nhook in\n\n999:00:00.000 --> 999:00:01.000\nlost\n", [6]),
    ("film.srt", GOOD_SUBRIP + "2\n00:00:0x,000 --> 00:00:04,000\nlost\n", [6]),
    ("film.srt", "a title\n\n" + GOOD_SUBRIP, [1]),
    ("film.srt", GOOD_SUBRIP + "2\n00:00:61,000 --> 00:01:04,000\nlost\n", [6]),
    ("film.sbv", GOOD_SBV + "0:00:61.000,0:01:04.000\nlost\n", [4]),
    ("film.json", '[\n{"start": 1, "end": 2, "text": "hook in"},\n{"start": "x", "end": 4, "text": "lost"}]', [3]),
    ("film.json", '{"segments": [7,\n{"start": 1, "end": 2, "text": "hook in"},\n\n null]}', [1, 4]),
]


@pytest.mark.parametrize(("name", "text", "lines"), PARTLY)
def test_what_is_good_is_kept_and_the_rest_told(name: str, text: str, lines: list[int]) -> None:
    transcript = read(name, text)
    assert [cue.text for cue in transcript.cues] == ["hook in"]
    assert [one.line for one in transcript.left_out] == lines
    assert all(one.reason for one in transcript.left_out)


@pytest.mark.parametrize(
    ("name", "text", "line", "expected"),
    [
        ("film.vtt", "WEBVTT\n\n0:1 -> 2\nhook\n", 3, "text without a time line"),
        ("film.vtt", "WEBVTT\n\n0:1 --> 2\nhook\n", 3, "expected a time line such as 00:01:02.500 --> 00:01:05.000"),
        ("film.vtt", "hook\n", 1, "WEBVTT"),
        ("film.srt", "1\nhook\n", 1, "expected a time line such as 00:01:02,500 --> 00:01:05,000"),
        ("film.srt", "1\nx --> y\nhook\n", 2, "expected a time line such as"),
        ("film.sbv", "hook\n", 1, "expected a time line such as 0:01:02.500,0:01:05.000"),
        ("film.json", "{", 1, "no JSON"),
        ("film.json", '[\n{"start": 1,}]', 2, "no JSON"),
        ("film.json", "7", 1, "expected a list of segments"),
        ("film.json", "[]", 1, "expected a list of segments"),
        ("film.json", '{"words": []}', 1, "expected a list of segments"),
        ("film.json", '[\n\n{"text": "hook"}]', 3, 'expected a segment with "start"'),
        ("film.json", '[{"start": NaN, "end": 2, "text": "hook"}]', 1, "expected a segment"),
        ("film.json", '[{"start": 1e400, "end": 2, "text": "hook"}]', 1, "expected a segment"),
        ("film.json", '[{"start": ' + "9" * 5_000 + ', "end": 2, "text": "hook"}]', None, "no JSON"),
        ("film.json", "[" * 100_000, None, "no JSON"),
        ("film.json", '[{"start": 1, "end": 2, "text": " "}]', 1, "no words"),
    ],
)
def test_one_clear_line_names_file_line_and_what_was_expected(
    name: str, text: str, line: int | None, expected: str
) -> None:
    with pytest.raises(TranscriptUnreadable) as caught:
        read(name, text)
    message = str(caught.value)
    assert message.startswith(f"{name}, line {line}: " if line else f"{name}: ")
    assert caught.value.line == line
    assert expected in message and "\n" not in message


@pytest.mark.parametrize(
    "text",
    [
        "\n\n1\n00:00:01,000 --> 00:00:02,000\nhook in\n",  # empty lines first
        "00:00:01,000 --> 00:00:02,000\nhook in\n",  # no number
        "1\n00:01,000 --> 00:02,000\nhook in\n",  # no hours
        "1\n00:00:01.000 --> 00:00:02.000\nhook in\n",  # points
        "1\n0:0:1,0 -> 0:0:2,0\nhook in\n",  # short fields, short arrow
        "1\n00:00:01,000 --> 00:00:02,000 X1:100 X2:200\nhook in\n",  # places on screen
        "1\n00:00:01,000 --> 00:00:02,000\nhook\n\nin\n",  # an empty line inside
    ],
)
def test_subrip_as_players_take_it(text: str) -> None:
    transcript = read("film.srt", text)
    assert [(cue.start_ms, cue.end_ms, cue.text) for cue in transcript.cues] == [(1_000, 2_000, "hook in")]
    assert transcript.left_out == ()


def test_a_time_before_the_film_is_its_start() -> None:
    (cue,) = read("film.srt", "1\n-00:00:01,000 --> 00:00:02,000\nhook\n").cues
    assert (cue.start_ms, cue.end_ms) == (0, 2_000)


def test_subrip_without_empty_lines_between_cues() -> None:
    text = "1\n00:00:01,000 --> 00:00:02,000\nhook\n2\n00:00:03,000 --> 00:00:04,000\nring\n"
    assert [cue.text for cue in read("film.srt", text).cues] == ["hook", "ring"]


def test_subrip_under_the_name_of_webvtt_is_read() -> None:
    assert read("film.vtt", GOOD_SUBRIP).format == "subrip"


def test_sbv_line_marks_are_no_words() -> None:
    assert read("film.sbv", "0:00:01.000,0:00:02.000\nhook[br]in\n").cues[0].text == "hook in"


def test_a_bad_time_is_not_taken_for_a_good_one_that_it_would_carry_over_to() -> None:
    subrip = "1\n00:00:61,000 --> 00:01:04,000\nlost\n\n2\n00:01:01,000 --> 00:01:04,000\nhook in\n"
    assert [cue.text for cue in read("film.srt", subrip).cues] == ["hook in"]
    sbv = GOOD_SBV + "0:00:61.000,0:01:04.000\nlost\n\n0:01:01.000,0:01:04.000\nring\n"
    assert [cue.text for cue in read("film.sbv", sbv).cues] == ["hook in", "ring"]


def test_sbv_with_a_head_is_read() -> None:
    assert read("film.sbv", "0:00:00.000,0:00:01.000\n\n" + GOOD_SBV).cues[0].text == "hook in"


SEGMENT = {"start": 1, "end": 3, "text": " hook goes in."}


def recognised(**extra: object) -> Transcript:
    return read("film.json", json.dumps([{**SEGMENT, **extra}]))


@pytest.mark.parametrize(
    ("words", "starts"),
    [
        ([("hook", 1, 1.5), ("goes", 1.6, 2), ("in", 2.5, 3)], [1_000, 1_600, 2_500]),
        ([(" hook", 1, 1.5), (" goes", 1.6, 2), (" in.", 2.5, 3)], [1_000, 1_600, 2_500]),
        (
            [(" ho", 1, 1.2), ("ok", 1.2, 1.5), (" goes", 1.6, 2), (" in", 2.5, 2.9), (".", 2.9, 3)],
            [1_000, 1_600, 2_500],
        ),
        ([("hook", 1, 1.5), ("in", 2.5, 3)], [1_000, None, 2_500]),
        ([("hook", 1, 1.5), ("goes", None, None), ("in", 2.5, 3)], [1_000, None, 2_500]),
        ([("hook", 1, 1.5), ("goes", 99, 100), ("in", 2.5, 3)], [1_000, None, 2_500]),
        ([], [1_000, None, None]),
    ],
)
def test_words_of_a_recogniser(words: list[tuple[str, float | None, float | None]], starts: list[int | None]) -> None:
    given = [{"word": text, "start": start, "end": end} for text, start, end in words]
    transcript = recognised(words=given)
    assert [word.text for word in transcript.words] == ["hook", "goes", "in."]
    for word, start_ms in zip(transcript.words, starts, strict=True):
        assert start_ms is None or word.start_ms == start_ms
    times = [time for word in transcript.words for time in (word.start_ms, word.end_ms)]
    assert times == sorted(times)


def test_words_that_tell_another_thing_than_the_text_are_believed() -> None:
    given = [{"text": text, "start": 1 + n / 2, "end": 1.4 + n / 2} for n, text in enumerate(["ring", "is", "out"])]
    assert [word.text for word in recognised(words=given).words] == ["ring", "is", "out"]


@pytest.mark.parametrize("extra", [{"start": "1.0", "end": "3.0"}, {"start": "0:01", "end": "00:00:03.000"}])
def test_times_written_as_text_are_read(extra: dict[str, object]) -> None:
    (cue,) = recognised(**extra).cues
    assert (cue.start_ms, cue.end_ms) == (1_000, 3_000)


def test_the_language_of_a_recogniser() -> None:
    text = json.dumps({"language": "en", "segments": [SEGMENT]})
    assert read("film.json", text).language == "en"
    assert read("film.json", text.replace('"en"', '{"no": "tag"}')).language is None
