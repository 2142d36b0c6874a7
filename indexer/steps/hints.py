"""What the vocabulary alone says of the step at each token: turns of phrase, names, instruments in hand.

It knows nothing of any one field of surgery, so that a new vocabulary is heard from its first day; where a reader has
been taught (see `narration.reader`), it stands beside the reader's word.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from indexer.models.tagged import AssertionKind, Mention
from indexer.narration.lexicon import Hit, Kind
from indexer.narration.tokens import Tokens
from indexer.vocabulary.vocabulary import Vocabulary

Floats = npt.NDArray[np.float64]

CUE = 1.3
NAME = 2.2
COMPANY = 1.0
"""Weights, in log odds, of a turn of phrase, of the step's own name done now, and of what usually goes with it."""
FAINT = 0.12
"""What remains of a mention's weight when the thing is not done now."""
REACH_S = 7.0
"""A hint fades by 1/e within so many seconds, forwards and backwards."""


def company(vocabulary: Vocabulary) -> dict[str, tuple[str, ...]]:
    """For each concept the steps in which it usually turns up, by its own word or by the step's."""
    found: dict[str, dict[str, None]] = {
        concept.id: dict.fromkeys(concept.steps) for concept in vocabulary.concepts.values()
    }
    for concept in vocabulary.concepts.values():
        for tool in concept.tools:
            found[tool][concept.id] = None
    return {concept: tuple(steps) for concept, steps in found.items()}


def hints(
    tokens: Tokens,
    hits: Sequence[Hit],
    mentions: Sequence[Mention],
    vocabulary: Vocabulary,
    steps: Sequence[str],
    company_of: Mapping[str, Sequence[str]],
) -> Floats:
    """Log odds for each step at each token: (n, steps). `company_of` is what `company` made of the vocabulary."""
    number = {step: index for index, step in enumerate(steps)}
    sharp = np.zeros((len(tokens), len(steps)))
    _add_cues(sharp, hits, number)
    first_token: dict[int, int] = {}
    for index, word in enumerate(tokens.words):
        first_token.setdefault(word, index)
    for mention in mentions:
        at = first_token.get(mention.first_word)
        if at is None:
            continue
        weight = 1.0 if mention.assertion is AssertionKind.DONE else FAINT
        for step, share in _pointed_at(mention.concept, vocabulary, company_of):
            if step in number:
                sharp[at, number[step]] += weight * share
    return _fade(sharp, tokens)


def _add_cues(sharp: Floats, hits: Sequence[Hit], number: dict[str, int]) -> None:
    """A phrase that several steps claim speaks for each of them the less; a longer phrase speaks the louder."""
    cues = [hit for hit in hits if hit.kind is Kind.CUE and hit.concept in number]
    claims = Counter((hit.first, hit.last) for hit in cues)
    for hit in cues:
        words = hit.last - hit.first
        sharp[hit.first, number[hit.concept]] += CUE * min(1.6, 0.5 + 0.35 * words) / claims[hit.first, hit.last]


def _pointed_at(
    concept_id: str, vocabulary: Vocabulary, company_of: Mapping[str, Sequence[str]]
) -> list[tuple[str, float]]:
    """Which steps a mention speaks for, and how much."""
    concept = vocabulary[concept_id]
    if concept.facet in ("step", "part"):
        return [(concept.id, NAME)]
    usual = company_of[concept_id]
    return [(step, COMPANY * 2 / (1 + len(usual))) for step in usual]


def _fade(sharp: Floats, tokens: Tokens) -> Floats:
    """Let each hint reach its neighbours in time, on both sides."""
    middles = (np.array(tokens.starts_ms, np.float64) + np.array(tokens.ends_ms, np.float64)) / 2000
    if not len(middles):
        return sharp
    kept = np.exp(-np.maximum(0.0, np.diff(middles)) / REACH_S)
    forward, backward = sharp.copy(), sharp.copy()
    for index in range(1, len(middles)):
        forward[index] += forward[index - 1] * kept[index - 1]
    for index in range(len(middles) - 2, -1, -1):
        backward[index] += backward[index + 1] * kept[index]
    return np.asarray(np.minimum(forward + backward - sharp, 8.0))
