"""Which passages hold what is asked for, read from the database term by term and word by word."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, NamedTuple

from sqlalchemy import Connection, Select, exists, literal, select

from indexer.catalogue import wordlist
from indexer.catalogue.search.asked import Asked, Term
from indexer.catalogue.search.associating import like_meaning
from indexer.catalogue.search.scope import Scope
from indexer.catalogue.tables import cases, findings, measures, mentions, segments
from indexer.models import AssertionKind, Standing

KINDS = {kind.value: kind for kind in AssertionKind}
SURE = 0.1
"""The power to which a confidence is taken: enough to prefer the surer of equals; more made the search worse."""


class Said(NamedTuple):
    """A naming of a concept within a passage."""

    at_ms: int
    end_ms: int
    concept: str
    assertion: AssertionKind
    near: float
    """What the concept counts for the one asked for, the less the less sure it is that it was named."""


@dataclass
class Held:
    """How one term is held, by key of segment: the step itself, the eye's findings, and namings."""

    steps: dict[int, float] = field(default_factory=dict)
    findings: dict[int, float] = field(default_factory=dict)
    said: dict[int, list[Said]] = field(default_factory=lambda: defaultdict(list))

    @property
    def keys(self) -> set[int]:
        """All passages that hold it in any way."""
        return {*self.steps, *self.findings, *self.said}


@dataclass(frozen=True)
class Holding:
    """All that was found. `words` has, for each stem asked for, how often each segment says it or one spelled alike."""

    terms: dict[str, Held]
    words: dict[str, dict[int, int]]
    alike: dict[str, tuple[str, ...]]
    """For a word that nobody says: those that are said and look like it."""
    akin: dict[str, dict[str, set[int]]]
    """For each word: those of a like meaning that are said somewhere, with the passages that say them."""
    titles: dict[str, set[int]]
    """For each stem, the passages of cases that have it in their title."""


def hold(connection: Connection, asked: Asked, scope: Scope) -> Holding:
    """Look everything up within the scope."""
    words, alike = {}, {}
    for stem in dict.fromkeys((*asked.words, *(each for term in asked.terms for each in term.stems))):
        words[stem] = wordlist.holding(connection, stem, scope.holds)
        if not words[stem] and stem in asked.words:
            alike[stem] = tuple(wordlist.alike(connection, stem, scope.holds))
            for near in alike[stem]:
                for key, times in wordlist.holding(connection, near, scope.holds).items():
                    words[stem][key] = words[stem].get(key, 0) + times
    held = {term.concept: _held(connection, term, scope) for term in asked.terms}
    akin = {stem: wordlist.saying(connection, like_meaning(stem), scope.holds) for stem in asked.words}
    return Holding(held, words, alike, akin, _titles(connection, asked, scope))


def _held(connection: Connection, term: Term, scope: Scope) -> Held:
    held, ids = Held(), list(term.near)
    if term.facet in ("step", "part"):
        columns = (segments.c.key, segments.c.step, segments.c.confidence, segments.c.standing)
        here = scope.chosen(*columns).where(segments.c.step.in_(ids))
        for key, step, confidence, standing in connection.execute(here).all():
            held.steps[key] = term.near[step] * sureness(confidence, standing)
    if term.facet == "finding":
        columns = (segments.c.key, findings.c.concept, findings.c.confidence, findings.c.standing)
        of_eye = select(*columns).select_from(scope.source.join(findings, findings.c.case_id == cases.c.id))
        kept = findings.c.standing != Standing.REFUSED
        of_eye = of_eye.where(scope.holds, kept, findings.c.concept.in_(ids))
        for key, concept, confidence, standing in connection.execute(of_eye).all():
            counts = term.near[concept] * sureness(confidence, standing)
            held.findings[key] = max(held.findings.get(key, 0), counts)
    for key, start, end, concept, assertion, confidence, standing in connection.execute(_namings(term, scope)).all():
        counts = term.near[concept] * sureness(confidence, standing)
        held.said[key].append(Said(start, end, concept, KINDS[assertion], counts))
    return held


@lru_cache(maxsize=4096)
def sureness(confidence: float, standing: str) -> float:
    """What a mark counts: a person's fully, a machine's the less the less sure it is."""
    return 1.0 if standing == Standing.ACCEPTED else min(1.0, max(0.0, confidence)) ** SURE


def _namings(term: Term, scope: Scope) -> Select[Any]:
    """All namings of a term and those near to it; a measure is named by its number."""
    table = measures if term.facet == "measure" else mentions
    concept = measures.c.measure.label("concept") if term.facet == "measure" else mentions.c.concept
    meant = literal(AssertionKind.DONE.value).label("assertion") if table is measures else mentions.c.assertion
    times = (table.c.segment_key, table.c.start_ms, table.c.end_ms)
    chosen = select(*times, concept, meant, table.c.confidence, table.c.standing)
    source = scope.source.join(table, table.c.segment_key == segments.c.key)
    kept = table.c.standing != Standing.REFUSED
    return chosen.select_from(source).where(scope.holds, kept, concept.in_(list(term.near)))


def _titles(connection: Connection, asked: Asked, scope: Scope) -> dict[str, set[int]]:
    wanted = {*asked.words, *(each for term in asked.terms for each in term.stems)}
    found: dict[str, set[int]] = defaultdict(set)
    if not wanted:
        return found
    inside = exists().where(segments.c.case_id == cases.c.id, scope.holds)
    rows = connection.execute(select(cases.c.id, cases.c.title).where(inside)).all()
    titled = {row.id: wanted & set(wordlist.stems(row.title)) for row in rows}
    titled = {case_id: stems for case_id, stems in titled.items() if stems}
    if titled:
        chosen = scope.chosen(segments.c.key, segments.c.case_id).where(segments.c.case_id.in_(list(titled)))
        for row in connection.execute(chosen).all():
            for stem in titled[row.case_id]:
                found[stem].add(row.key)
    return found
