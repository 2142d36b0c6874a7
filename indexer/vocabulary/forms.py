"""Plurals and inflections that a written form implies: English rules, with the Latin and Greek of the trade."""

from __future__ import annotations

SIBILANT = ("s", "x", "z", "ch", "sh")
GREEK = ("rhexes", "centeses", "lyses", "theses", "eses", "ases")
"""Plurals whose singular ends in `is`."""
IRREGULAR = {"halves": "half", "lives": "life", "knives": "knife", "leaves": "leaf", "teeth": "tooth", "feet": "foot"}
PAST = {
    "cut": ("cut", "cut"),
    "put": ("put", "put"),
    "take": ("took", "taken"),
    "make": ("made", "made"),
    "do": ("did", "done"),
    "give": ("gave", "given"),
    "tear": ("tore", "torn"),
    "break": ("broke", "broken"),
    "get": ("got", "got"),
    "go": ("went", "gone"),
    "bring": ("brought", "brought"),
    "dig": ("dug", "dug"),
    "spin": ("spun", "spun"),
    "split": ("split", "split"),
    "hold": ("held", "held"),
    "withdraw": ("withdrew", "withdrawn"),
    "sweep": ("swept", "swept"),
    "bend": ("bent", "bent"),
    "lay": ("laid", "laid"),
    "see": ("saw", "seen"),
    "come": ("came", "come"),
    "leave": ("left", "left"),
    "burn": ("burned", "burnt"),
    "lose": ("lost", "lost"),
    "catch": ("caught", "caught"),
    "sink": ("sank", "sunk"),
    "fall": ("fell", "fallen"),
    "drive": ("drove", "driven"),
    "find": ("found", "found"),
    "draw": ("drew", "drawn"),
    "slide": ("slid", "slid"),
    "free": ("freed", "freed"),
}
DOUBLING = frozenset("bdgklmnprt")


def singular(word: str) -> str:
    """The singular of a normalised noun; a word that is no plural comes back as it is.

    >>> [singular(word) for word in ("hooks", "capsulorhexes", "synechiae", "biopsies", "pass", "is")]
    ['hook', 'capsulorhexis', 'synechia', 'biopsy', 'pass', 'is']
    """
    if word in IRREGULAR:
        return IRREGULAR[word]
    if len(word) < 4:
        return word
    if word.endswith(GREEK):
        return word[:-2] + "is"
    if word.endswith("iae"):
        return word[:-1]
    if word.endswith("ies"):
        return word[:-3] + "y"
    if word.endswith("es") and word[:-2].endswith(SIBILANT):
        return word[:-2]
    if word.endswith("s") and not word.endswith(("ss", "us", "is")):
        return word[:-1]
    return word


def plural(word: str) -> str:
    """The plural of a normalised noun.

    >>> [plural(word) for word in ("hook", "capsulorhexis", "synechia", "biopsy", "wash")]
    ['hooks', 'capsulorhexes', 'synechiae', 'biopsies', 'washes']
    """
    if word.endswith("is"):
        return word[:-2] + "es"
    if word.endswith("chia"):
        return word + "e"
    if word.endswith("y") and word[-2:-1] not in "aeiou":
        return word[:-1] + "ies"
    return word + ("es" if word.endswith(SIBILANT) else "s")


def inflections(verb: str) -> tuple[str, ...]:
    """A normalised verb, or a phrase that begins with one, in all its forms, the base first.

    >>> inflections("chop it")
    ('chop it', 'chops it', 'chopping it', 'chopped it')
    >>> inflections("take out the hooks")[-2:]
    ('took out the hooks', 'taken out the hooks')
    """
    first, _, rest = verb.partition(" ")
    tail = f" {rest}" if rest else ""
    forms = (first, _third(first), _stem(first, "ing") + "ing", *_pasts(first))
    return tuple(dict.fromkeys(form + tail for form in forms))


def _third(verb: str) -> str:
    return "does" if verb == "do" else "goes" if verb == "go" else plural(verb) if verb[-2:] != "is" else verb + "es"


def _pasts(verb: str) -> tuple[str, ...]:
    return PAST.get(verb) or (_stem(verb, "ed") + "ed",)


def _stem(verb: str, ending: str) -> str:
    """What the ending is joined to: polish, chop-p, remov, stud-i."""
    if verb.endswith("e") and not verb.endswith("ee"):
        return verb[:-1]
    if verb.endswith("y") and verb[-2:-1] not in "aeiou" and ending == "ed":
        return verb[:-1] + "i"
    one_syllable = sum(letter in "aeiou" for letter in verb) == 1 and verb[-2:-1] in "aeiou"
    return verb + verb[-1] if one_syllable and len(verb) >= 3 and verb[-1] in DOUBLING else verb
