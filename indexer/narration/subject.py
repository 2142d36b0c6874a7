"""Whether words tell an operation at all: everyday talk can be full of words that the trade uses too."""

from __future__ import annotations

from collections.abc import Sequence

from indexer.models.tagged import Mention
from indexer.narration.lexicon import Hit, Kind
from indexer.narration.rareness import rareness
from indexer.narration.tokens import Tokens

FEWEST_WORDS = 150
"""Shorter transcripts are always taken for narration."""
NAMED_IN_100 = 3.0
"""Terms in a hundred words, each by how sure it is, below which a text is doubtful; narrations have 4 to 10."""
TECHNICAL = 0.8
"""Rareness from which a word is one of the trade alone."""
FEWEST_TECHNICAL = 3


def tells_an_operation(tokens: Tokens, mentions: Sequence[Mention], hits: Sequence[Hit]) -> bool:
    """False for a longer text that names few things and hardly any that only surgeons name."""
    if len(tokens) < FEWEST_WORDS:
        return True
    if 100 * sum(mention.confidence for mention in mentions) >= NAMED_IN_100 * len(tokens):
        return True
    technical = {
        hit.concept
        for hit in hits
        if hit.kind <= Kind.VERB and max(map(rareness, tokens.texts[hit.first : hit.last])) >= TECHNICAL
    }
    return len(technical) >= FEWEST_TECHNICAL
