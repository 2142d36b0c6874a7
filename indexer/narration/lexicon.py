"""The vocabulary's forms as one automaton over words: every place where a form stands, found in one pass."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import IntEnum
from functools import lru_cache
from threading import Lock
from typing import Any, NamedTuple

from indexer.narration.inflection import noun_forms, verb_forms
from indexer.narration.rareness import rareness
from indexer.vocabulary.concepts import Concept
from indexer.vocabulary.vocabulary import Vocabulary
from indexer.vocabulary.words import normalise

WILDCARD = "*"
MOST_SKIPPED = 2
MOST_READ_OTHERWISE = 2
"""Words of one form that may be read by their sound."""
COMMON_WORD, RARE_WORD = 0.3, 0.55
"""Rareness above which a word of a label, of another form, is listened for."""
_ENDS = ""  # no word is empty: the key under which a node keeps the forms that end there


class Kind(IntEnum):
    """In what way a stretch of words stands for a concept, from surest to least sure."""

    SPOKEN = 0
    VERB = 1
    LOOSE = 2
    HEARD_AS = 3
    SOUND = 4
    CUE = 5


class Hit(NamedTuple):
    """Words `first` up to, not including, `last` may stand for `concept`."""

    first: int
    last: int
    concept: str
    kind: Kind
    distance: float = 0.0
    """Of sounds, from 0 (alike) to 1; 0 for words found as they are written."""


class Alternative(NamedTuple):
    """Words `first` up to, not including, `last` may have been said as `words`."""

    first: int
    last: int
    words: tuple[str, ...]
    distance: float


@lru_cache(maxsize=50_000)
def form_words(form: str) -> tuple[str, ...]:
    """Normalise one form, keeping its wildcards."""
    pieces = form.split(WILDCARD)
    words: list[str] = []
    for number, piece in enumerate(pieces):
        if number:
            words.append(WILDCARD)
        words.extend(normalise(piece))
    return tuple(words)


def forms_of(concept: Concept) -> Iterator[tuple[tuple[str, ...], Kind]]:
    """Every form of a concept with its inflections."""
    for form in (concept.label, *concept.spoken):
        for words in noun_forms(form_words(form)):
            yield words, Kind.SPOKEN
    for form in concept.verbs:
        for words in verb_forms(form_words(form)):
            yield words, Kind.VERB
    for form in concept.loose:
        for words in noun_forms(form_words(form)):
            yield words, Kind.LOOSE
    for form in concept.heard_as:
        yield form_words(form), Kind.HEARD_AS
    for form in concept.cues:
        for words in verb_forms(form_words(form)):
            yield words, Kind.CUE


def trade_words(vocabulary: Vocabulary) -> set[tuple[str, ...]]:
    """The words that are worth listening for: rare words of the forms, all words and pairs of the labels."""
    found: set[tuple[str, ...]] = set()
    for concept in vocabulary.concepts.values():
        if concept.facet in ("measure", "part"):
            continue
        label = form_words(concept.label)
        found.update((word,) for word in label if rareness(word) > COMMON_WORD)
        if len(label) == 2:
            found.add(label)
        for form in (*concept.spoken, *concept.verbs, *concept.loose):
            found.update((word,) for word in form_words(form) if word != WILDCARD and rareness(word) > RARE_WORD)
    return {words for words in found if words[0].isalpha()}


class Lexicon:
    """All forms of a vocabulary, ready to be looked for.

    Forms wait by their first word and join the automaton when that word is first said: most of them never are.
    """

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        self._root: dict[str, Any] = {}
        self._waiting: dict[str, list[tuple[tuple[str, ...], str, Kind]]] = {}
        self._growing = Lock()
        for concept in vocabulary.concepts.values():
            if concept.facet == "measure":
                continue
            for words, kind in forms_of(concept):
                if words and words.count(WILDCARD) < len(words):
                    self._waiting.setdefault(words[0], []).append((words, concept.id, kind))

    @classmethod
    def of_heard(cls, vocabulary: Vocabulary, forms: Iterable[tuple[str, str]]) -> Lexicon:
        """A lexicon of misheard forms alone: (words, concept id). Forms of unknown concepts are left out."""
        lexicon = cls.__new__(cls)
        lexicon.vocabulary, lexicon._root = vocabulary, {}
        lexicon._waiting, lexicon._growing = {}, Lock()
        for form, concept in forms:
            words = form_words(form)
            if words and concept in vocabulary:
                lexicon._add(words, concept, Kind.SPOKEN)
        return lexicon

    def _grow(self, first_words: set[str]) -> None:
        """Take up the forms that begin with these words."""
        with self._growing:
            for word in first_words & self._waiting.keys():
                for form in self._waiting.pop(word):
                    self._add(*form)

    def _add(self, words: Sequence[str], concept: str, kind: Kind) -> None:
        node = self._root
        for word in words:
            node = node.setdefault(word, {})
        ends: dict[str, Kind] = node.setdefault(_ENDS, {})
        ends[concept] = min(kind, ends.get(concept, kind))

    def hits(self, texts: Sequence[str], alternatives: Iterable[Alternative] = ()) -> list[Hit]:
        """Every form that stands in the words or in other readings of them, overlapping ones included, in order."""
        others: dict[int, list[Alternative]] = {}
        for alternative in alternatives:
            others.setdefault(alternative.first, []).append(alternative)
        self._grow({WILDCARD, *texts, *(other.words[0] for many in others.values() for other in many)})
        found: dict[tuple[int, int, str, bool], tuple[Kind, float]] = {}
        for first in range(len(texts)):
            for last, concept, kind, heard, share in self._from(texts, first, others):
                key = (first, last, concept, kind is Kind.CUE)
                found[key] = min((kind, heard * share), found.get(key, (Kind.CUE, 1.0)))
        return [Hit(*key[:3], kind, distance) for key, (kind, distance) in sorted(found.items())]

    def _from(
        self, texts: Sequence[str], first: int, others: Mapping[int, Sequence[Alternative]]
    ) -> Iterator[tuple[int, str, Kind, float, float]]:
        """Forms that begin at a word: where they end, the concept, the kind, the farthest reading, its share of the form."""
        ready: list[tuple[dict[str, Any], int, float, int, int]] = [(self._root, first, 0.0, 0, 0)]
        while ready:
            node, index, farthest, read_otherwise, length = ready.pop()
            for concept, kind in node.get(_ENDS, {}).items():
                if not read_otherwise:
                    yield index, concept, kind, 0.0, 0.0
                elif kind is not Kind.HEARD_AS:
                    # The more of a form stands as it is written, the less the odd word in it matters.
                    share = read_otherwise / length
                    yield index, concept, kind if kind is Kind.CUE else Kind.SOUND, farthest, 0.5 + 0.5 * share
            skipping = node.get(WILDCARD)
            if skipping is not None:
                reach = min(MOST_SKIPPED, len(texts) - index)
                ready.extend((skipping, index + gap, farthest, read_otherwise, length) for gap in range(reach + 1))
            if index < len(texts):
                following = node.get(texts[index])
                if following is not None:
                    ready.append((following, index + 1, farthest, read_otherwise, length + 1))
                if read_otherwise < MOST_READ_OTHERWISE:
                    for other in others.get(index, ()):
                        target = _walk(node, other.words)
                        if target is not None:
                            size = len(other.words)
                            far = max(farthest, other.distance)
                            ready.append((target, other.last, far, read_otherwise + size, length + size))


def _walk(node: dict[str, Any], words: Sequence[str]) -> dict[str, Any] | None:
    """The node that words lead to, or None."""
    for word in words:
        if word not in node:
            return None
        node = node[word]
    return node
