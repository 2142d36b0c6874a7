"""From a transcript to its tagging: what is named, how it is meant, which step goes on when, what this eye has.

The order is written here once: words, hits of the vocabulary, the reader's word on them, mentions, measures, evidence for
the steps, segments, findings. What people decided goes in as `Given` and is taken as true.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from importlib import resources
from weakref import WeakKeyDictionary

import numpy as np
import numpy.typing as npt

from indexer.models.tagged import AssertionKind, Boundary, Given, Mention, Segment, Standing, Tagging
from indexer.models.timed import Transcript, Word
from indexer.narration.assertion import assertion_of, cue_scopes, parted_before, shipped_phrases
from indexer.narration.features import Features, facts_of, features
from indexer.narration.fields import fields_of, within
from indexer.narration.findings import findings_of
from indexer.narration.language import language_of
from indexer.narration.lexicon import Hit, Lexicon
from indexer.narration.measures import measures_of
from indexer.narration.mentions import (
    Named,
    assign,
    mentions_of,
    plain_namings,
    read_assertion,
    read_namings,
    with_given,
)
from indexer.narration.rareness import rareness
from indexer.narration.reader import Reader, Reading, shipped_reader
from indexer.narration.sounding import Ear
from indexer.narration.subject import tells_an_operation
from indexer.narration.tokens import Tokens, tokens_of
from indexer.steps.explaining import explain
from indexer.steps.flow import Flow
from indexer.steps.hints import company, hints
from indexer.steps.segmenting import Decided, Weights, segment
from indexer.vocabulary.vocabulary import Vocabulary

Floats = npt.NDArray[np.float64]

FEWEST_TOKENS = 4
"""A transcript with fewer words proposes no steps."""
PLAIN = Weights(reader=0.0, hints=0.35, changes=1.0, lengths=1.0)
LEARNED = Weights(reader=0.25, hints=0.2, changes=1.0, lengths=1.0)


class Tagger:
    """A vocabulary made ready for listening; made once, used for any number of transcripts."""

    def __init__(
        self, vocabulary: Vocabulary, reader: Reader | None, flow: Flow, weights: Weights | None = None
    ) -> None:
        self.vocabulary, self.reader, self.flow = vocabulary, reader, flow
        self.lexicon, self.ear = Lexicon(vocabulary), Ear(vocabulary)
        self.weights = weights or (LEARNED if reader else PLAIN)
        self._company, self._facts = company(vocabulary), facts_of(vocabulary)
        self._phrases = shipped_phrases()
        known = reader.concepts if reader else ()
        self._taggable = [concept in vocabulary and vocabulary[concept].facet != "part" for concept in known]

    def tag(self, transcript: Transcript, given: Given | None = None) -> Tagging:
        """Tag one transcript. What is not English is said to be so and left untagged."""
        given = given or Given()
        tokens = tokens_of(transcript.words)
        language = language_of(tokens.texts, transcript.language)
        if language not in ("en", "und"):
            return Tagging(
                language=language, remarks=(f"The transcript is not English ({language}), so it was not tagged.",)
            )
        assigned = self.assigned(tokens, given)
        hits = sorted({*self.hits(tokens), *assigned})
        reading = self.read(tokens, hits)
        proposed = self.mentions(tokens, transcript.words, hits, reading, assigned)
        mentions = with_given(proposed, given.mentions, transcript.words)
        undecided = given.model_copy(update={"cuts_ms": ()}) == Given()
        if undecided and not tells_an_operation(tokens, mentions, hits):
            return Tagging(language=language, remarks=("These words hardly speak of an operation; none were tagged.",))
        segments = self.segments(tokens, transcript.words, hits, mentions, reading, given)
        measures = measures_of(tokens, transcript.words, self.vocabulary, segments, mentions)
        return Tagging(
            language=language,
            segments=tuple(segments),
            mentions=tuple(mentions),
            measures=tuple(measures),
            findings=tuple(findings_of(mentions, self.vocabulary, measures)),
        )

    def assigned(self, tokens: Tokens, given: Given) -> list[Hit]:
        """Where misheard forms stand that a person assigned to a concept."""
        if not given.heard:
            return []
        return Lexicon.of_heard(self.vocabulary, [(form.heard, form.concept) for form in given.heard]).hits(
            tokens.texts
        )

    def hits(self, tokens: Tokens) -> list[Hit]:
        """Where the vocabulary's forms stand, as written or by their sound."""
        return self.lexicon.hits(tokens.texts, self.ear.alternatives(tokens.texts, tokens.starts_ms, tokens.ends_ms))

    def read(self, tokens: Tokens, hits: Sequence[Hit]) -> Reading | None:
        """The reader's word on the tokens, or None where no reader has been taught."""
        if self.reader is None:
            return None
        return self.reader.read(self.described(tokens, hits, self.reader.numbers))

    def described(self, tokens: Tokens, hits: Sequence[Hit], numbers: Mapping[str, int]) -> Features:
        """What a reader with concepts of these numbers is told of the tokens."""
        scopes = cue_scopes(tokens.texts, parted_before(tokens), self._phrases)
        rare = [rareness(text) for text in tokens.texts]
        return features(tokens, hits, numbers, rare, self._facts, scopes)

    def mentions(
        self,
        tokens: Tokens,
        words: Sequence[Word],
        hits: Sequence[Hit],
        reading: Reading | None,
        assigned: Sequence[Hit] = (),
    ) -> list[Mention]:
        """What is named, learned concepts by the reader's word, others by the vocabulary alone, and what was assigned."""
        learned: dict[str, int] = self.reader.numbers if self.reader else {}
        namings = plain_namings(hits, learned.__contains__, tokens.texts)
        if reading is not None and self.reader is not None:
            namings = sorted([*namings, *read_namings(reading, self.reader, self._taggable, hits)])

        parted = parted_before(tokens)

        def meant(naming: Named) -> tuple[AssertionKind, float]:
            if reading is not None and naming.concept in learned:
                return read_assertion(naming, reading)
            return assertion_of(tokens.texts, parted, naming.first, naming.last, self._phrases)

        namings = assign(namings, assigned)
        return mentions_of([one for one in namings if self._may_be_named(one.concept)], tokens, words, hits, meant)

    def _may_be_named(self, concept: str) -> bool:
        return concept in self.vocabulary and self.vocabulary[concept].facet not in ("part", "measure")

    def evidence(
        self, tokens: Tokens, hits: Sequence[Hit], mentions: Sequence[Mention], reading: Reading | None
    ) -> Floats:
        """Weighed evidence for each step of the flow at each token: (tokens, steps)."""
        heard = self.weights.hints * hints(tokens, hits, mentions, self.vocabulary, self.flow.steps, self._company)
        if reading is None or self.reader is None:
            return heard
        learned = np.zeros_like(heard)
        floor = reading.steps.min(axis=1) if len(tokens) else np.zeros(0)
        for column, step in enumerate(self.flow.steps):
            learned[:, column] = reading.steps[:, self.reader.steps.index(step)] if step in self.reader.steps else floor
        return heard + self.weights.reader * learned

    def segments(
        self,
        tokens: Tokens,
        words: Sequence[Word],
        hits: Sequence[Hit],
        mentions: Sequence[Mention],
        reading: Reading | None,
        given: Given,
    ) -> list[Segment]:
        """Which step goes on when."""
        if len(tokens) < FEWEST_TOKENS:
            return []
        evidence = self.evidence(tokens, hits, mentions, reading)
        flow = self.flow.with_operations(given.operations)
        decided = segment(tokens, evidence, flow, given, self.weights)
        reasons = explain(decided, evidence, tokens, words, hits, flow, self.vocabulary)
        return [self._written(one, because) for one, because in zip(decided, reasons, strict=True)]

    def _written(self, decided: Decided, because: tuple) -> Segment:  # type: ignore[type-arg]
        start: Boundary = decided.start
        return Segment(
            step=self.flow.steps[decided.step],
            start=start,
            end=decided.end,
            confidence=round(decided.confidence, 4),
            evidence=because,
        )


class Taggers:
    """The taggers of a vocabulary with several fields: a narration is tagged as its own field alone would tag it."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        self._lexicon = Lexicon(vocabulary)
        self._made: dict[tuple[str, ...], Tagger] = {}

    def tag(self, transcript: Transcript, given: Given | None = None) -> Tagging:
        """Find the field, or the fields of a combined operation, and tag the transcript within it."""
        fields = self.fields(transcript, given or Given())
        if fields not in self._made:
            self._made[fields] = shipped_tagger(within(fields, self.vocabulary), fields)
        return self._made[fields].tag(transcript, given)

    def fields(self, transcript: Transcript, given: Given) -> tuple[str, ...]:
        """The fields that the words speak for, and those of everything that a person decided."""
        found = set(fields_of(self._lexicon.hits(tokens_of(transcript.words).texts), self.vocabulary))
        known = within(tuple(found), self.vocabulary)
        decided = {one.step for one in given.segments if one.standing is Standing.ACCEPTED}
        decided.update(one.concept for one in given.mentions if one.concept is not None)
        foreign = {one for one in decided if one in self.vocabulary and one not in known}
        found.update(self.vocabulary[one].field for one in foreign)
        return tuple(field for field in self.vocabulary.fields if field in found)


def shipped_tagger(vocabulary: Vocabulary, fields: Sequence[str] = ()) -> Tagger:
    """The tagger with what ships for the first of the fields that has been taught: its reader, its order and lengths.

    Without `fields`, those of the vocabulary. Where a reader knows the steps of some fields only, it has no word on steps.
    """
    fields = fields or vocabulary.fields
    sources = [resources.files("schemas").joinpath("learned", f"{field}-flow.json") for field in fields]
    taught = [(field, source) for field, source in zip(fields, sources, strict=True) if source.is_file()]
    if not taught:
        return Tagger(vocabulary, None, Flow(vocabulary))
    field, source = taught[0]
    flow = Flow(vocabulary, counts=json.loads(source.read_text(encoding="utf-8")))
    return Tagger(vocabulary, shipped_reader(field), flow, None if len(fields) == 1 else PLAIN)


_TAGGERS: WeakKeyDictionary[Vocabulary, Tagger | Taggers] = WeakKeyDictionary()


def tag(transcript: Transcript, vocabulary: Vocabulary, given: Given | None = None) -> Tagging:
    """Tag one transcript; what a vocabulary needs to be ready is made at the first call and kept while it lives."""
    tagger = _TAGGERS.get(vocabulary)
    if tagger is None:
        several = len(vocabulary.fields) > 1
        tagger = _TAGGERS[vocabulary] = Taggers(vocabulary) if several else shipped_tagger(vocabulary)
    return tagger.tag(transcript, given)
