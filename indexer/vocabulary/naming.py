"""All forms that name a concept, by their words, for reading a query."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from typing import Literal, NamedTuple

from indexer.vocabulary.concepts import Concept
from indexer.vocabulary.forms import inflections, singular
from indexer.vocabulary.words import normalise

How = Literal["label", "spoken", "short", "plural", "typing", "sound", "asked"]
Words = tuple[str, ...]

CERTAINTY: Mapping[How, float] = {
    "label": 1.0,
    "spoken": 0.98,
    "plural": 0.95,
    "typing": 0.85,
    "sound": 0.7,
    "short": 0.6,
    "asked": 0.6,
}
PLACEHOLDERS = frozenset(["the", "a", "an", "my", "i", "we", "this", "that", "these", "those", "his", "her", "its"])
"""Words that a form may have and a query may lack, or the other way round."""
LONGEST = 7
"""Words of the longest form that is looked for."""


class Name(NamedTuple):
    """A form's reading: the concept, and what kind of form it is."""

    concept: str
    how: How


def bare(words: Iterable[str]) -> Words:
    """The words without articles and pronouns; all of them where nothing else would be left."""
    kept = tuple(word for word in words if word not in PLACEHOLDERS)
    return kept or tuple(words)


class Naming:
    """Looks up spans of words; built once for a vocabulary."""

    def __init__(self, concepts: Iterable[Concept]) -> None:
        self._concepts = tuple(concepts)

    def __contains__(self, concept_id: str) -> bool:
        """Whether there is such a concept."""
        return any(concept.id == concept_id for concept in self._concepts)

    def exact(self, span: Words) -> tuple[Name, ...]:
        """What the words name as they stand."""
        return self._forms.get(span, ())

    def one_or_many(self, span: Words) -> tuple[Name, ...]:
        """What the words name if singular and plural are taken alike."""
        found = self._singulars.get(tuple(map(singular, span)), ())
        return tuple(dict.fromkeys(Name(name.concept, "plural") for name in found if name.how in ("label", "spoken")))

    def run_together(self, letters: str) -> tuple[Name, ...]:
        """What the letters name once all spaces are taken out of the forms."""
        return self._joined.get(letters, ())

    def spelled_right(self, word: str) -> bool:
        """Whether the vocabulary knows the word, or the word that it is an inflection of."""
        if word in self.ordinary or singular(word) in self.ordinary:
            return True
        stems = (word[: -len(ending)] for ending in ("ing", "ed", "es", "ly", "er") if word.endswith(ending))
        return any(stem in self.ordinary or stem + "e" in self.ordinary for stem in stems if len(stem) > 2)

    def spread(self, word: str) -> int:
        """How many concepts have the word in a form that names them: what is in many tells little."""
        return self._spread.get(word, 0)

    @cached_property
    def terms(self) -> frozenset[str]:
        """Words that stand in forms which a speaker means, mishearings left out."""
        return frozenset(
            word
            for span, names in self._forms.items()
            if any(name.how != "sound" for name in names)
            for word in span
            if not word[0].isdigit()
        )

    @cached_property
    def ordinary(self) -> frozenset[str]:
        """Words that are spelled right, as far as the vocabulary can tell."""
        texts = (text for each in self._concepts for text in (each.definition, *each.cues))
        return self.terms | {word for text in texts for word in normalise(text)}

    @cached_property
    def spans(self) -> tuple[tuple[Words, tuple[Name, ...]], ...]:
        """Every form with its readings, mishearings and short forms left out."""
        kept = ((span, tuple(name for name in names if name.how in ("label", "spoken"))) for span, names in self._items)
        return tuple((span, names) for span, names in kept if names)

    @property
    def _items(self) -> Iterable[tuple[Words, tuple[Name, ...]]]:
        return self._forms.items()

    @cached_property
    def _forms(self) -> dict[Words, tuple[Name, ...]]:
        forms: dict[Words, dict[str, Name]] = {}
        for concept in self._concepts:
            for text, how in _forms_of(concept):
                span = bare(normalise(text))
                if 0 < len(span) <= LONGEST:
                    # The better kind of form comes first and stays.
                    forms.setdefault(span, {}).setdefault(concept.id, Name(concept.id, how))
        return {span: tuple(names.values()) for span, names in forms.items()}

    @cached_property
    def _joined(self) -> dict[str, tuple[Name, ...]]:
        return {"".join(span): names for span, names in reversed(self._forms.items()) if len("".join(span)) > 5}

    @cached_property
    def _spread(self) -> Mapping[str, int]:
        having: dict[str, set[str]] = {}
        for span, names in self.spans:
            for word in span:
                having.setdefault(word, set()).update(name.concept for name in names)
        return {word: len(concepts) for word, concepts in having.items()}

    @cached_property
    def _singulars(self) -> dict[Words, tuple[Name, ...]]:
        found: dict[Words, tuple[Name, ...]] = {}
        for span, names in self._forms.items():
            key = tuple(map(singular, span))
            found[key] = (*found.get(key, ()), *names)
        return found


def _forms_of(concept: Concept) -> Iterator[tuple[str, How]]:
    """All forms of a concept, the surest kind first."""
    yield concept.label.split("(")[0], "label"
    for form in concept.spoken:
        yield form, "spoken"
    for form in concept.verbs:
        for inflected in inflections(" ".join(bare(normalise(form)))):
            yield inflected, "spoken"
    for form in concept.loose:
        yield form, "short"
    for form in concept.heard_as:
        yield form, "sound"
