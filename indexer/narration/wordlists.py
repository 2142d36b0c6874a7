"""Long lists of words, a line each, of which few are ever asked for: kept as sorted lines, not taken apart beforehand."""

from __future__ import annotations

from bisect import bisect_left
from importlib import resources


class WordList:
    """Lines that begin with a word and a space. Where a word stands twice, one of its lines is found."""

    def __init__(self, text: str) -> None:
        self._lines = sorted(text.split("\n"))

    @classmethod
    def of_package(cls, package: str, *path: str) -> WordList:
        """The list that an installed package carries as a file in UTF-8."""
        return cls(resources.files(package).joinpath(*path).read_text(encoding="utf-8-sig"))

    def of(self, word: str) -> str | None:
        """What stands behind a word, or None where the list has not got it. `word` has no space in it."""
        start = word + " "
        at = bisect_left(self._lines, start)
        if at == len(self._lines) or not self._lines[at].startswith(start):
            return None
        return self._lines[at][len(start) :]
