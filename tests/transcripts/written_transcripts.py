"""Spoken words written down in all the forms that people have, by other code than that which reads them."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from hypothesis import strategies as st


class Spoken(NamedTuple):
    """A word and when it was spoken, in milliseconds."""

    text: str
    start_ms: int
    end_ms: int


Speech = Sequence[Spoken]


def stamp(time_ms: int, mark: str = ".") -> str:
    seconds, milli = divmod(time_ms, 1000)
    return f"{seconds // 3600:02}:{seconds // 60 % 60:02}:{seconds % 60:02}{mark}{milli:03}"


def runs(speech: Speech, longest_ms: int) -> Iterator[Speech]:
    """Cut speech before each word that starts `longest_ms` or more behind the first of its run."""
    begin = 0
    for place, word in enumerate(speech):
        if word.start_ms - speech[begin].start_ms >= longest_ms:
            yield speech[begin:place]
            begin = place
    yield speech[begin:]


def said(run: Speech) -> str:
    return " ".join(word.text for word in run)


def as_cues(speech: Speech) -> str:
    cues = [f"{stamp(run[0].start_ms)} --> {stamp(run[-1].end_ms)}\n{said(run)}\n" for run in runs(speech, 4_000)]
    return "\n".join(["WEBVTT\n", *cues])


def as_blocks(speech: Speech) -> str:
    def block(run: Speech) -> str:
        minutes, seconds = divmod(run[0].start_ms // 1000, 60)
        return f"[{minutes}:{seconds:02}] {said(run)}\n"

    return "\n".join(map(block, runs(speech, 40_000)))


def as_rolling(speech: Speech) -> str:
    """Two lines: the old one, and the new one with a stamp before each word but the first; then the new one alone."""
    cues, old = [], " "
    for run in runs(speech, 2_500):
        first, last = run[0], run[-1]
        new = first.text + "".join(f"<{stamp(word.start_ms)}><c> {word.text}</c>" for word in run[1:])
        where = "align:start position:0%"
        cues.append(f"{stamp(first.start_ms)} --> {stamp(last.end_ms)} {where}\n{old}\n{new}\n")
        cues.append(f"{stamp(last.end_ms)} --> {stamp(last.end_ms + 10)} {where}\n{said(run)}\n \n")
        old = said(run)
    return "\n".join(["WEBVTT\nKind: captions\nLanguage: en\n", *cues])


def as_subrip(speech: Speech) -> str:
    cues = enumerate(runs(speech, 5_000), 1)
    return "\n".join(
        f"{number}\n{stamp(run[0].start_ms, ',')} --> {stamp(run[-1].end_ms, ',')}\n{said(run)}\n"
        for number, run in cues
    )


def as_sbv(speech: Speech) -> str:
    cues = runs(speech, 5_000)
    return "\n".join(f"{stamp(run[0].start_ms)[1:]},{stamp(run[-1].end_ms)[1:]}\n{said(run)}\n" for run in cues)


def as_recognised(speech: Speech) -> str:
    segments = [
        {
            "start": run[0].start_ms / 1000,
            "end": run[-1].end_ms / 1000,
            "text": " " + said(run),
            "words": [
                {"word": " " + word.text, "start": word.start_ms / 1000, "end": word.end_ms / 1000} for word in run
            ],
        }
        for run in runs(speech, 8_000)
    ]
    return json.dumps({"language": "en", "segments": segments}, indent=1)


FORMS: dict[str, Callable[[Speech], str]] = {
    "cues.vtt": as_cues,
    "blocks.txt": as_blocks,
    "rolling.vtt": as_rolling,
    "short.srt": as_subrip,
    "short.sbv": as_sbv,
    "recognised.json": as_recognised,
}

TERMS = ("hook", "capsule,", "I", "don't", "-year", "5.5", "rhexis.", "go", "Now", "été", "3%", "(gently)", "what?")


@st.composite
def speech(draw: st.DrawFn, most: int = 80) -> Speech:
    """Words, no two alike (a text that repeats itself cannot be told from captions that roll), and their times."""
    terms = draw(st.lists(st.sampled_from(TERMS), min_size=1, max_size=most))
    now_ms, words = draw(st.integers(0, 4_000_000)), []
    for place, term in enumerate(terms):
        now_ms += draw(st.sampled_from((0, 0, 0, 40, 700, 3_000, 30_000)))
        length_ms = draw(st.integers(60, 900))
        words.append(Spoken(f"{term}{place}" if term[-1].isalpha() else f"w{place}{term}", now_ms, now_ms + length_ms))
        now_ms += length_ms
    return words


def steady(sentences: Sequence[str], pause_ms: int = 800, letter_ms: int = 70) -> Speech:
    """Sentences spoken at one pace, with the same pause behind each."""
    now_ms, words = 0, []
    for sentence in sentences:
        for word in sentence.split():
            length_ms = letter_ms * (len(word) + 1)
            words.append(Spoken(word, now_ms, now_ms + length_ms))
            now_ms += length_ms
        now_ms += pause_ms
    return words
