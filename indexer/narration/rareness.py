"""How rare a word is in ordinary English: what is common is seldom a misheard term."""

from __future__ import annotations

import math
from functools import cache, lru_cache

from indexer.narration.wordlists import WordList

# Counts of the package's list run from some 10,000 to 2e10.
COMMON, RARE = math.log(2e9), math.log(2e5)


@cache
def _counts() -> WordList:
    """Word counts of the frequency list that the package `symspellpy` carries."""
    return WordList.of_package("symspellpy", "frequency_dictionary_en_82_765.txt")


@lru_cache(maxsize=100_000)
def rareness(word: str) -> float:
    """0 for the commonest words, 1 for words that the list hardly has or has not."""
    if word[:1].isdigit():
        return 0.0
    count = _counts().of(word)
    if count is None:
        return 1.0
    return min(1.0, max(0.0, (COMMON - math.log(int(count))) / (COMMON - RARE)))
