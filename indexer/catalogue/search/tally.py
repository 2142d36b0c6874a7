"""What every passage has, kept in memory for counting: made anew when the marks have changed."""

from __future__ import annotations

import threading
from collections import defaultdict
from collections.abc import Mapping

from sqlalchemy import Connection, select

from indexer.catalogue import revision
from indexer.catalogue.tables import findings, measures, mentions, segments
from indexer.models import AssertionKind, Standing
from indexer.vocabulary.vocabulary import Vocabulary

THINGS = ("technique", "device", "agent", "event")


class Tally:
    """For each passage its step, the things done in it, its measures and the findings of its case, broader ones too.

    It knows all passages, whoever may see them: only keys that a viewer's query found are ever looked up.
    """

    def __init__(self, vocabulary: Vocabulary) -> None:
        self._vocabulary, self._lock = vocabulary, threading.Lock()
        self._number: int | None = None
        self._has: Mapping[int, tuple[str, ...]] = {}

    def read(self, connection: Connection) -> Mapping[int, tuple[str, ...]]:
        """Concepts by key of segment, as this transaction sees them."""
        number = revision.current(connection)
        with self._lock:
            if number != self._number:
                self._has, self._number = self._made(connection), number
            return self._has

    def _made(self, connection: Connection) -> dict[int, tuple[str, ...]]:
        above = {concept: self._above(concept) for concept in self._vocabulary.concepts}
        things = {each.id for facet in THINGS for each in self._vocabulary.of_facet(facet)}
        has: dict[int, set[str]] = {}
        keys: dict[str, list[int]] = defaultdict(list)
        chosen = select(segments.c.key, segments.c.step, segments.c.case_id)
        for key, step, case_id in connection.execute(chosen.where(segments.c.standing != Standing.REFUSED)):
            has[key] = set(above.get(step, ()))
            keys[case_id].append(key)
        kept = (mentions.c.assertion == AssertionKind.DONE, mentions.c.standing != Standing.REFUSED)
        done = select(mentions.c.segment_key, mentions.c.concept).where(*kept).distinct()
        numbers = select(measures.c.segment_key, measures.c.measure).where(measures.c.standing != Standing.REFUSED)
        for marks, known in ((done, things), (numbers.distinct(), set(above))):
            for key, concept in connection.execute(marks):
                if key in has and concept in known:
                    has[key].update(above[concept])
        of_eye = select(findings.c.case_id, findings.c.concept).where(findings.c.standing != Standing.REFUSED)
        for case_id, concept in connection.execute(of_eye):
            for key in keys[case_id]:
                has[key].update(above.get(concept, ()))
        return {key: tuple(concepts) for key, concepts in has.items()}

    def _above(self, concept: str) -> tuple[str, ...]:
        """A concept and all broader ones."""
        found, broader = [concept], self._vocabulary[concept].broader
        while broader is not None:
            found.append(broader)
            broader = self._vocabulary[broader].broader
        return tuple(found)
