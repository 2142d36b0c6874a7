"""A light key for how an English word sounds: words that a recogniser mixes up tend to share it."""

from __future__ import annotations

import re
from functools import lru_cache

SPELLINGS: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern), sound)
    for pattern, sound in (
        (r"^(?:wr|rh)", "r"),
        (r"^(?:kn|gn|pn)", "n"),
        (r"^ps", "s"),
        (r"^x", "s"),
        (r"rh", "r"),
        (r"tch|ch(?=[eiy])", "c"),
        (r"sch|ch|ck|q|c(?![eiy])|k", "k"),
        (r"x", "ks"),
        (r"sc(?=[eiy])|c|z", "s"),
        (r"sh|ti(?=on|al)|si(?=on)", "s"),
        (r"ph|v", "f"),
        (r"gh", ""),
        (r"g(?=[eiy])|j|dg", "c"),
        (r"g", "k"),
        (r"th|d", "t"),
        (r"b", "p"),
        (r"m", "n"),
    )
)
"""Tried in order, each on the whole word; voiced and unvoiced consonants count as one, as do m and n."""
SILENT = re.compile(r"[aeiouyhw]+")
REPEATED = re.compile(r"(.)\1+")


@lru_cache(maxsize=65536)
def sound_key(letters: str) -> str:
    """The consonants of some run-together words, in classes; empty for what has none.

    >>> sound_key("wrecksis") == sound_key("rhexis") == "rks"
    True
    >>> sound_key("hidrodisection") == sound_key("hydrodissection")
    True
    """
    for pattern, sound in SPELLINGS:
        letters = pattern.sub(sound, letters)
    return REPEATED.sub(r"\1", SILENT.sub("", letters))
