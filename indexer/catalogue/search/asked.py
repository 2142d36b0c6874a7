"""What a query asks for: concepts with those near to them, and plain words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from indexer.catalogue.search.associating import Associations, associations
from indexer.catalogue.wordlist import stems
from indexer.models import Query
from indexer.vocabulary.asking import Understood, read_query
from indexer.vocabulary.vocabulary import Vocabulary
from indexer.vocabulary.words import normalise

NARROWER = 0.9
"""How much a narrower concept counts for the one asked for."""
BROADER = 0.4
DENYING = frozenset({"no", "not", "without", "never", "avoid", "avoiding", "instead", "dont", "skip"})
REACH = 3
"""Words before a term in which a denying word is about it."""


@dataclass(frozen=True, eq=False)
class Term:
    """A concept asked for. `near` holds itself and its relations, each with what it counts, up to 1."""

    concept: str
    facet: str
    label: str
    certainty: float
    near: Mapping[str, float]
    understood: Understood
    denied: bool = False
    """Whether it is asked why or when not: "no dispersive", "without a ring"."""

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
    associations: Associations = field(default_factory=Associations)

    @cached_property
    def groups(self) -> tuple[tuple[Term, ...], ...]:
        """Terms that the same words may mean: one of them is enough."""
        alternatives: dict[str, list[Term]] = {}
        for term in self.terms:
            alternatives.setdefault(term.understood.text, []).append(term)
        return tuple(tuple(terms) for terms in alternatives.values())

    @property
    def nothing(self) -> bool:
        """Whether there are neither terms nor words."""
        return not self.terms and not self.words


def ask(query: Query, vocabulary: Vocabulary) -> Asked:
    """Read the words of a query."""
    reading = read_query(vocabulary, query.text)
    typed = normalise(query.text)
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
                denied=_denied(understood, typed),
            )
    spelled = {stem: word for word in reading.words for stem in stems(word)}
    associated = associations((stem for word in typed for stem in stems(word)), vocabulary.fields)
    return Asked(tuple(terms.values()), tuple(spelled), spelled, associated)


def _denied(understood: Understood, typed: list[str]) -> bool:
    """Whether a denying word stands right before the words of a term."""
    first = understood.text.split(" ")[0]
    at = typed.index(first) if first in typed else 0
    return bool(DENYING & set(typed[max(0, at - REACH) : at]))


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
