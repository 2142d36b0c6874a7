"""How a recogniser may write a name that it does not know: by rules of spelling alone, none of which the finder uses.

A name is taken apart at a syllable and each part written as the ordinary word whose consonants are alike, or it is
written anew with confusions between sounds that are near (b and p, d and t, v and f), or without a weak sound.
"""

from __future__ import annotations

import random
import re
from functools import cache
from importlib import resources

from rapidfuzz.distance import Levenshtein

LETTERS = (
    ("sch", "J"), ("tch", "J"), ("ch", "J"), ("sh", "J"), ("ph", "F"), ("th", "T"), ("gh", ""), ("ck", "K"), ("qu", "KW"),
    ("b", "P"), ("p", "P"), ("d", "T"), ("t", "T"), ("g", "K"), ("k", "K"), ("q", "K"), ("c", "K"), ("x", "KS"), ("f", "F"),
    ("v", "F"), ("s", "S"), ("z", "S"), ("j", "J"), ("m", "M"), ("n", "N"), ("l", "L"), ("r", "R"), ("w", "W"),
)  # fmt: skip
CONFUSED = (
    ("b", "p"), ("d", "t"), ("t", "d"), ("g", "k"), ("v", "f"), ("f", "v"), ("z", "s"), ("m", "n"), ("ph", "f"), ("ck", "k"),
    ("qu", "kw"), ("i", "e"), ("e", "i"), ("a", "e"), ("o", "u"), ("u", "o"), ("ee", "i"), ("th", "t"), ("y", "i"), ("ll", "l"),
    ("er", "a"), ("ey", "y"), ("ow", "o"), ("or", "er"), ("w", ""), ("h", ""), ("c", "k"),
)  # fmt: skip
MOST_WORDS = 12_000
ALIKE = 0.5
"""Least likeness of spelling of an ordinary word and the part of a name that it stands for."""


def consonants(word: str) -> str:
    """The consonants of a word, those that sound alike written alike."""
    key, index = "", 0
    while index < len(word):
        for letters, sound in LETTERS:
            if word.startswith(letters, index):
                key += sound if not key.endswith(sound) or not sound else ""
                index += len(letters)
                break
        else:
            index += 1
    return key


@cache
def ordinary_words() -> dict[str, list[str]]:
    """Frequent English words by their consonants (list of the package symspellpy)."""
    text = resources.files("symspellpy").joinpath("frequency_dictionary_en_82_765.txt").read_text(encoding="utf-8-sig")
    by_key: dict[str, list[str]] = {}
    for line in text.split("\n")[:MOST_WORDS]:
        word = line.split(" ")[0]
        if word.isalpha() and (
            len(word) > 2 or word in ("a", "in", "on", "to", "of", "at", "or", "so", "no", "he", "we")
        ):
            by_key.setdefault(consonants(word), []).append(word)
    return by_key


def _as_words(part: str, chance: random.Random) -> str | None:
    near = [
        w for w in ordinary_words().get(consonants(part), []) if Levenshtein.normalized_similarity(w, part) >= ALIKE
    ]
    near = [word for word in near if word != part] or near
    return chance.choice(sorted(near, key=lambda w: Levenshtein.distance(w, part))[:3]) if near else None


def _respelt(word: str, chance: random.Random, changes: int) -> str:
    for _ in range(changes):
        fitting = [(old, new) for old, new in CONFUSED if old in word[1:]]
        if not fitting:
            break
        old, new = chance.choice(fitting)
        at = word.index(old, 1)
        word = word[:at] + new + word[at + len(old) :]
    return word


def misheard(name: str, chance: random.Random) -> str:
    """One word of a name as a recogniser may have written it; never as it is."""
    word = name.lower()
    ways = [_whole, _split, _split, _respelling]
    chance.shuffle(ways)
    for way in ways:
        heard = way(word, chance)
        if heard and heard.replace(" ", "") != word:
            return heard
    return word[:-1] + ("t" if word[-1] != "t" else "d")


def _whole(word: str, chance: random.Random) -> str | None:
    return _as_words(word, chance)


def _split(word: str, chance: random.Random) -> str | None:
    places = [m.start() + 1 for m in re.finditer(r"[^aeiou](?=[^aeiou][aeiou])|[aeiou](?=[^aeiou][aeiou])", word)]
    places = [at for at in places if 2 <= at <= len(word) - 2]
    chance.shuffle(places)
    for at in places:
        parts = [_as_words(word[:at], chance), _as_words(word[at:], chance)]
        if all(parts):
            return " ".join(part for part in parts if part)
    return f"{word[: places[0]]} {_respelt(word[places[0] :], chance, 1)}" if places else None


def _respelling(word: str, chance: random.Random) -> str | None:
    return _respelt(word, chance, 2 if len(word) > 6 else 1)
