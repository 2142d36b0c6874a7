"""What a query asks for: concepts with those near to them, and plain words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from indexer.catalogue.wordlist import stems
from indexer.models import Query
from indexer.vocabulary.asking import Understood, read_query
from indexer.vocabulary.vocabulary import Vocabulary

NARROWER = 0.9
"""How much a narrower concept counts for the one asked for."""
BROADER = 0.4


@dataclass(frozen=True)
class Term:
    """A concept asked for. `near` holds itself and its relations, each with what it counts, up to 1."""

    concept: str
    facet: str
    label: str
    certainty: float
    near: Mapping[str, float]
    understood: Understood

    @property
    def stems(self) -> tuple[str, ...]:
        """The words it was read from."""
        return stems(self.understood.text)


@dataclass(frozen=True)
class Asked:
    """The terms of a query, and the words left, stemmed; `spelled` has each of them as it was typed."""

    terms: tuple[Term, ...]
    words: tuple[str, ...]
    spelled: Mapping[str, str] = field(default_factory=dict)

    @property
    def nothing(self) -> bool:
        """Whether there are neither terms nor words."""
        return not self.terms and not self.words


def ask(query: Query, vocabulary: Vocabulary) -> Asked:
    """Read the words of a query."""
    reading = read_query(vocabulary, query.text)
    terms: dict[str, Term] = {}
    for understood in reading.concepts:
        concept = understood.concept
        if concept not in terms or terms[concept].certainty < understood.certainty:
            terms[concept] = Term(
                concept=concept,
                facet=understood.facet,
                label=vocabulary[concept].label,
                certainty=understood.certainty,
                near=near(vocabulary, concept),
                understood=understood,
            )
    spelled = {stem: word for word in reading.words for stem in stems(word)}
    return Asked(tuple(terms.values()), tuple(spelled), spelled)


def near(vocabulary: Vocabulary, concept: str) -> dict[str, float]:
    """The concept, all narrower ones and the broader ones, with what each counts."""
    found = dict.fromkeys(below(vocabulary, concept), NARROWER)
    counts, above = BROADER, vocabulary[concept].broader
    while above is not None:
        found[above] = counts
        counts, above = counts * BROADER, vocabulary[above].broader
    return found | {concept: 1.0}


def below(vocabulary: Vocabulary, concept: str) -> list[str]:
    """The concept and all that are narrower."""
    found = [concept]
    for each in found:
        found.extend(vocabulary.narrower(each))
    return found
