"""A query answered: looked up, weighed, the best of it placed and told, all of it counted."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Row, func, select

from indexer.catalogue import wordlist
from indexer.catalogue.search.asked import Term, ask
from indexer.catalogue.search.counting import assertions, count, meant_at_all, meant_of, nearest
from indexer.catalogue.search.holding import Holding, hold
from indexer.catalogue.search.placing import Place, hits, place, said_from, sentence_start
from indexer.catalogue.search.scope import Scope, meant, scope
from indexer.catalogue.search.surroundings import Surroundings
from indexer.catalogue.search.tally import Tally
from indexer.catalogue.search.telling import excerpt, why
from indexer.catalogue.search.weighing import Rarity, Scales, Weight
from indexer.catalogue.tables import cases, recordings, segments
from indexer.consent import Viewer
from indexer.models import Answer, ConceptRead, FacetCount, Nearest, Passage, Query, Standing, Still
from indexer.vocabulary.vocabulary import Vocabulary

CLOSELY = 120
"""So many of the best are looked at word by word, with what lies around them."""
LOCAL = 0.1
"""A stretch that holds less than this share of what the passage counts is no place to start at."""


@dataclass(frozen=True)
class Ranked:
    """A passage on its way to an answer."""

    key: int
    weight: Weight
    score: float
    place: Place | None


def find(
    connection: Connection, viewer: Viewer, query: Query, vocabulary: Vocabulary, tally: Tally, media: Path
) -> Answer:
    """Answer a query within one transaction. Raises QueryUnreadable for an unknown filter."""
    return _Answering(connection, viewer, query, vocabulary, tally, media).answer()


class _Answering:
    def __init__(
        self,
        connection: Connection,
        viewer: Viewer,
        query: Query,
        vocabulary: Vocabulary,
        tally: Tally,
        media: Path,
    ) -> None:
        self.connection, self.query, self.vocabulary = connection, query, vocabulary
        self.tally, self.media = tally, media
        self.asked = ask(query, vocabulary)
        asked_for = {term.facet for term in self.asked.terms}
        self.talks = frozenset() if "part" in asked_for else frozenset(each.id for each in vocabulary.of_facet("part"))
        self.scope = self._scope(scope(viewer, query, vocabulary, date.today()))

    def _scope(self, found: Scope) -> Scope:
        """An assertion that is asked for has to hold for something asked for, or for anything."""
        if self.query.assertion is None or any(self.query.filters.values()):
            return found
        things = [
            concept for term in self.asked.terms if term.facet not in ("finding", "measure") for concept in term.near
        ]
        return Scope(found.holds & meant(things or None, self.query.assertion), found.source)

    def answer(self) -> Answer:
        if self.asked.nothing and not self.query.text.strip():
            return self._everything()
        holding = hold(self.connection, self.asked, self.scope)
        rarity = Rarity.of(holding, self._passages())
        scales = Scales(self.asked, holding, rarity, self.query.assertion)
        keys = scales.candidates()
        page = self._page(scales, keys)
        held = frozenset(concept for concept, each in holding.terms.items() if each.keys)
        lacking = [term for group in self._lacking(held) for term in group]
        unsaid = [stem for stem in self.asked.words if not holding.words[stem] and not holding.titles.get(stem)]
        return Answer(
            passages=tuple(self._passages_of(page, holding)),
            total=len(keys),
            whole=len(scales.whole().intersection(keys)),
            understood=self._understood(holding),
            words=tuple(self.asked.spelled[stem] for stem in self.asked.words),
            unmatched=(*(term.label for term in lacking), *(self.asked.spelled[stem] for stem in unsaid)),
            facets=self._counted(keys, holding),
            nearest=self._nearest([term.concept for term in lacking], bool(keys)),
        )

    def _counted(self, keys: list[int], holding: Holding | None) -> tuple[FacetCount, ...]:
        if not keys or not self.query.counts:
            return ()
        asked = holding is not None and bool(holding.terms)
        if holding is not None and asked:
            many = meant_of(holding, keys)
        else:
            many = meant_at_all(self.connection, self.scope, keys if holding is not None else None)
        return (*count(keys, self.tally.read(self.connection), self.vocabulary), *assertions(many))

    def _nearest(self, lacking: list[str], answered: bool) -> tuple[Nearest, ...]:
        wanted = lacking if answered or lacking else [term.concept for term in self.asked.terms]
        if not wanted:
            return ()
        return nearest(self._keys(), self.tally.read(self.connection), wanted, self.vocabulary)

    def _keys(self) -> list[int]:
        """Of all passages in scope."""
        return list(self.connection.scalars(self.scope.chosen(segments.c.key)))

    def _passages(self) -> int:
        many: int = self.connection.execute(self.scope.chosen(func.count())).scalar_one()
        return many

    def _everything(self) -> Answer:
        """Nothing is asked for but the filters: all that they leave, newest case first."""
        total = self._passages()
        order = (
            cases.c.added_at.desc(),
            cases.c.id,
            recordings.c.added_at,
            segments.c.recording_id,
            segments.c.start_ms,
        )
        source = self.scope.source.join(recordings, recordings.c.id == segments.c.recording_id)
        chosen = select(segments.c.key).select_from(source).where(self.scope.holds).order_by(*order)
        keys = list(self.connection.scalars(chosen.limit(self.query.limit).offset(self.query.offset)))
        page = [Ranked(key, Weight(0.0, frozenset(), frozenset()), 0.0, None) for key in keys]
        nothing = Holding({}, {}, {}, {}, {})
        return Answer(
            passages=tuple(self._passages_of(page, nothing)),
            total=total,
            whole=total,
            understood=(),
            words=(),
            unmatched=(),
            facets=self._counted(self._keys(), None),
            nearest=(),
        )

    def _page(self, scales: Scales, keys: list[int]) -> list[Ranked]:
        """What is asked for of all, best first; the first ones by what lies around them and how close they say it."""
        last = self.query.offset + self.query.limit
        looked = keys[: max(CLOSELY, last)]
        near = Surroundings(self.connection, self.scope, looked)
        close = [self._closely(scales, near, key) for key in looked]
        return sorted(close, key=lambda each: (-each.score, each.key))[self.query.offset : last]

    def _closely(self, scales: Scales, near: Surroundings, key: int) -> Ranked:
        found = hits(scales, key, near.spoken(key))
        after = near.after(key)
        if after is not None:
            found += hits(scales, after, near.spoken(after))
        where = place(found, near.rows[key].end_ms)
        said = said_from(where.at_ms, near.spoken(key), near.spoken(after)) if where else frozenset()
        weight = scales.weigh(key, near.around(key), where.held if where else frozenset(), said)
        counts = scales.scale.telling if near.rows[key].step in self.talks else 1.0
        return Ranked(key, weight, weight.score * counts, where)

    def _lacking(self, held: frozenset[str]) -> list[tuple[Term, ...]]:
        """The groups of terms of which nothing is held."""
        return [group for group in self.asked.groups if not held & {term.concept for term in group}]

    def _understood(self, holding: Holding) -> tuple[ConceptRead, ...]:
        return tuple(
            ConceptRead(
                text=term.understood.text,
                concept=term.concept,
                facet=term.facet,
                label=term.label,
                how=term.understood.how,
                found=len(holding.terms[term.concept].keys),
            )
            for term in self.asked.terms
            # Of what would answer, what nothing holds need not be named.
            if term.understood.how != "asked" or holding.terms[term.concept].keys
        )

    def _passages_of(self, page: list[Ranked], holding: Holding) -> list[Passage]:
        keys = [each.key for each in page]
        source = self.scope.source.join(recordings, recordings.c.id == segments.c.recording_id)
        columns = (*segments.c, cases.c.title, cases.c.eye, recordings.c.stills_ms)
        chosen = select(*columns).select_from(source).where(self.scope.holds, segments.c.key.in_(keys))
        rows = {row.key: row for row in self.connection.execute(chosen)}
        spoken = wordlist.texts(self.connection, keys)
        return [self._passage(each, rows[each.key], spoken.get(each.key, []), holding) for each in page]

    def _passage(self, each: Ranked, row: Row[Any], spoken: Any, holding: Holding) -> Passage:
        start_ms = self._start(each, row, spoken)
        lacking = [group[0].label for group in self._lacking(each.weight.terms)]
        unsaid = [self.asked.spelled[stem] for stem in self.asked.words if stem not in each.weight.words]
        known = row.step in self.vocabulary
        return Passage(
            case_id=row.case_id,
            recording_id=row.recording_id,
            segment_id=row.id,
            title=row.title,
            eye=row.eye,
            step=row.step,
            step_label=self.vocabulary[row.step].label if known else row.step,
            start_ms=start_ms,
            segment_start_ms=row.start_ms,
            end_ms=row.end_ms,
            excerpt=excerpt(self.asked, holding, each.key, spoken, start_ms),
            why=why(self.asked, holding, each.key, each.weight.words, self.vocabulary, spoken),
            score=round(each.score, 4),
            whole=not lacking if self.asked.terms else not unsaid,
            missing=(*lacking, *unsaid),
            standing=Standing(row.standing),
            still=self._still(row, start_ms),
        )

    def _start(self, each: Ranked, row: Row[Any], spoken: Any) -> int:
        """The passage's start where all of it answers, else where the best stretch of it begins to be said."""
        start: int = row.start_ms
        if each.place is None or each.place.value < LOCAL * each.weight.score:
            return start
        return max(start, sentence_start(spoken, each.place.at_ms))

    def _still(self, row: Row[Any], start_ms: int) -> Still | None:
        """The first still from where playing begins, else the last one before it."""
        times = row.stills_ms
        if not times:
            return None
        at = times[min(bisect_left(times, start_ms), len(times) - 1)]
        return Still(at_ms=at, path=self.media / row.recording_id / "stills" / f"{at}.jpg")
