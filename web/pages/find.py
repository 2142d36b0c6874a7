"""The find page: a question, what was understood of it, and the passages that answer."""

from __future__ import annotations

from collections.abc import Iterable

from flask import Blueprint, render_template, request, url_for

from indexer.models.cases import Answer, ConceptRead, FacetCount, Passage
from indexer.models.frozen import Frozen
from web.asking import FILTERS, LAST_PAGE, PER_PAGE, Asked, read_address
from web.terms import Terms
from web.viewing import the_library, the_terms, the_viewer
from web.words import ASSERTIONS, FACETS, HOW_READ, SHORT_FACETS

find = Blueprint("find", __name__)


class Choice(Frozen):
    """One line of a filter."""

    id: str
    label: str
    count: int
    on: bool


class Group(Frozen):
    """One filter with its lines."""

    facet: str
    label: str
    choices: tuple[Choice, ...]

    @property
    def on(self) -> bool:
        """Whether any line of it is ticked."""
        return any(choice.on for choice in self.choices)


class Chip(Frozen):
    """Something understood or chosen, that can be taken off."""

    text: str
    kind: str
    note: str
    without: str


@find.get("/")
def page() -> str:
    """The question and its answer; without a question, what one could ask."""
    library, viewer = the_library(), the_viewer()
    asked = read_address(request.args, library.vocabulary)
    answer = library.find(viewer, asked.query())
    if asked.empty:
        return render_template("first.html", asked=asked, cases=library.cases(viewer), tries=tries(answer.facets))
    return render_template(
        "find.html",
        asked=asked,
        answer=answer,
        chips=[*understood(asked, answer), *chosen(asked, the_terms())],
        groups=groups(asked, answer.facets, the_terms()),
        measures=measure_choices(asked, answer.facets, the_terms()),
        pages=pages(asked, answer),
    )


def passage_address(passage: Passage) -> str:
    """Where a passage is watched; the part behind # lets a browser without scripts, and a copied link, start there."""
    at = f"{passage.start_ms / 1000:g}"
    return url_for("case.show", case_id=passage.case_id, recording_id=passage.recording_id, t=at, _anchor=f"t={at}")


def tries(facets: Iterable[FacetCount]) -> list[Choice]:
    """A few things that this library has, to begin with: the most frequent of each facet."""
    picked: list[Choice] = []
    for facet, many in (("finding", 3), ("device", 3), ("technique", 2), ("event", 2)):
        found = [one for one in facets if one.facet == facet][:many]
        picked += [Choice(id=one.id, label=one.label, count=one.count, on=False) for one in found]
    return picked


def understood(asked: Asked, answer: Answer) -> list[Chip]:
    """What was read from the words, each with how to take it off again."""
    return [*(_read(asked, concept) for concept in answer.understood), *(_plain(asked, word) for word in answer.words)]


def _read(asked: Asked, concept: ConceptRead) -> Chip:
    note = HOW_READ.get(concept.how, "").format(concept.text)
    return Chip(
        text=concept.label,
        kind=SHORT_FACETS.get(concept.facet, concept.facet),
        note=note,
        without=asked.without_words(concept.text),
    )


def _plain(asked: Asked, word: str) -> Chip:
    return Chip(text=f"“{word}”", kind="word", note="", without=asked.without_words(word))


def chosen(asked: Asked, terms: Terms) -> list[Chip]:
    """The filters that are set."""
    chips = [
        Chip(text=terms.label(one), kind=f"only {SHORT_FACETS[facet]}", note="", without=asked.without(facet, one))
        for facet, ids in asked.filters.items()
        for one in ids
    ]
    if asked.assertion:
        text = ASSERTIONS[asked.assertion].capitalize()
        chips.append(Chip(text=text, kind="only", note="", without=asked.address(assertion=None)))
    if asked.measure:
        without = asked.address(measure=None, least=None, most=None)
        chips.append(Chip(text=measure_words(asked, terms), kind="only measure", note="", without=without))
    return chips


def measure_words(asked: Asked, terms: Terms) -> str:
    """The measure asked for, in words: `Capsulorhexis diameter, at least 6 mm`."""
    measure = asked.measure or ""
    unit = f" {terms.unit(measure)}" if terms.unit(measure) else ""
    limits = [
        (name, value) for name, value in (("at least", asked.least), ("at most", asked.most)) if value is not None
    ]
    return ", ".join([terms.label(measure), *(f"{name} {value:g}{unit}" for name, value in limits)])


def groups(asked: Asked, facets: Iterable[FacetCount], terms: Terms) -> list[Group]:
    """The filters, each with what is chosen and what else there is, with counts."""
    found = list(facets)
    made = []
    for facet in FILTERS:
        counts = {one.id: one for one in found if one.facet == facet}
        on = asked.filters.get(facet, ())
        lines = [Choice(id=one.id, label=one.label, count=one.count, on=one.id in on) for one in counts.values()]
        lines += [Choice(id=one, label=terms.label(one), count=0, on=True) for one in on if one not in counts]
        if facet in ("part", "step"):
            lines.sort(key=lambda line: terms.place(line.id) or 0)
        if lines:
            made.append(Group(facet=facet, label=FACETS[facet], choices=tuple(lines)))
    counts = {one.id: one for one in found if one.facet == "assertion"}
    meant = [
        Choice(id=kind, label=words, count=counts[kind].count if kind in counts else 0, on=kind == asked.assertion)
        for kind, words in ASSERTIONS.items()
    ]
    if any(line.count or line.on for line in meant):
        made.append(Group(facet="assertion", label="How it was meant", choices=tuple(meant)))
    return made


def measure_choices(asked: Asked, facets: Iterable[FacetCount], terms: Terms) -> list[Choice]:
    """The measures that can be asked for; the label bears the unit."""
    ids = {one.id: one.count for one in facets if one.facet == "measure"}
    if asked.measure:
        ids.setdefault(asked.measure, 0)
    lines = []
    for one, count in ids.items():
        unit = f" ({terms.unit(one)})" if terms.unit(one) else ""
        lines.append(Choice(id=one, label=terms.label(one) + unit, count=count, on=one == asked.measure))
    return sorted(lines, key=lambda line: line.label)


def pages(asked: Asked, answer: Answer) -> dict[str, str | int]:
    """Links to the page before and the page after, and where this one lies."""
    first = (asked.page - 1) * PER_PAGE + 1
    links: dict[str, str | int] = {"first": first, "last": first + len(answer.passages) - 1}
    if asked.page > 1:
        links["before"] = asked.address(page=asked.page - 1)
    if first - 1 + PER_PAGE < answer.total and asked.page < LAST_PAGE:
        links["after"] = asked.address(page=asked.page + 1)
    return links
