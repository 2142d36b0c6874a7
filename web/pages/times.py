"""Time per step: figures with their charts, their tables and a sentence for each, never an order of people."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Sequence
from threading import Lock
from typing import Generic, NamedTuple, TypeVar

from flask import Blueprint, current_app, render_template, request, url_for
from markupsafe import Markup

from indexer.consent import Viewer
from indexer.errors import BadInput
from indexer.models.frozen import Frozen
from indexer.models.timing import OperationTimes, TimesAsked, TimesReport
from indexer.timing import asking, control, reporting, tables, wording
from indexer.timing.charts import NEWEST_BARS, NEWEST_DOTS, NEWEST_SERIES, Charts
from indexer.vocabulary.vocabulary import Vocabulary
from web.chart_colours import chart_colours
from web.viewing import the_library, the_viewer

times = Blueprint("times", __name__)

Made = TypeVar("Made")

KEPT = 8
"""Pages that are kept until a mark of the library changes."""
KEPT_COUNTS = 2
"""Choices of operations whose counted times are kept as well, for the next step that is looked at."""


class Form(Frozen):
    """What the address asks, as it was written."""

    step: str = ""
    used: str = ""
    finding: str = ""
    since: str = ""
    until: str = ""
    operator: str = ""
    beside: str = ""
    event: str = ""
    acceptable: str = ""
    unacceptable: str = ""
    proposals: bool = False


class Table(NamedTuple):
    """The numbers of a chart."""

    headings: tuple[str, ...]
    rows: Sequence[tuple[str, ...]]


class Figure(NamedTuple):
    """A chart with what it shows in words, and its numbers."""

    heading: str
    sentences: tuple[str, ...]
    picture: Markup
    tables: tuple[Table, ...]


class Shown(NamedTuple):
    """A page put together."""

    heading: str
    report: TimesReport
    steps: Table
    figures: tuple[Figure, ...]


class Kept(Generic[Made]):
    """The last things that were put together, for as long as the library is as it was."""

    def __init__(self, most: int) -> None:
        self._most, self._lock, self._made = most, Lock(), OrderedDict[tuple[object, ...], Made]()

    def get(self, key: tuple[object, ...], make: Callable[[], Made]) -> Made:
        """What is kept, or made now; the oldest goes."""
        with self._lock:
            found = self._made.get(key)
        if found is None:
            found = make()
            with self._lock:
                self._made[key] = found
                while len(self._made) > self._most:
                    self._made.popitem(last=False)
        return found


@times.get("/times")
def page() -> str:
    """Times of the viewer's own operations, the owner's of all."""
    form, library, viewer = read_form(), the_library(), the_viewer()
    asked, beside = asked_by(form, library.vocabulary)
    kept: Kept[Shown] = current_app.extensions.setdefault("times", Kept(KEPT))
    shown = kept.get((*state(viewer), form), lambda: put_together(viewer, asked, beside, form))
    words = library.vocabulary
    return render_template(
        "times.html",
        form=form,
        shown=shown,
        every_step=words.of_facet("step"),
        every_finding=words.of_facet("finding"),
        every_event=words.of_facet("event"),
        every_used=[*words.of_facet("technique"), *words.of_facet("device")],
    )


def state(viewer: Viewer) -> tuple[object, ...]:
    """What a page depends upon besides what is asked."""
    return the_library().revision(), viewer.person_id, viewer.owns


def counted_for(viewer: Viewer, asked: TimesAsked) -> list[OperationTimes]:
    """The operations that are asked for, counted; the chosen step changes nothing of them."""
    kept: Kept[list[OperationTimes]] = current_app.extensions.setdefault("times-counts", Kept(KEPT_COUNTS))
    of_all = asked.model_copy(update={"steps": ()})
    return kept.get((*state(viewer), of_all), lambda: asking.counted(the_library(), viewer, of_all))


def read_form() -> Form:
    """The parameters of the address, the rest left alone."""
    given = {
        name: " ".join(request.args.get(name, "").split())[:120] for name in Form.model_fields if name != "proposals"
    }
    return Form(**given, proposals="proposals" in request.args)


def asked_by(form: Form, vocabulary: Vocabulary) -> tuple[TimesAsked, str]:
    """What is asked, and what the operations are to be parted by. Raises BadInput."""

    def day(said: str) -> object:
        found = asking.day_of(said) if said else None
        if said and found is None:
            raise BadInput(f"{said!r} is no day such as 2026-03-31.")
        return found

    def named(name: str, *facets: str) -> tuple[str, ...]:
        return (asking.concept_of(name, facets, vocabulary),) if name else ()

    beside = form.beside
    if beside and asking.day_of(beside) is None:
        beside = asking.concept_of(beside, (*asking.USED, "finding"), vocabulary)
    told = (beside,) if beside in vocabulary and vocabulary[beside].facet != "finding" else ()
    asked = TimesAsked.model_validate(
        {
            "steps": named(form.step, "step", "part"),
            "used": named(form.used, *asking.USED),
            "findings": named(form.finding, "finding"),
            "since": day(form.since),
            "until": day(form.until),
            "operator": form.operator or None,
            "proposals": form.proposals,
            "told": told,
        }
    )
    return asked, beside


def put_together(viewer: Viewer, asked: TimesAsked, beside: str, form: Form) -> Shown:
    """Read, count and draw."""
    library = the_library()
    words = library.vocabulary
    counted = counted_for(viewer, asked)
    report = reporting.report(counted, asked, words)
    charts = Charts(words, chart_colours(words), play_address)
    figures = []
    if counted:
        figures = [*_of_step(counted, asked, beside, charts, words), *_of_all(counted, report, asked, charts)]
        figures += _of_event(counted, form, charts, words)
    return Shown(
        tables.heading(report), report, Table(tables.STEP_HEADINGS, list(tables.steps(report))), tuple(figures)
    )


def _of_step(
    counted: Sequence[OperationTimes], asked: TimesAsked, beside: str, charts: Charts, words: Vocabulary
) -> list[Figure]:
    """The chosen step over time, and in two groups."""
    made = []
    for step in asked.steps:
        label = words[step].label
        series = reporting.series(counted, step)
        if series.points:
            said = wording.of_slope(series), wording.of_runs(series), wording.of_limits(series), wording.MISSED
            numbers = Table(tables.SERIES_HEADINGS, tables.series(series, words, NEWEST_SERIES))
            made.append(Figure(f"{label} over time", said, Markup(charts.over_time(series)), (numbers,)))
        if beside and series.points:
            found = reporting.compare(step, *asking.two_groups(counted, beside, words), beside)
            compared = (wording.of_comparison(found), *found.warnings)
            both = Table(tables.GROUP_HEADINGS, tables.groups(found))
            eyes = Table(tables.MIX_HEADINGS, tables.mix(found, words))
            made.append(Figure(f"{label}, two groups", compared, Markup(charts.comparison(found)), (both, eyes)))
    return made


def _of_event(counted: Sequence[OperationTimes], form: Form, charts: Charts, words: Vocabulary) -> list[Figure]:
    """A yes/no event against the rates that were given. Raises BadInput."""
    if not form.event:
        return []
    event = asking.concept_of(form.event, ("event",), words)
    happened = [event in each.operation.done for each in counted]
    try:
        found = control.failure_sum(happened, float(form.acceptable) / 100, float(form.unacceptable) / 100)
    except ValueError:
        raise BadInput(
            "Say in per cent which rate of the event is acceptable and which is not, the first below the second."
        ) from None
    said = wording.of_failures(words[event].label, found, len(happened), sum(happened))
    lines = "The lower dashed line stands for the acceptable rate, the upper one for the unacceptable."
    rows = [
        (each.operation.title, f"{each.operation.day:%Y-%m-%d}", "yes" if has else "no", f"{total:.2f}")
        for each, has, total in zip(counted, happened, found.path, strict=True)
    ]
    numbers = Table(("Operation", "Day", words[event].label, "Sum"), rows[-NEWEST_SERIES:])
    picture = Markup(charts.failures(counted, event, found))
    return [Figure(f"{words[event].label} over time", (said, lines), picture, (numbers,))]


def _of_all(counted: Sequence[OperationTimes], report: TimesReport, asked: TimesAsked, charts: Charts) -> list[Figure]:
    """How the times of every step lie, and what each operation was made of."""
    longest = max(report.steps, key=lambda each: (each.time.n, each.time.median), default=None)
    lies = (wording.of_step(longest),) if longest else ()
    if report.operations > NEWEST_DOTS:
        lies = (*lies, f"The newest {NEWEST_DOTS} operations are dots; figures are of all {report.operations}.")
    spread_of = Figure(
        "How the times of each step lie",
        lies,
        Markup(charts.distribution(counted, report.steps)),
        (Table(tables.STEP_HEADINGS, list(tables.steps(report))),),
    )
    if asked.steps:
        return [spread_of]
    newest = counted[-NEWEST_BARS:]
    bars = Figure(
        "What each operation was made of",
        (f"The newest {len(newest)} operations, oldest on top; its steps in their usual order, each with its number.",),
        Markup(charts.bars(counted)),
        (Table(*tables.operations(newest, report)),),
    )
    return [spread_of, bars]


def play_address(case_id: str, recording_id: str, at_ms: int) -> str:
    """Where a moment plays."""
    return url_for("case.show", case_id=case_id, recording_id=recording_id, t=f"{at_ms / 1000:g}")
