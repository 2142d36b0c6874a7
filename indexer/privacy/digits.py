"""Runs of digits and letters, written or spoken: "447 11 82", "double four seven", "k x t four four one", "for for won"."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from indexer.narration.numbers import SMALL, TENS, UNITS
from indexer.privacy.text import Text

HOMOPHONES = {
    "to": "2", "too": "2", "tu": "2", "for": "4", "fore": "4", "four": "4", "ate": "8", "ait": "8", "won": "1", "wan": "1",
    "free": "3", "tree": "3", "oh": "0", "o": "0", "owe": "0", "sics": "6", "sicks": "6", "sex": "6", "seven": "7",
    "nein": "9", "nigh": "9", "niner": "9", "fife": "5", "fiver": "5", "hive": "5", "zeroes": "0", "sero": "0", "nine": "9",
    "faux": "4", "too's": "2", "eight": "8", "eigh": "8", "sevens": "7", "heaven": "7", "fifes": "5", "wun": "1", "thee": "3",
}  # fmt: skip
"""What recognisers write for a digit; it is one only within a run, or where a number is announced."""
SOFT = frozenset(
    {"to", "too", "for", "fore", "oh", "o", "won", "free", "tree", "ate", "nigh", "hive", "heaven", "thee", "sex"}
)
REPEATS = {"double": 2, "dubble": 2, "triple": 3, "treble": 3}
JOINTS = frozenset({"dash", "hyphen", "minus", "slash", "space", "stroke"})
NATO = """alpha bravo charlie delta echo foxtrot golf hotel india juliet kilo lima mike november oscar papa quebec romeo sierra
tango uniform victor whiskey xray yankee zulu"""
SPELLED = dict(
    zip(
        NATO.split(),
        "abcdefghijklmnopqrstuvwxyz",
        strict=True,
    )
)
LETTER_NAMES = {
    "kay": "k", "jay": "j", "dee": "d", "bee": "b", "tea": "t", "tee": "t", "pea": "p", "queue": "q", "gee": "g", "el": "l",
    "em": "m", "en": "n", "ess": "s", "eff": "f", "aitch": "h", "zed": "z", "zee": "z", "vee": "v", "cee": "c",
    "ex": "x", "ar": "r", "pee": "p", "sea": "c",
}  # fmt: skip
GAP = frozenset(" -./()+#:,_\t\n")


class Piece(NamedTuple):
    """What one to three tokens say: digits or a letter."""

    last: int
    chars: str
    soft: bool = False
    """Whether the token is an ordinary word as well."""


class Run(NamedTuple):
    """Tokens `first` up to, not including, `last` say `chars` in `pieces` pieces."""

    first: int
    last: int
    chars: str
    pieces: tuple[str, ...]

    @property
    def digits(self) -> int:
        """How many of the characters are digits."""
        return sum(char.isdigit() for char in self.chars)


def runs(text: Text, *, letters: bool = False, fewest: int = 1) -> list[Run]:
    """Every longest run of digits (and letters, where asked for) with at least so many digits, in order."""
    found, index = [], 0
    while index < len(text.tokens):
        run = _run(text, index, letters)
        if run is None:
            index += 1
            continue
        if run.digits >= fewest:
            found.append(run)
        index = max(run.last, index + 1)
    return found


def _run(text: Text, first: int, letters: bool) -> Run | None:
    """The run that begins at a token; it may not begin with a word that is soft, nor end with one."""
    pieces: list[Piece] = []
    index = first
    while index < len(text.tokens):
        if pieces and text.words[index] in JOINTS:
            index += 1
            continue
        piece = _piece(text.words, index, letters, begun=bool(pieces))
        if text.words[piece.last : piece.last + 1] == ["clock"] if piece else False:
            break
        if piece is None or (piece.soft and not pieces and not _zero_before_digits(text.words, index)):
            break
        pieces.append(piece)
        index = piece.last
        if not _goes_on(text, index - 1):
            break
    while pieces and pieces[-1].soft and len(pieces) < 3:
        pieces.pop()
    if not pieces:
        return None
    chars = tuple(piece.chars for piece in pieces)
    return Run(first, pieces[-1].last, "".join(chars), chars)


def _single(word: str = "") -> bool:
    """Whether this is one digit, as in "4, 4, 7, 1"."""
    return UNITS.get(word, 10) < 10 or (len(word) == 1 and word.isdigit())


def _zero_before_digits(words: Sequence[str], at: int) -> bool:
    """Whether this is the "oh" at the beginning of a number of digits."""
    follows = words[at + 1] if at + 1 < len(words) else ""
    return words[at] in ("oh", "o") and (follows in UNITS or follows in TENS or follows in ("oh", "o"))


def _goes_on(text: Text, index: int) -> bool:
    """Whether what stands behind a token may stand within a number."""
    gap = text.gaps[index]
    if not set(gap) <= GAP or "\n" in gap or len(gap) > 4:
        return False
    if "," in gap and not (_single(text.words[index]) and _single(*text.words[index + 1 : index + 2])):
        return False
    decimal = gap in (".", ",") and text.tokens[index].raw.isdigit()
    follows = text.tokens[index + 1].raw if index + 1 < len(text.tokens) else ""
    return not (decimal and follows.isdigit() and min(len(follows), len(text.tokens[index].raw)) < 3)


def _piece(words: Sequence[str], at: int, letters: bool, *, begun: bool) -> Piece | None:
    word = words[at]
    follows = words[at + 1] if at + 1 < len(words) else ""
    if word in REPEATS:
        again = _piece(words, at + 1, letters, begun=begun) if follows else None
        return None if again is None or len(again.chars) != 1 else Piece(again.last, again.chars * REPEATS[word])
    if word.isdecimal() and word.isascii():
        return Piece(at + 1, word)
    if word in TENS:
        unit = UNITS.get(follows, 0)
        return Piece(at + 2, str(TENS[word] + unit)) if 0 < unit < 10 else Piece(at + 1, str(TENS[word]))
    if word in UNITS and word not in ("oh", "nil"):
        if follows == "hundred" and UNITS[word] < 10:
            return _hundred(words, at)
        return Piece(at + 1, str(UNITS[word]))
    if word in HOMOPHONES:
        return Piece(at + 1, HOMOPHONES[word], soft=word in SOFT)
    return _letter(word, begun) if not letters else _lettered(word, at)


def _hundred(words: Sequence[str], at: int) -> Piece:
    """ "Six hundred and five" is 605, "six hundred" 600."""
    base, index = UNITS[words[at]] * 100, at + 2
    skip = 1 if words[index : index + 1] == ["and"] else 0
    word = words[index + skip] if index + skip < len(words) else ""
    if word in TENS:
        unit = UNITS.get(words[index + skip + 1], 0) if index + skip + 1 < len(words) else 0
        more = TENS[word] + (unit if 0 < unit < 10 else 0)
        return Piece(index + skip + (2 if 0 < unit < 10 else 1), str(base + more))
    if skip and word in UNITS and word in SMALL:
        return Piece(index + skip + 1, str(base + UNITS[word]))
    return Piece(index, str(base))


def _letter(word: str, begun: bool) -> Piece | None:
    """Within digits a single letter may stand, but not begin them."""
    return None


def _lettered(word: str, at: int) -> Piece | None:
    if len(word) == 1 and word.isalpha() and word.isascii():
        return Piece(at + 1, word)
    if word in SPELLED:
        return Piece(at + 1, SPELLED[word])
    if word in LETTER_NAMES:
        return Piece(at + 1, LETTER_NAMES[word])
    if len(word) <= 4 and word.isalpha() and not any(vowel in word for vowel in "aeiouy"):
        return Piece(at + 1, word)  # "kxt": no word that can be said
    return None
