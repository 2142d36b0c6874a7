"""What a person reads of a passage: the words around the place, and why it answers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import islice

from indexer.catalogue.search.asked import Asked, Term
from indexer.catalogue.search.holding import Held, Holding, Said
from indexer.catalogue.search.placing import Spoken
from indexer.catalogue.search.weighing import SCALE
from indexer.catalogue.wordlist import stems
from indexer.models import AssertionKind
from indexer.vocabulary.vocabulary import Vocabulary
from indexer.vocabulary.words import normalise

WORDS = 42
"""About three lines."""

SAID: Mapping[str, str] = {
    "device": "{} in use here",
    "agent": "{} used here",
    "technique": "{} done here",
    "event": "{} happens here",
    "finding": "{} seen here",
    "step": "{} named here as being done",
    "part": "{} named here",
    "measure": "{} given here",
}
OTHERWISE: Mapping[AssertionKind, str] = {
    AssertionKind.PLANNED: "{} planned here",
    AssertionKind.CONSIDERED: "{} only considered here",
    AssertionKind.ABSENT: "{} said not to be here",
    AssertionKind.EARLIER: "{} recalled here from earlier",
}


def why(
    asked: Asked, holding: Holding, key: int, words: frozenset[str], vocabulary: Vocabulary, spoken: Spoken = ()
) -> tuple[str, ...]:
    """Plain sentences, one for each thing that the passage has of the query."""
    told = {term: _term(term, holding.terms[term.concept], key, vocabulary) for term in asked.terms}
    sentences = [sentence for sentence in told.values() if sentence]
    said = [term.understood.text for term, sentence in told.items() if not sentence and _all_said(term, holding, key)]
    said += [asked.spelled[stem] for stem in asked.words if stem in words]
    if said:
        sentences.append("Said here: " + ", ".join(f"“{each}”" for each in dict.fromkeys(said)))
    sentences += _otherwise_said(asked, holding, key, words, spoken)
    titled = [asked.spelled[stem] for stem in asked.words if key in holding.titles.get(stem, ())]
    if titled:
        sentences.append("In the title: " + ", ".join(f"“{word}”" for word in titled))
    return tuple(dict.fromkeys(sentences))


def _otherwise_said(asked: Asked, holding: Holding, key: int, words: frozenset[str], spoken: Spoken) -> Iterator[str]:
    """What is not said itself, but in a word of a like meaning."""
    for stem, others in holding.akin.items():
        here = {other for other, keys in others.items() if key in keys}
        if here and stem not in words:
            heard = (normalise(text)[0] for text, _, _ in spoken if here & set(stems(text)))
            yield from (f"“{word}” said for “{asked.spelled[stem]}”" for word in islice(heard, 1))


def _all_said(term: Term, holding: Holding, key: int) -> bool:
    return all(key in holding.words[stem] for stem in term.stems)


def _term(term: Term, held: Held, key: int, vocabulary: Vocabulary) -> str | None:
    if key in held.steps:
        return f"This is {_label(term.concept, vocabulary).lower()}"
    best = max(held.said.get(key, ()), key=lambda naming: SCALE.asserted[naming.assertion] * naming.near, default=None)
    if best is not None and (best.assertion is AssertionKind.DONE or key not in held.findings):
        form = SAID[term.facet] if best.assertion is AssertionKind.DONE else OTHERWISE[best.assertion]
        if term.facet != "finding" or key not in held.findings:
            return form.format(_label(best.concept, vocabulary))
    if key in held.findings:
        return f"{term.label} in this eye"
    return None


def _label(concept: str, vocabulary: Vocabulary) -> str:
    return vocabulary[concept].label if concept in vocabulary else concept


def excerpt(asked: Asked, holding: Holding, key: int, spoken: Spoken, start_ms: int) -> tuple[tuple[str, bool], ...]:
    """The words from the place on, in pieces, each with whether it is what was asked for."""
    if not spoken:
        return ()
    first = next((index for index, word in enumerate(spoken) if word[1] >= start_ms), len(spoken) - 1)
    first = max(0, min(first, len(spoken) - WORDS))
    shown = spoken[first : first + WORDS]
    sought = {*asked.words, *(stem for term in asked.terms for stem in term.stems)}
    sought |= {near for alike in (*holding.alike.values(), *holding.akin.values()) for near in alike}
    namings = [naming for held in holding.terms.values() for naming in held.said.get(key, ())]
    marked = [(text, bool(sought & set(stems(text))) or _within(at_ms, namings)) for text, at_ms, _ in shown]
    pieces = _joined(marked)
    before = [("… ", False)] if first > 0 else []
    after = [(" …", False)] if first + WORDS < len(spoken) else []
    return (*before, *pieces, *after)


def _within(at_ms: int, namings: Sequence[Said]) -> bool:
    return any(naming.at_ms <= at_ms < naming.end_ms for naming in namings)


def _joined(marked: Sequence[tuple[str, bool]]) -> list[tuple[str, bool]]:
    """Neighbours of one kind become one piece; the spaces between pieces are not marked."""
    pieces: list[tuple[str, bool]] = []
    for text, matched in marked:
        if not pieces:
            pieces.append((text, matched))
        elif pieces[-1][1] == matched:
            pieces[-1] = (f"{pieces[-1][0]} {text}", matched)
        elif matched:
            pieces[-1] = (f"{pieces[-1][0]} ", False)
            pieces.append((text, True))
        else:
            pieces.append((f" {text}", False))
    return pieces
