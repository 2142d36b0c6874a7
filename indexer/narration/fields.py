"""Which field of surgery a narration belongs to, and what of the vocabulary that field has a use for.

Words such as "port" or "cutter" are of several fields, so a narration is given as a whole to the field, or the fields of a
combined operation, that most of its words speak for; only then is it asked what each word names.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from indexer.narration.lexicon import Hit, Kind
from indexer.vocabulary.concepts import Concept
from indexer.vocabulary.vocabulary import ORDERED, Vocabulary

POINTING = ("tools", "steps", "after", "before", "excludes")
COMBINED, COMBINED_WORDS = 0.5, 6
"""A further field takes part if so large a share of the leading field's own words, and so many more, are its own."""


def shared_with(field: str, vocabulary: Vocabulary) -> frozenset[str]:
    """Concepts of other fields that a field uses: those it points to, and the measures of the steps among them."""
    foreign = {concept.id for concept in vocabulary.concepts.values() if concept.field != field}
    own = [concept for concept in vocabulary.concepts.values() if concept.field == field]
    shared = {target for concept in own for target in _targets(concept)} & foreign
    steps = {target for target in shared if vocabulary[target].facet in ORDERED}
    shared.update(
        concept.id
        for concept in vocabulary.of_facet("measure")
        if concept.field != field and not steps.isdisjoint(concept.steps)
    )
    return frozenset(shared)


def within(fields: Sequence[str], vocabulary: Vocabulary) -> Vocabulary:
    """The vocabulary of some of its fields and of what they share with the others, with no word of anything else.

    A step of another field stands where the fields' own steps place it: behind the last one that comes before it, else first.
    """
    shared = {target for field in fields for target in shared_with(field, vocabulary)}
    own = [concept for concept in vocabulary.concepts.values() if concept.field in fields]
    borrowed = [concept for concept in vocabulary.concepts.values() if concept.id in shared - {one.id for one in own}]
    if len(own) + len(borrowed) == len(vocabulary):
        return vocabulary
    place = {concept.id: float(number) for number, concept in enumerate(own)}
    for concept in borrowed:
        earlier = [place[one.id] for one in own if concept.id in one.before]
        place[concept.id] = max(earlier, default=-1.0) + 0.5
    kept = sorted([*own, *borrowed], key=lambda concept: place[concept.id])
    return Vocabulary(_without_others(concept, place) for concept in kept)


def fields_of(hits: Iterable[Hit], vocabulary: Vocabulary) -> tuple[str, ...]:
    """The fields that a narration with these hits belongs to, in the vocabulary's order; the first where nothing is named."""
    users = _users(vocabulary)
    spoken: dict[str, set[int]] = {field: set() for field in vocabulary.fields}
    for hit in hits:
        if hit.kind in (Kind.SPOKEN, Kind.VERB):
            for field in users[hit.concept]:
                spoken[field].update(range(hit.first, hit.last))
    leading = max(spoken, key=lambda field: len(spoken[field]))
    return tuple(field for field in spoken if field == leading or _takes_part(spoken[field], spoken[leading]))


def _takes_part(words: set[int], leading: set[int]) -> bool:
    return len(words - leading) >= COMBINED_WORDS + COMBINED * len(leading - words)


def _users(vocabulary: Vocabulary) -> dict[str, list[str]]:
    """For each concept the fields that use it."""
    users = {concept.id: [concept.field] for concept in vocabulary.concepts.values()}
    for field in vocabulary.fields:
        for concept in shared_with(field, vocabulary):
            users[concept].append(field)
    return users


def _targets(concept: Concept) -> tuple[str, ...]:
    pointed = [target for name in POINTING for target in getattr(concept, name)]
    return (*pointed, concept.broader) if concept.broader else tuple(pointed)


def _without_others(concept: Concept, kept: Mapping[str, object]) -> Concept:
    """A concept without its references to what is not kept."""
    if all(target in kept for target in _targets(concept)):
        return concept
    update: dict[str, Any] = {name: tuple(one for one in getattr(concept, name) if one in kept) for name in POINTING}
    update["broader"] = concept.broader if concept.broader in kept else None
    return concept.model_copy(update=update)
