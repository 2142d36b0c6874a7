"""Words without their endings, so that "stretching the pupil" finds who "stretched" it; light, and alike for both."""

from __future__ import annotations

VOWELS = frozenset("aeiouy")
SHORTEST = 3
DOUBLED = frozenset("bdgmnprt")
TOGETHER = {
    "came": "come", "went": "go", "gone": "go", "goes": "go", "broke": "break", "broken": "break", "tore": "tear",
    "torn": "tear", "took": "take", "taken": "take", "stuck": "stick", "put": "put", "held": "hold", "ran": "run",
    "fell": "fall", "fallen": "fall", "slid": "slide", "lost": "lose", "found": "find", "left": "leave",
    "iris": "iris", "lens": "lens", "lenses": "lens", "dropped": "drop", "bled": "bleed", "bent": "bend",
    "sunk": "sink", "sank": "sink", "stood": "stand", "swollen": "swell", "shrunk": "shrink", "leaves": "leave",
    "pieces": "piece", "axes": "axis", "axis": "axis", "halves": "half", "caught": "catch", "brought": "bring",
    "kept": "keep", "made": "make", "gave": "give", "given": "give", "done": "do", "did": "do", "does": "do",
}  # fmt: skip
"""Irregular words of operations, and words that only look like plurals."""


def stem(word: str) -> str:
    """The stem of a normalised word: not always a word, but the same for its forms.

    >>> [stem(word) for word in ("hooks", "chopping", "chopped", "sutures", "suturing", "dense", "densely")]
    ['hook', 'chop', 'chop', 'sutur', 'sutur', 'dens', 'dens']
    """
    known = TOGETHER.get(word)
    if known is not None:
        return _bare(known)
    for ending in ("ings", "ing", "edly", "ed", "ers", "er", "ies", "ly", "es", "s"):
        rest = word.removesuffix(ending)
        if rest != word and len(rest) >= SHORTEST and VOWELS & set(rest):
            if ending in ("es", "s") and word.endswith(("ss", "us", "is")):
                break
            return _bare(rest + "y" if ending == "ies" else _single(rest))
    return _bare(word)


def _single(rest: str) -> str:
    """`chopp` is `chop`; `fill` stays."""
    return rest[:-1] if rest[-1] == rest[-2] and rest[-1] in DOUBLED else rest


def _bare(word: str) -> str:
    """A last e or y is not kept: `sutur(e)`, `assembl(y)`."""
    return word[:-1] if len(word) > SHORTEST and word[-1] in "ey" else word
