"""Ids: short, random, easy to read out, and without a word in them."""

from __future__ import annotations

import hashlib
import secrets

# Without 0, 1, i, l, o, u: nothing is misread, and hardly a word is formed.
LETTERS = "23456789abcdefghjkmnpqrstvwxyz"
LENGTH = 12
"""58 random bits: among a million ids two are alike with a probability of some 2 in a million."""


def id_of(text: str) -> str:
    """The same id for the same text, in the same letters; of what came in once it tells whether it comes again."""
    number = int.from_bytes(hashlib.sha256(text.encode()).digest()[:16], "big")
    number, first = divmod(number, len(LETTERS) - 8)
    letters = [LETTERS[8 + first]]
    for _ in range(LENGTH - 1):
        number, at = divmod(number, len(LETTERS))
        letters.append(LETTERS[at])
    return "".join(letters)


def new_id() -> str:
    """A new random id of twelve letters and digits, a letter first."""
    return secrets.choice(LETTERS[8:]) + "".join(secrets.choice(LETTERS) for _ in range(LENGTH - 1))
