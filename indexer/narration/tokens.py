"""A transcript as the tagger sees it: plain words in a row, each with its time and its place in the transcript."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from indexer.models.timed import Word
from indexer.vocabulary.words import normalise

BREAKS = ("", ",", ".", "?")
"""Nothing, the end of a clause, of a sentence, of a question."""
_WRITTEN = {",": ",", ";": ",", ":": ",", "-": ",", "–": ",", "—": ",", ".": ".", "!": ".", "…": ".", "?": "?"}


class Tokens(NamedTuple):
    """Normalised words in order. All five lists are of one length."""

    texts: list[str]
    words: list[int]
    """Index of the transcript's word that each token comes from; one word may give several tokens."""
    starts_ms: list[int]
    ends_ms: list[int]
    breaks: list[str]
    """What is written behind each token: one of BREAKS; captioners often write none at all."""

    def __len__(self) -> int:
        return len(self.texts)


def tokens_of(words: Sequence[Word]) -> Tokens:
    """Split the words of a transcript into tokens; a word's time is shared out evenly among its tokens."""
    texts: list[str] = []
    origins: list[int] = []
    starts: list[int] = []
    ends: list[int] = []
    breaks: list[str] = []
    for index, word in enumerate(words):
        parts = normalise(word.text)
        span = word.end_ms - word.start_ms
        for number, part in enumerate(parts):
            texts.append(part)
            origins.append(index)
            starts.append(word.start_ms + span * number // len(parts))
            ends.append(word.start_ms + span * (number + 1) // len(parts))
            breaks.append("")
        if breaks:
            breaks[-1] = max(breaks[-1], _WRITTEN.get(word.text.rstrip("\"')”’")[-1:], ""), key=BREAKS.index)
    return Tokens(texts, origins, starts, ends, breaks)
