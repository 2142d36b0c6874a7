"""Numbers with a meaning: which measure an amount belongs to, by its unit, the words around it, and the step going on.

What may speak for a measure is data of the vocabulary: its unit's spoken forms, its range, the words that it is said with.
How much each clue counts was learned from marked narrations; a vocabulary of which nothing was learned is read with the
weights that hold for any measure.
"""

from __future__ import annotations

from collections.abc import Sequence
from weakref import WeakKeyDictionary

from indexer.models.tagged import Measure, Mention, Segment
from indexer.models.timed import Word
from indexer.narration.clues import Clues, Reading
from indexer.narration.surroundings import Seen, Surroundings, context
from indexer.narration.tokens import Tokens
from indexer.narration.weighing import ClueWeights, shipped_weights
from indexer.vocabulary.vocabulary import Vocabulary

BELIEVED = 0.4
"""Probability from which an amount is taken as a measure."""
ANY = "any"
REMEMBERED = 60
"""Measures found before that are still looked at."""


class MeasureReader:
    """The measures of one vocabulary and the weights to read them with.

    Measures that the field's weights were learned with are read with those, all others with the weights for any measure.
    """

    def __init__(self, vocabulary: Vocabulary, weights: ClueWeights | None = None) -> None:
        self.clues = Clues(vocabulary)
        self.names = [measure.id for measure in self.clues.measures]
        self._groups = [(weights, frozenset(range(len(self.names))))] if weights else _groups(vocabulary, self.names)

    def read(
        self, tokens: Tokens, words: Sequence[Word], segments: Sequence[Segment], mentions: Sequence[Mention]
    ) -> list[Measure]:
        """The measures of a narration, in order."""
        if not self.names:
            return []
        around = self.clues.surroundings(tokens, words, segments, mentions)
        before: list[Seen] = []
        found = []
        for index, amount in enumerate(around.amounts):
            best, sure = self._judged(around, index, before)
            if best is not None:
                found.append(self._written(best, sure, around, index))
                seen = Seen(best.measure, best.low, best.high, index, tokens.starts_ms[amount.first])
                before = [*before[-REMEMBERED:], seen]
        return found

    def _judged(self, around: Surroundings, index: int, before: Sequence[Seen]) -> tuple[Reading | None, float]:
        """The likeliest measure of an amount and its probability, or None where it is likelier to be none."""
        readings = self.clues.readings(around, index, before)
        chosen: tuple[Reading | None, float] = None, 0.0
        if len(readings) == 1:
            return chosen
        said = list(context(around, index, before, self.names))
        for weights, measures in self._groups:
            some = [readings[0], *(reading for reading in readings[1:] if reading.measure in measures)]
            chances = weights.chances(some, said, self.names)
            best = max(range(1, len(some)), key=chances.__getitem__, default=0)
            if best and chances[best] >= BELIEVED and chances[best] > chosen[1]:
                chosen = some[best], chances[best]
        return chosen

    def _written(self, reading: Reading, sure: float, around: Surroundings, index: int) -> Measure:
        amount, tokens = around.amounts[index], around.tokens
        measure = self.clues.measures[reading.measure]
        first, last = tokens.words[amount.first], tokens.words[amount.last - 1] + 1
        return Measure(
            measure=measure.id,
            low=round(reading.low, 3),
            high=round(reading.high, 3),
            unit=measure.unit or "1",
            start_ms=tokens.starts_ms[amount.first],
            end_ms=tokens.ends_ms[amount.last - 1],
            first_word=first,
            last_word=last,
            heard=" ".join(word.text for word in around.words[first:last]),
            confidence=round(sure, 4),
        )


def _groups(vocabulary: Vocabulary, names: Sequence[str]) -> list[tuple[ClueWeights, frozenset[int]]]:
    """Weights, each with the measures (by index) that it is to be used for."""
    left = set(range(len(names)))
    groups = []
    for field in vocabulary.fields:
        weights = shipped_weights(field)
        own = frozenset(index for index in left if weights and names[index] in weights.known())
        if weights and own:
            groups.append((weights, own))
            left -= own
    return [*groups, (shipped_weights(ANY) or ClueWeights({}, {}), frozenset(left))] if left else groups


_READERS: WeakKeyDictionary[Vocabulary, MeasureReader] = WeakKeyDictionary()


def read_with(vocabulary: Vocabulary, weights: ClueWeights) -> None:
    """Read the measures of this vocabulary with other weights than those that ship, for as long as it lives."""
    _READERS[vocabulary] = MeasureReader(vocabulary, weights)


def measures_of(
    tokens: Tokens,
    words: Sequence[Word],
    vocabulary: Vocabulary,
    segments: Sequence[Segment],
    mentions: Sequence[Mention],
) -> list[Measure]:
    """The measures of a narration, in order."""
    reader = _READERS.get(vocabulary)
    if reader is None:
        reader = _READERS[vocabulary] = MeasureReader(vocabulary)
    return reader.read(tokens, words, segments, mentions)
