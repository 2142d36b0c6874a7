"""The forms that transcripts come in: no word lost, none twice, times as the file gives them."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from written_transcripts import FORMS, Speech, runs, said, speech, steady

from indexer.transcripts.reading import SUFFIXES, parse_transcript

READ_AS = {"vtt": "webvtt", "txt": "text", "srt": "subrip", "sbv": "sbv", "json": "json"}


@pytest.mark.parametrize("name", FORMS)
@given(words=speech())
@settings(max_examples=60, deadline=None)
def test_no_word_is_lost_or_doubled(name: str, words: Speech) -> None:
    transcript = parse_transcript(FORMS[name](words).encode(), name)
    assert [word.text for word in transcript.words] == [word.text for word in words]
    assert transcript.left_out == ()
    assert transcript.format == READ_AS[name.rpartition(".")[2]]


@pytest.mark.parametrize("name", ["rolling.vtt", "recognised.json"])
@given(words=speech())
@settings(max_examples=60, deadline=None)
def test_times_of_words_that_the_file_gives_are_kept(name: str, words: Speech) -> None:
    transcript = parse_transcript(FORMS[name](words).encode(), name)
    assert [word.start_ms for word in transcript.words] == [word.start_ms for word in words]
    if name == "recognised.json":
        assert [word.end_ms for word in transcript.words] == [word.end_ms for word in words]
        assert {word.timing for word in transcript.words} == {"given"}


@pytest.mark.parametrize(("name", "longest_ms"), [("cues.vtt", 4_000), ("short.srt", 5_000), ("short.sbv", 5_000)])
@given(words=speech())
@settings(max_examples=60, deadline=None)
def test_cues_come_back_as_they_were_written(name: str, longest_ms: int, words: Speech) -> None:
    cues = parse_transcript(FORMS[name](words).encode(), name).cues
    written = [(run[0].start_ms, run[-1].end_ms, said(run)) for run in runs(words, longest_ms)]
    assert [(cue.start_ms, cue.end_ms, cue.text) for cue in cues] == written


@given(words=speech())
@settings(max_examples=60, deadline=None)
def test_a_block_lasts_to_the_next_stamp(words: Speech) -> None:
    cues = parse_transcript(FORMS["blocks.txt"](words).encode(), "blocks.txt").cues
    starts = [run[0].start_ms // 1000 * 1000 for run in runs(words, 40_000)]
    assert [cue.start_ms for cue in cues] == starts
    assert [cue.end_ms for cue in cues[:-1]] == starts[1:]


@pytest.mark.parametrize("name", FORMS)
@given(words=speech())
@settings(max_examples=30, deadline=None)
def test_every_word_lies_in_its_cue_and_behind_the_one_before(name: str, words: Speech) -> None:
    transcript = parse_transcript(FORMS[name](words).encode(), name)
    rounded_ms = 1_000 if name == "blocks.txt" else 0  # stamps in whole seconds: the next block may begin later
    at_ms = 0
    for word in transcript.words:
        cue = transcript.cues[word.cue]
        assert at_ms <= word.start_ms <= word.end_ms
        assert cue.start_ms <= word.start_ms and word.end_ms <= cue.end_ms + rounded_ms
        at_ms = word.end_ms


@pytest.mark.parametrize("name", FORMS)
@pytest.mark.parametrize("suffix", ["", ".txt", ".dat"])
def test_the_form_is_told_from_the_text_where_the_name_is_wrong(name: str, suffix: str) -> None:
    words = steady(["I take the hook.", "The capsule holds, so I go on."])
    assert parse_transcript(FORMS[name](words).encode(), f"x{suffix}").format == READ_AS[name.rpartition(".")[2]]


def test_the_suffixes_are_those_of_the_readers() -> None:
    assert sorted(SUFFIXES) == sorted("." + suffix for suffix in READ_AS)
