"""How much what a passage holds counts for what is asked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import log

from indexer.catalogue.search.asked import Asked, Term
from indexer.catalogue.search.holding import Held, Holding, Said
from indexer.models import AssertionKind

STEP = 0.9
"""The passage's own step, where what is done in it counts 1."""
FINDING = 0.75
ASSERTED: Mapping[AssertionKind, float] = {
    AssertionKind.DONE: 1.0,
    AssertionKind.PLANNED: 0.35,
    AssertionKind.EARLIER: 0.35,
    AssertionKind.CONSIDERED: 0.3,
    AssertionKind.ABSENT: 0.25,
}
OTHER_STEP = 0.6
"""A step named as done within another step counts so much of a thing done."""
WORD = 0.55
TERM_WORD = 0.2
"""The words that a concept was read from, where the concept itself was not found in them."""
TITLE = 0.3
PARTLY = 0.35
"""What a passage keeps that holds none of the concepts asked for."""
ENOUGH = 0.3
"""Passages that hold less than this share of what is asked do not answer."""


@dataclass(frozen=True)
class Rarity:
    """How telling each term and word is here: log((all + 1) / (holding + 0.5)), never below 0.1."""

    terms: Mapping[str, float]
    words: Mapping[str, float]

    @classmethod
    def of(cls, holding: Holding, passages: int) -> Rarity:
        """Count within the scope, so that what a viewer may not see has no say."""

        def rarity(many: int) -> float:
            return max(0.1, log((passages + 1) / (many + 0.5)))

        return cls(
            {concept: rarity(len(held.keys)) for concept, held in holding.terms.items()},
            {stem: rarity(len(keys)) for stem, keys in holding.words.items()},
        )


def strength(term: Term, held: Held, key: int, wanted: AssertionKind | None) -> float:
    """How well a passage holds a term, 0 to 1, whatever the way."""
    ways = [STEP * held.steps.get(key, 0.0), FINDING * held.findings.get(key, 0.0)]
    ways += [said_strength(term, naming, wanted) for naming in held.said.get(key, ())]
    return max(ways)


def said_strength(term: Term, naming: Said, wanted: AssertionKind | None) -> float:
    """How much a naming counts; where an assertion is asked for, it counts as `done` does otherwise."""
    kind = AssertionKind.DONE if naming.assertion is wanted else naming.assertion
    share = OTHER_STEP if term.facet in ("step", "part") else 1.0
    return ASSERTED[kind] * naming.near * share


@dataclass(frozen=True)
class Weight:
    """What a passage has of the query: its score, and which terms and words it holds."""

    score: float
    share: float
    terms: Mapping[str, float]
    words: frozenset[str]


def weigh(asked: Asked, holding: Holding, rarity: Rarity, wanted: AssertionKind | None) -> dict[int, Weight]:
    """Weigh all passages that hold anything that is asked for."""
    full = sum(rarity.terms[term.concept] * term.certainty for term in asked.terms)
    full += WORD * sum(rarity.words[stem] for stem in asked.words)
    keys = {key for held in holding.terms.values() for key in held.keys}
    keys |= {key for stem in asked.words for key in (*holding.words[stem], *holding.titles.get(stem, ()))}
    return {key: _weight(asked, holding, rarity, wanted, key, full) for key in keys}


def _weight(
    asked: Asked, holding: Holding, rarity: Rarity, wanted: AssertionKind | None, key: int, full: float
) -> Weight:
    terms, score, possible = {}, 0.0, 0.0
    for term in asked.terms:
        strong = strength(term, holding.terms[term.concept], key, wanted)
        telling = rarity.terms[term.concept] * term.certainty
        possible += telling
        if strong > 0:
            terms[term.concept] = strong
        elif any(key in holding.words[stem] for stem in term.stems):
            strong = TERM_WORD * _share(key, term.stems, holding)
        score += telling * strong
    covered = score / possible if possible else 1.0
    words = frozenset(stem for stem in asked.words if key in holding.words[stem])
    said = WORD * sum(rarity.words[stem] for stem in words)
    titled = [stem for stem in asked.words if stem not in words and key in holding.titles.get(stem, ())]
    said += TITLE * WORD * sum(rarity.words[stem] for stem in titled)
    total = score * (PARTLY + (1 - PARTLY) * covered) + said
    return Weight(total, (score + said) / full if full else 0.0, terms, words)


def _share(key: int, stems: tuple[str, ...], holding: Holding) -> float:
    return sum(key in holding.words[stem] for stem in stems) / len(stems)
