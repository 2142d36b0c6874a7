"""The one function that turns text into comparable words, for vocabulary, transcripts and queries alike."""

from __future__ import annotations

import re
import unicodedata

# A number keeps its decimal point or comma; an apostrophe inside a word goes ("don't" is "dont"), since captions
# drop it as often as they keep it.
WORD = re.compile(r"\d+(?:[.,]\d+)*|[^\W\d_]+(?:['’][^\W\d_]+)*", re.UNICODE)
APOSTROPHE = re.compile(r"['’]")
DIGIT = re.compile(r"\d")
PLAIN = {code: chr(code).lower() if chr(code).isalpha() else "" if chr(code) == "'" else " " for code in range(128)}


def normalise(text: str) -> list[str]:
    """Split a text into lower-case words without accents, punctuation and apostrophes.

    >>> normalise("I don't hydro-dissect: 2.4 mm, 80%")
    ['i', 'dont', 'hydro', 'dissect', '2.4', 'mm', '80']
    """
    if text.isascii() and not DIGIT.search(text) and "''" not in text:
        return text.translate(PLAIN).split()  # nearly all words and terms; the long way gives them the same
    folded = unicodedata.normalize("NFKD", text.casefold())
    plain = "".join(letter for letter in folded if not unicodedata.combining(letter))
    return [APOSTROPHE.sub("", word) for word in WORD.findall(plain)]
