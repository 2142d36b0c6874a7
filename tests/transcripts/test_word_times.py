"""When words were spoken: where the file does not say, spread by spoken length, with the silence where it belongs."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from statistics import median

import pytest
from written_transcripts import Speech, Spoken, as_blocks, as_cues, as_recognised, as_rolling, as_subrip, runs, steady

from indexer.models.timed import Word
from indexer.transcripts.reading import parse_transcript

NARRATIONS = sorted((Path(__file__).parent.parent / "narrations").glob("ours-???.json"))


def words(text: str, name: str = "film.txt") -> tuple[Word, ...]:
    return parse_transcript(text.encode(), name).words


def one_cue(start: str, end: str, text: str) -> tuple[Word, ...]:
    return words(f"WEBVTT\n\n{start} --> {end}\n{text}\n", "film.vtt")


def test_words_of_a_cue_take_room_by_their_length() -> None:
    short, long = one_cue("00:10.000", "00:12.000", "in phacoemulsification")
    assert short.start_ms == 10_000 and long.end_ms == 12_000
    assert short.end_ms == long.start_ms
    assert 4 < (long.end_ms - long.start_ms) / (short.end_ms - short.start_ms) < 9


def test_figures_are_said_as_words() -> None:
    figure, word = one_cue("00:10.000", "00:12.000", "27 at")
    assert figure.end_ms - figure.start_ms > 1.3 * (word.end_ms - word.start_ms)


def test_a_cue_that_stays_on_does_not_stretch_its_words() -> None:
    spoken = one_cue("00:10.000", "01:10.000", "hook goes in")
    assert spoken[0].start_ms == 10_000
    assert spoken[-1].end_ms < 14_000


def test_words_of_a_short_block_do_not_fill_a_long_silence() -> None:
    spoken = words("[0:00] hook goes in\n[5:00] out")
    assert spoken[2].end_ms < 4_000 and spoken[3].start_ms >= 300_000


def test_too_little_time_presses_the_words_together() -> None:
    spoken = words("[0:00] " + "hook " * 100 + "\n[0:05] out")
    assert spoken[99].end_ms <= 5_500 and spoken[100].start_ms == 5_500


def test_time_left_over_lies_behind_sentences() -> None:
    dense = "".join(f"[0:{second:02}] the hook goes in through the side port\n" for second in range(0, 20, 2))
    spoken = words(f"{dense}[0:20] the hook is in. now the ring goes round\n[0:30] out")
    (place,) = (place for place, word in enumerate(spoken) if word.text == "in.")
    last, after = spoken[place], spoken[place + 1]
    assert after.start_ms - last.end_ms > 2_000


@pytest.mark.parametrize("end", ["00:10.000", "00:09.000", "00:00.000"])
def test_a_cue_without_length_lasts_as_long_as_its_words(end: str) -> None:
    spoken = one_cue("00:10.000", end, "hook goes in")
    assert spoken[0].start_ms == 10_000
    assert 10_300 < spoken[-1].end_ms < 12_500


def test_cues_at_one_time_share_it() -> None:
    text = "WEBVTT\n\n" + "00:10.000 --> 00:14.000\nhook goes in\n\n" * 2
    spoken = words(text, "film.vtt")
    assert spoken[0].start_ms == 10_000 and spoken[-1].end_ms <= 14_000
    assert [word.cue for word in spoken] == [0, 0, 0, 1, 1, 1]
    assert all(word.end_ms > word.start_ms for word in spoken)


def test_an_overlap_belongs_to_the_later_cue() -> None:
    text = "WEBVTT\n\n00:10.000 --> 00:16.000\nhook goes in\n\n00:13.000 --> 00:17.000\nring goes in\n"
    spoken = words(text, "film.vtt")
    assert spoken[2].end_ms <= 13_000 == spoken[3].start_ms


def test_cues_out_of_order_are_put_in_order() -> None:
    text = "WEBVTT\n\n00:20.000 --> 00:22.000\nlater\n\n00:10.000 --> 00:12.000\nbefore\n"
    assert [word.text for word in words(text, "film.vtt")] == ["before", "later"]


def test_a_title_over_the_whole_film_leaves_room_for_the_rest() -> None:
    text = "WEBVTT\n\n00:00.000 --> 50:00.000\na loose lens\n\n00:05.000 --> 00:07.000\nhook in\n"
    spoken = words(text, "film.vtt")
    assert spoken[2].end_ms <= 5_000 == spoken[3].start_ms


def test_known_times_stay_and_say_so() -> None:
    speech = steady(["the hook goes in."])
    assert {word.timing for word in words(as_recognised(speech), "film.json")} == {"given"}
    assert [word.timing for word in words(as_rolling(speech), "film.vtt")] == ["spread", *["inline"] * 3]
    assert {word.timing for word in words(as_cues(speech), "film.vtt")} == {"spread"}


def narrated(path: Path) -> Iterator[Spoken]:
    """The clean words of a marked narration, each line at the speaker's rate, its words by their letters."""
    case, now_ms = json.loads(path.read_text("utf-8")), 0.0
    for line in case["lines"]:
        now_ms += 1_000 * line.get("gap", 0.0)
        said = line["clean"].split()
        letter_ms = 1_000 * len(said) / case["rate"] / sum(len(word) + 1 for word in said)
        for word in said:
            yield Spoken(word, round(now_ms), round(now_ms + letter_ms * (len(word) + 1)))
            now_ms += letter_ms * (len(word) + 1)


def errors_ms(speech: Speech, spoken: tuple[Word, ...]) -> list[int]:
    return [abs(word.start_ms - true.start_ms) for word, true in zip(spoken, speech, strict=True)]


def evenly(speech: Speech) -> list[int]:
    """The plain way: every word the same share of its block, a block as long as to the next stamp."""
    blocks = list(runs(speech, 40_000))
    edges = [block[0].start_ms // 1000 * 1000 for block in blocks] + [speech[-1].end_ms]
    errors = []
    for block, begin_ms, end_ms in zip(blocks, edges, edges[1:], strict=False):
        share = (end_ms - begin_ms) / len(block)
        errors += [abs(round(begin_ms + share * place) - word.start_ms) for place, word in enumerate(block)]
    return errors


def test_words_of_long_blocks_lie_near_their_true_time() -> None:
    assert len(NARRATIONS) >= 10
    blocks, plain, short = [], [], []
    for path in NARRATIONS:
        speech = list(narrated(path))
        blocks += errors_ms(speech, words(as_blocks(speech)))
        plain += evenly(speech)
        short += errors_ms(speech, words(as_subrip(speech), "film.srt"))
    assert median(blocks) < 1_000
    assert median(blocks) < 0.9 * median(plain)
    assert median(short) < 100
