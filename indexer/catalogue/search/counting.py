"""How many of the passages that answer have each concept, and what is near to a concept that has nothing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from itertools import chain

from sqlalchemy import Connection, func, select, true

from indexer.catalogue.search.asked import below
from indexer.catalogue.search.holding import Holding
from indexer.catalogue.search.scope import Scope, meant
from indexer.catalogue.tables import segments
from indexer.models import AssertionKind, FacetCount, Nearest
from indexer.vocabulary.concepts import FACETS
from indexer.vocabulary.vocabulary import Vocabulary

Has = Mapping[int, tuple[str, ...]]
"""Concepts by key of passage, from the tally."""

SLICE = 500
"""Keys named in one statement."""


def count(keys: Sequence[int], has: Has, vocabulary: Vocabulary) -> list[FacetCount]:
    """Every concept that at least one of the passages has; a broader one counts its narrower ones too."""
    counted = Counter(chain.from_iterable(has.get(key, ()) for key in keys))
    found = [
        FacetCount(facet=vocabulary[concept].facet, id=concept, label=vocabulary[concept].label, count=many)
        for concept, many in counted.items()
    ]
    return sorted(found, key=lambda each: (FACETS.index(vocabulary[each.id].facet), -each.count, each.label))


def assertions(many: Mapping[AssertionKind, int]) -> list[FacetCount]:
    """The counts of the ways in which things are meant, most frequent first."""
    found = [
        FacetCount(facet="assertion", id=kind.value, label=kind.value.capitalize(), count=many[kind])
        for kind in AssertionKind
        if many[kind]
    ]
    return sorted(found, key=lambda each: -each.count)


def meant_of(holding: Holding, keys: Iterable[int]) -> Counter[AssertionKind]:
    """How the things asked for are meant; what is done in a passage counts as done, whatever else is said of it."""
    meant_so: dict[AssertionKind, set[int]] = {kind: set() for kind in AssertionKind}
    for held in holding.terms.values():
        for key, said in held.said.items():
            kinds = {naming.assertion for naming in said}
            for kind in kinds & {AssertionKind.DONE} or kinds:
                meant_so[kind].add(key)
    within = set(keys)
    return Counter({kind: len(found & within) for kind, found in meant_so.items()})


def meant_at_all(connection: Connection, scope: Scope, keys: Sequence[int] | None = None) -> Counter[AssertionKind]:
    """How anything is meant in the passages of a scope, or in some of them."""
    counted: Counter[AssertionKind] = Counter()
    slices = (
        [true()] if keys is None else [segments.c.key.in_(keys[at : at + SLICE]) for at in range(0, len(keys), SLICE)]
    )
    for kind in AssertionKind:
        for these in slices:
            chosen = select(func.count()).select_from(scope.source).where(scope.holds, these, meant(None, kind))
            counted[kind] += connection.execute(chosen).scalar_one()
    return counted


def nearest(
    keys: Iterable[int], has: Has, lacking: Iterable[str], vocabulary: Vocabulary, *, most: int = 6
) -> tuple[Nearest, ...]:
    """Concepts next to those that nothing has, which some of the passages have: of the same kind first."""
    counted = Counter(chain.from_iterable(has.get(key, ()) for key in keys))
    found: dict[str, int] = {}
    for concept in lacking:
        for other in _around(vocabulary, concept):
            if counted[other] and other != concept:
                found.setdefault(other, counted[other])
    return tuple(
        Nearest(concept=each, facet=vocabulary[each].facet, label=vocabulary[each].label, count=many)
        for each, many in list(found.items())[:most]
    )


def _around(vocabulary: Vocabulary, concept: str) -> list[str]:
    """Narrower, broader and sister concepts, then the steps and tools of it, then what turns up in the same steps."""
    here = vocabulary[concept]
    close = [*below(vocabulary, concept)[1:]]
    if here.broader is not None:
        close += [here.broader, *vocabulary.narrower(here.broader)]
    shared = [each for each in vocabulary.of_facet(here.facet) if set(each.steps) & set(here.steps)]
    return [*close, *here.steps, *here.tools, *(each.id for each in shared)]
