"""The loaded terms, looked up by id, by facet and by their usual order."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property
from types import MappingProxyType

from indexer.errors import NotFound
from indexer.vocabulary.concepts import Concept
from indexer.vocabulary.naming import Naming

ORDERED = ("part", "step")


class Vocabulary:
    """Concepts of one field of surgery or several; never changes once loaded."""

    concepts: Mapping[str, Concept]

    def __init__(self, concepts: Iterable[Concept]) -> None:
        self.concepts = MappingProxyType({concept.id: concept for concept in concepts})

    def __getitem__(self, concept_id: str) -> Concept:
        """Raise NotFound where there is no such concept."""
        try:
            return self.concepts[concept_id]
        except KeyError:
            raise NotFound(f"term {concept_id!r} in the vocabulary") from None

    def __contains__(self, concept_id: object) -> bool:
        return concept_id in self.concepts

    def __len__(self) -> int:
        return len(self.concepts)

    @cached_property
    def fields(self) -> tuple[str, ...]:
        """The fields of surgery that were loaded, in order of their loading."""
        return tuple(dict.fromkeys(concept.field for concept in self.concepts.values()))

    @cached_property
    def naming(self) -> Naming:
        """All forms, by their words; made when it is first asked for."""
        return Naming(self.concepts.values())

    def of_facet(self, facet: str) -> list[Concept]:
        """All concepts of a facet: steps and parts in their usual order, the others by their label."""
        found = [concept for concept in self.concepts.values() if concept.facet == facet]
        return found if facet in ORDERED else sorted(found, key=lambda concept: concept.label.casefold())

    def coarse(self, step: str) -> str:
        """The broadest step that a step belongs to: itself where it has none above it."""
        concept = self[step]
        while concept.broader is not None:
            concept = self[concept.broader]
        return concept.id

    def narrower(self, concept_id: str) -> tuple[str, ...]:
        """The concepts right below one."""
        return self._narrower.get(concept_id, ())

    def place(self, step: str) -> int:
        """Where a step or part usually stands, from 1. Raises NotFound for what is neither."""
        try:
            return self._places[step]
        except KeyError:
            raise NotFound(f"step or part {step!r} in the vocabulary") from None

    @cached_property
    def _narrower(self) -> Mapping[str, tuple[str, ...]]:
        below: dict[str, tuple[str, ...]] = {}
        for concept in self.concepts.values():
            if concept.broader is not None:
                below[concept.broader] = (*below.get(concept.broader, ()), concept.id)
        return below

    @cached_property
    def _places(self) -> Mapping[str, int]:
        parts, steps = self.of_facet("part"), self.of_facet("step")
        # A part that follows nothing opens the operation; the others come when the steps are over.
        opening = [part for part in parts if not part.after]
        closing = [part for part in parts if part.after]
        return {concept.id: place for place, concept in enumerate([*opening, *steps, *closing], start=1)}
