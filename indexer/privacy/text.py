"""A text or what was spoken, as tokens that know where they stand."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from indexer.models.timed import Word

TOKEN = re.compile(r"\d+|[^\W\d_]+(?:['’][^\W\d_]+)*")
CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])")
ENDS = re.compile(r"[.!?;\n]\s|[.!?]$|[!?;\n|]")
LONG_PAUSE_MS = 2500


def word_set(words: str) -> frozenset[str]:
    """Words of a list that is written as prose."""
    return frozenset(words.split())


class Token(NamedTuple):
    """A run of letters or of digits: letters `start` up to, not including, `end` of the text."""

    word: str
    """Lower case, without apostrophes."""
    raw: str
    start: int
    end: int

    @property
    def capital(self) -> bool:
        """Whether it is written with a capital letter at its beginning."""
        return self.raw[:1].isupper()


class Text:
    """A text and its tokens; made of words, it also knows which word each letter belongs to."""

    def __init__(self, text: str, *, camel: bool = False) -> None:
        self.text = text
        self.tokens = tokens = _tokens(text, camel)
        self.words = [token.word for token in tokens]
        gaps = [text[left.end : right.start] for left, right in pairwise(tokens)]
        self.gaps = [*gaps, text[tokens[-1].end :] if tokens else ""]
        """What stands behind each token."""
        letters = [token for token in tokens if token.raw[0].isalpha()]
        capitals = sum(token.capital for token in letters)
        self.cased = bool(letters) and 0 < capitals < 0.5 * len(letters)
        """Whether capitals say something here."""
        self._owners: list[int] = []

    @classmethod
    def of_words(cls, words: Sequence[Word]) -> Text:
        """What was spoken; a long pause ends a sentence."""
        pieces, owners = [], []
        for index, word in enumerate(words):
            pause = index + 1 < len(words) and words[index + 1].start_ms - word.end_ms > LONG_PAUSE_MS
            piece = word.text + ("\n" if pause else " ")
            pieces.append(piece)
            owners.extend([index] * len(piece))
        made = cls("".join(pieces))
        made._owners = owners
        return made

    def ends(self, index: int) -> bool:
        """Whether a sentence ends behind a token."""
        return bool(ENDS.search(self.gaps[index]))

    def first_of_sentence(self, index: int) -> bool:
        """Whether a capital at this token says nothing."""
        return index == 0 or self.ends(index - 1)

    def owner(self, letter: int) -> int:
        """The word that a letter belongs to."""
        return self._owners[letter]


def _tokens(text: str, camel: bool) -> list[Token]:
    found = []
    for match in TOKEN.finditer(text):
        start, raw = match.start(), match.group()
        for piece in CAMEL.split(raw) if camel else [raw]:
            word = piece.casefold().replace("'", "").replace("’", "")
            found.append(Token(word, piece, start, start + len(piece)))
            start += len(piece)
    return found
