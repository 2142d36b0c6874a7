"""The way of a transcript from file to timed words: decode, tell the form, read, mend, time."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Literal

from indexer.errors import TranscriptUnreadable
from indexer.models.timed import Transcript
from indexer.transcripts import recogniser, sbv, stamped_text, subrip, vtt
from indexer.transcripts.captions import LINE_END
from indexer.transcripts.cue_text import without_speakers
from indexer.transcripts.decoding import decode
from indexer.transcripts.pieces import Sheet
from indexer.transcripts.rolling import without_repeats
from indexer.transcripts.word_times import time_words

Format = Literal["webvtt", "subrip", "sbv", "text", "json"]

SUFFIXES: tuple[str, ...] = (".vtt", ".srt", ".sbv", ".txt", ".json")
READERS: dict[Format, Callable[[str, str], Sheet]] = {
    "webvtt": vtt.read,
    "subrip": subrip.read,
    "sbv": sbv.read,
    "text": stamped_text.read,
    "json": recogniser.read,
}
BY_SUFFIX: dict[str, Format] = dict(zip(SUFFIXES, READERS, strict=True))
LARGEST_BYTES = 32 * 2**20
COMMA_TIMES = re.compile(r"[0-9]:[0-9]{2},[0-9]{1,3}[ \t]*-->")


def read_transcript(path: Path) -> Transcript:
    """Read the transcript at `path`. Raises TranscriptUnreadable, also where the file cannot be opened."""
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise TranscriptUnreadable(path, None, f"the file cannot be opened ({error.strerror}).") from error
    return parse_transcript(data, str(path))


def parse_transcript(data: bytes, name: str) -> Transcript:
    """Read a transcript from bytes; `name` tells its form by its suffix, where the text itself does not, and names it
    in messages. Raises TranscriptUnreadable with the line and what was expected there.

    What of a partly bad file cannot be used is told in `left_out`.
    """
    if len(data) > LARGEST_BYTES:
        raise TranscriptUnreadable(name, None, "larger than 32 MB; expected a transcript, which is far smaller.")
    text = decode(data, name)
    form = _format(text, Path(name).suffix.lower())
    sheet = READERS[form](text, name)
    cues, words = time_words(without_speakers(without_repeats(sheet.pieces)), sheet.timing)
    if not words:
        line, reason = (sheet.left_out[0].line, sheet.left_out[0].reason) if sheet.left_out else (1, "no words in it")
        raise TranscriptUnreadable(name, line, reason + ".")
    return Transcript(format=form, language=sheet.language, cues=cues, words=words, left_out=sheet.left_out)


def _format(text: str, suffix: str) -> Format:
    """The form of a transcript: by its text where that leaves no doubt, else by its suffix, else as the text looks."""
    opening = text.lstrip()[:200]
    if text.startswith("WEBVTT"):
        return "webvtt"
    if re.match(r'\{\s*"|\[\s*[\{\]]', opening):
        return "json"
    lines = LINE_END.split(text)
    if COMMA_TIMES.search(text) or (suffix != ".vtt" and "-->" in text and any(map(subrip.TIMES.match, lines))):
        return "subrip"
    if suffix != ".vtt" and any(map(sbv.TIMES.match, lines[:200])):
        return "sbv"
    return BY_SUFFIX.get(suffix, "text")
