"""Addresses as they are spoken: "anna dot berg at example dot org", "www dot example dot org", "one ninety two dot ..."."""

from __future__ import annotations

from collections.abc import Iterator

from indexer.models.identifying import IdentifierKind as Kind
from indexer.narration.numbers import TENS, UNITS
from indexer.privacy.digits import HOMOPHONES
from indexer.privacy.finding import Found
from indexer.privacy.text import Text, word_set

DOTS = frozenset({"dot", "point", "period", "dott", "dought"})
ENDINGS = word_set(
    """
    org com net edu gov info health hospital clinic example uk de fr at eu ch us io co calm combe orc
    """
)
JOINTS = DOTS | {"dash", "hyphen", "underscore", "slash"}
MOST_BACK = 7


def said_addresses(text: Text) -> Iterator[Found]:
    """E-mail, web and IP addresses that are spelled out in words."""
    words, index = text.words, 0
    while index < len(words):
        last = _ip(words, index)
        if last:
            yield _of(text, index, last, Kind.IP)
            index = last
            continue
        if words[index] in DOTS - {"point"} and index and index + 1 < len(words) and words[index + 1] in ENDINGS:
            first, end, mail = _address(words, index)
            if end - first >= 3 or mail:
                yield _of(text, first, end, Kind.EMAIL if mail else Kind.WEB)
                index = end
                continue
        index += 1


def _address(words: list[str], dot: int) -> tuple[int, int, bool]:
    """From the dot before an ending back to where the address begins, and on to where it ends."""
    end = dot + 2
    while end + 1 < len(words) and words[end] in JOINTS and (words[end] != "point" or words[end + 1] in ENDINGS):
        end += 2
    first, mail = dot - 1, False
    while first > 1 and dot - first < MOST_BACK * 2:
        before = words[first - 1]
        if before in JOINTS:
            first -= 2
        elif before in ("at", "add") and not mail:
            mail, first = True, first - 2
        else:
            break
    if first and words[first - 1] == "www":
        first -= 1
    while first > 2 and words[first - 1] == "w":
        first -= 1
    return max(first, 0), end, mail


def _ip(words: list[str], at: int) -> int:
    """Where four numbers parted by "dot" end; 0 where there are none."""
    index = at
    for part in range(4):
        if part:
            if index >= len(words) or words[index] not in DOTS:
                return 0
            index += 1
        start = index
        while index < len(words) and index - start < 5 and _numeral(words[index]):
            index += 1
        if index == start:
            return 0
    return index


def _numeral(word: str) -> bool:
    return word.isdigit() or word in UNITS or word in TENS or word in HOMOPHONES or word in ("hundred", "and", "double")


def _of(text: Text, first: int, last: int, kind: Kind) -> Found:
    return Found(text.tokens[first].start, text.tokens[last - 1].end, kind, "pattern", 0.95)
