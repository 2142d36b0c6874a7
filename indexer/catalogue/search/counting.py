"""How many of the passages that answer have each concept, and what is near to a concept that has nothing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, distinct, func, select
from sqlalchemy.sql.selectable import FromClause

from indexer.catalogue.search.asked import below
from indexer.catalogue.search.holding import Holding
from indexer.catalogue.search.scope import Scope, meant
from indexer.catalogue.tables import cases, findings, measures, mentions, segments
from indexer.models import AssertionKind, FacetCount, Nearest, Standing
from indexer.vocabulary.concepts import FACETS
from indexer.vocabulary.vocabulary import Vocabulary

AT_ONCE = 10_000
"""SQLite takes 32,766 values in one statement (sqlite.org, "Implementation Limits")."""
THINGS = ("technique", "device", "agent", "event")


class Counts:
    """Counts over some passages of a scope: those with the given keys, or all of them."""

    def __init__(
        self, connection: Connection, vocabulary: Vocabulary, scope: Scope, keys: Sequence[int] | None
    ) -> None:
        self.connection, self.vocabulary, self.scope = connection, vocabulary, scope
        self.batches = None if keys is None else [keys[at : at + AT_ONCE] for at in range(0, len(keys), AT_ONCE)]

    def facets(self, holding: Holding | None) -> tuple[FacetCount, ...]:
        """Every concept that at least one of the passages has; a broader one counts its narrower ones too."""
        counted = self.concepts()
        found = [
            FacetCount(facet=concept.facet, id=concept.id, label=concept.label, count=counted[concept.id])
            for concept in self.vocabulary.concepts.values()
            if counted[concept.id]
        ]
        found.sort(key=lambda each: (FACETS.index(self.vocabulary[each.id].facet), -each.count, each.label))
        return (*found, *self._assertions(holding))

    def concepts(self) -> Counter[str]:
        """Passages by concept, as the filters would find them."""
        counted: Counter[str] = Counter()
        for ways in self._ways():
            counted += self._count(*ways, None)
        for concept in self.vocabulary.concepts.values():
            ids = below(self.vocabulary, concept.id)
            if len(ids) > 1:
                counted[concept.id] = self._count_any(concept.facet, ids)
        known = self.vocabulary.concepts
        return Counter({concept: many for concept, many in counted.items() if concept in known})

    def _ways(self) -> list[tuple[FromClause, ColumnElement[Any], list[ColumnElement[bool]]]]:
        """For steps, things, findings and measures: where they are kept, the column, what has to hold."""
        source = self.scope.source
        things = [
            mentions.c.assertion == AssertionKind.DONE,
            mentions.c.standing != Standing.REFUSED,
            mentions.c.concept.in_([each.id for facet in THINGS for each in self.vocabulary.of_facet(facet)]),
        ]
        return [
            (source, segments.c.step, []),
            (source.join(mentions, mentions.c.segment_key == segments.c.key), mentions.c.concept, things),
            (
                source.join(findings, findings.c.case_id == cases.c.id),
                findings.c.concept,
                [findings.c.standing != Standing.REFUSED],
            ),
            (
                source.join(measures, measures.c.segment_key == segments.c.key),
                measures.c.measure,
                [measures.c.standing != Standing.REFUSED],
            ),
        ]

    def _count(
        self,
        source: FromClause,
        column: ColumnElement[Any],
        limits: list[ColumnElement[bool]],
        ids: list[str] | None,
    ) -> Counter[str]:
        """Passages by the column's values; with ids, all of them together under the first."""
        many = func.count(distinct(segments.c.key)).label("many")
        counted: Counter[str] = Counter()
        if ids is None:
            chosen = select(column.label("id"), many).select_from(source).where(*limits).group_by(column)
        else:
            chosen = select(func.max(column).label("id"), many).select_from(source).where(*limits, column.in_(ids))
        for row in self._run(chosen):
            if row.many:
                counted[ids[0] if ids else row.id] += row.many
        return counted

    def _count_any(self, facet: str, ids: list[str]) -> int:
        steps, things, of_eye, numbers = self._ways()
        ways = {"step": steps, "part": steps, "finding": of_eye, "measure": numbers}.get(facet, things)
        return self._count(*ways, ids)[ids[0]]

    def _run(self, chosen: Select[Any]) -> Iterable[Any]:
        limited = chosen.where(self.scope.holds)
        if self.batches is None:
            yield from self.connection.execute(limited)
            return
        for batch in self.batches:
            yield from self.connection.execute(limited.where(segments.c.key.in_(batch)))

    def _assertions(self, holding: Holding | None) -> list[FacetCount]:
        """How the things asked for are meant; anything, where nothing was asked for."""
        many = self._meant_of(holding) if holding and holding.terms else self._meant_at_all()
        found = [
            FacetCount(facet="assertion", id=kind.value, label=kind.value.capitalize(), count=many[kind])
            for kind in AssertionKind
            if many[kind]
        ]
        return sorted(found, key=lambda each: -each.count)

    def _meant_of(self, holding: Holding) -> Counter[AssertionKind]:
        """What is done in a passage counts as done, whatever else is said of it there."""
        meant_so: dict[AssertionKind, set[int]] = {kind: set() for kind in AssertionKind}
        within = {key for batch in self.batches or [] for key in batch}
        for held in holding.terms.values():
            for key, said in held.said.items():
                kinds = {naming.assertion for naming in said}
                for kind in kinds & {AssertionKind.DONE} or kinds:
                    meant_so[kind].add(key)
        return Counter({kind: len(keys & within) for kind, keys in meant_so.items()})

    def _meant_at_all(self) -> Counter[AssertionKind]:
        counted: Counter[AssertionKind] = Counter()
        for kind in AssertionKind:
            chosen = select(func.count().label("many")).select_from(self.scope.source).where(meant(None, kind))
            counted[kind] = sum(row.many for row in self._run(chosen))
        return counted


def nearest(counts: Counts, lacking: Iterable[str], *, most: int = 6) -> tuple[Nearest, ...]:
    """Concepts next to those that nothing here has, which something has: of the same kind first."""
    vocabulary, counted = counts.vocabulary, counts.concepts()
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
    """Narrower, broader and sister concepts, then those of the same facet that turn up in the same steps."""
    here = vocabulary[concept]
    close = [*below(vocabulary, concept)[1:]]
    if here.broader is not None:
        close += [here.broader, *vocabulary.narrower(here.broader)]
    shared = [each for each in vocabulary.of_facet(here.facet) if set(each.steps) & set(here.steps)]
    return [*close, *here.steps, *here.tools, *(each.id for each in shared)]
