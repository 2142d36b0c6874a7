"""The address bar holds the whole question: how it is read from an address, and written into one."""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import urlencode

from pydantic import ValidationError
from werkzeug.datastructures import MultiDict

from indexer.errors import QueryUnreadable
from indexer.models.cases import MeasureRange, Query
from indexer.models.frozen import Frozen
from indexer.models.tagged import AssertionKind
from indexer.vocabulary.vocabulary import Vocabulary

PER_PAGE = 20
LAST_PAGE = 50
FILTERS = ("part", "step", "technique", "device", "agent", "finding", "event")
"""Facets that are chosen from by ticking; measures and assertions have their own form."""


class Asked(Frozen):
    """A question as it stands in an address."""

    text: str = ""
    filters: Mapping[str, tuple[str, ...]] = {}
    assertion: AssertionKind | None = None
    measure: str | None = None
    least: float | None = None
    most: float | None = None
    page: int = 1

    @property
    def empty(self) -> bool:
        """Whether nothing is asked at all."""
        return not (self.text or self.filters or self.assertion or self.measure)

    @property
    def narrowed(self) -> int:
        """How many filters are set."""
        return sum(map(len, self.filters.values())) + bool(self.assertion) + bool(self.measure)

    def query(self) -> Query:
        """What the catalogue is asked. Raises QueryUnreadable where the text is too long."""
        measures = (MeasureRange(measure=self.measure, low=self.least, high=self.most),) if self.measure else ()
        try:
            return Query(
                text=self.text,
                filters=self.filters,
                assertion=self.assertion,
                measures=measures,
                limit=PER_PAGE,
                offset=(self.page - 1) * PER_PAGE,
            )
        except ValidationError as fault:
            raise QueryUnreadable(self.text, "The question is too long; ask in fewer than 1000 letters.") from fault

    def address(self, path: str = "/", **changes: object) -> str:
        """The address of this question, changed; a change of anything but the page goes back to the first page."""
        other = self.model_copy(update={"page": 1, **changes})
        pairs: list[tuple[str, str]] = [("q", other.text)] if other.text else []
        pairs += [(facet, concept) for facet in FILTERS for concept in other.filters.get(facet, ())]
        if other.assertion:
            pairs.append(("assertion", other.assertion.value))
        if other.measure:
            pairs.append(("measure", other.measure))
            pairs += [
                (name, f"{value:g}")
                for name, value in (("least", other.least), ("most", other.most))
                if value is not None
            ]
        if other.page > 1:
            pairs.append(("page", str(other.page)))
        return f"{path}?{urlencode(pairs)}" if pairs else path

    def without(self, facet: str, concept: str) -> str:
        """The address with one filter taken off."""
        kept = {key: tuple(one for one in ids if (key, one) != (facet, concept)) for key, ids in self.filters.items()}
        return self.address(filters={key: ids for key, ids in kept.items() if ids})

    def without_words(self, words: str) -> str:
        """The address with some words of the text taken off."""
        start = self.text.casefold().find(words.casefold())
        if start < 0:
            return self.address(text="")
        return self.address(text=" ".join((self.text[:start] + " " + self.text[start + len(words) :]).split()))


def read_address(args: MultiDict[str, str], vocabulary: Vocabulary) -> Asked:
    """The question of an address. Raises QueryUnreadable for what nothing here is called."""
    filters = {facet: tuple(dict.fromkeys(filter(None, args.getlist(facet)))) for facet in FILTERS}
    measure = args.get("measure") or None
    for concept in [*(one for ids in filters.values() for one in ids), *([measure] if measure else [])]:
        if concept not in vocabulary:
            raise QueryUnreadable(
                concept, "The address asks for a term that the vocabulary does not have. Start a new search."
            )
    return Asked(
        text=" ".join(args.get("q", "").replace("\0", " ").split()),
        filters={facet: ids for facet, ids in filters.items() if ids},
        assertion=_assertion(args.get("assertion")),
        measure=measure,
        least=_number(args.get("least"), "at least") if measure else None,
        most=_number(args.get("most"), "at most") if measure else None,
        page=_page(args.get("page")),
    )


def _assertion(value: str | None) -> AssertionKind | None:
    try:
        return AssertionKind(value) if value else None
    except ValueError:
        raise QueryUnreadable(value or "", "The address asks for something in a way that is not known here.") from None


def _number(value: str | None, name: str) -> float | None:
    if not value or not value.strip():
        return None
    try:
        number = float(value.strip().replace(",", "."))
    except ValueError:
        number = float("nan")
    if not -1e6 < number < 1e6:
        raise QueryUnreadable(value, f"The field “{name}” wants a number, for instance 5.5.")
    return number


def _page(value: str | None) -> int:
    if value is None or not value.isascii() or not value.isdigit() or len(value) > 4:
        return 1
    return min(max(1, int(value)), LAST_PAGE)
