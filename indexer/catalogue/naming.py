"""Ids: short, random, easy to read out, and without a word in them."""

from __future__ import annotations

import secrets

# Without 0, 1, i, l, o, u: nothing is misread, and hardly a word is formed.
LETTERS = "23456789abcdefghjkmnpqrstvwxyz"
LENGTH = 12
"""58 random bits: among a million ids two are alike with a probability of some 2 in a million."""


def new_id() -> str:
    """A new random id of twelve letters and digits, a letter first."""
    return secrets.choice(LETTERS[8:]) + "".join(secrets.choice(LETTERS) for _ in range(LENGTH - 1))
