"""Which step is likely to come next, or to stand between two others: by the usual order and lengths of steps."""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import lru_cache
from importlib import resources
from typing import Any

from indexer.models.tagged import Segment, Visit
from indexer.vocabulary.vocabulary import Vocabulary

OFFERED = 6
"""How many steps are offered: one row of keys."""


class Likely:
    """Offers steps by what is known of operations, and by other operations of the same surgeon."""

    def __init__(self, vocabulary: Vocabulary, operations: Sequence[Sequence[Visit]] = ()) -> None:
        # numpy stands behind it: loaded when somebody marks, not when the site starts.
        from indexer.steps.flow import Flow

        flow = Flow(vocabulary, counts=_counts(vocabulary)).with_operations(list(operations))
        self._flow, self.steps = flow, tuple(flow.steps)
        self._changes: Any = flow.log_changes()
        self._edge = len(self.steps)
        self._number = {step: number for number, step in enumerate(self.steps)}

    def first(self) -> tuple[str, ...]:
        """What operations begin with."""
        return self._best(self._changes[self._edge, :-1])

    def then(self, step: str) -> tuple[str, ...]:
        """What comes after a step."""
        row = self._number.get(step, self._edge)
        return self._best(self._changes[row, :-1], but=step)

    def rather(self, segments: Sequence[Segment], place: int) -> tuple[str, ...]:
        """What else the segment at a place of the order could be, between its neighbours and of its length."""
        import numpy

        segment = segments[place]
        before = self._number.get(segments[place - 1].step, self._edge) if place else self._edge
        after = self._number.get(segments[place + 1].step, self._edge) if place + 1 < len(segments) else self._edge
        seconds = numpy.array([(segment.end_ms - segment.start_ms) / 1000])
        fit = self._changes[before, :-1] + self._changes[:-1, after] + self._flow.log_length(seconds)[0]
        return self._best(fit, but=segment.step)

    def _best(self, scores: Any, but: str | None = None) -> tuple[str, ...]:
        order = sorted(range(self._edge), key=lambda number: -float(scores[number]))
        return tuple(self.steps[number] for number in order if self.steps[number] != but)[:OFFERED]


@lru_cache(maxsize=16)
def likely_for(vocabulary: Vocabulary, operations: tuple[tuple[Visit, ...], ...]) -> Likely:
    """What to offer in recordings of one surgeon; kept, since every deed asks for it."""
    return Likely(vocabulary, operations)


def _counts(vocabulary: Vocabulary) -> dict[str, object] | None:
    """What was counted of operations in the vocabulary's first field that has been taught."""
    for field in vocabulary.fields:
        source = resources.files("schemas").joinpath("learned", f"{field}-flow.json")
        if source.is_file():
            counted: dict[str, object] = json.loads(source.read_text(encoding="utf-8"))
            return counted
    return None
