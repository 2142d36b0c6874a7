"""Charts of times as SVG: declared with Altair, rendered in the program, without script, style or anything to load.

Texts and lines take the colour of the page around (`currentColor`). Every dot and every piece of a bar is a link with a
title; what tells steps apart besides colour is their number in the usual order.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from indexer.models.timing import OperationTimes, StepFigures
from indexer.timing import trend
from indexer.timing.control import FailureSum
from indexer.timing.reporting import Comparison, Point, Series, points_of
from indexer.timing.wording import seconds
from indexer.vocabulary.vocabulary import Vocabulary

Address = Callable[[str, str, int], str]
"""From case, recording and moment in milliseconds to where it plays."""
NEWEST_BARS = 40
"""Operations that get a bar; of more the newest."""
NEWEST_DOTS = 150
"""Dots of a step; of more the newest."""
NEWEST_SERIES = 400
WIDTH = 640
SVG = "http://www.w3.org/2000/svg"
XLINK = "http://www.w3.org/1999/xlink"
HERE = "https://here.invalid"
"""Stands before every link while it is rendered: to an address without a host the renderer adds one of its own."""
NO_STEP = "no step marked"
UNCONFIRMED = "not confirmed"
ROOM = {"left": 36, "right": 12, "top": 5, "bottom": 5}
"""Around the picture: letters of the visitor's own font may be wider than those it was measured with."""
LANES = 5
"""Heights at which the dots of a row stand, so that few hide another."""


class Charts:
    """Draws with the colours of steps and the addresses of moments that the site has."""

    def __init__(self, vocabulary: Vocabulary, colours: Mapping[str, str], address: Address) -> None:
        self._vocabulary, self._colours, self._address = vocabulary, colours, address

    def bars(self, counted: Sequence[OperationTimes]) -> str:
        """A bar an operation, its steps in their usual order, then what is under no step."""
        import altair as alt

        shown = counted[-NEWEST_BARS:]
        pieces = [piece for at, times in enumerate(shown) for piece in self._pieces(at, times)]
        rows = alt.Y("row:O", axis=alt.Axis(title=None, labelExpr=_expression(_row_names(shown))))
        base = alt.Chart(_data(pieces)).encode(y=rows)
        bars = base.mark_bar(stroke="currentColor", strokeWidth=0.4).encode(
            x=alt.X("from:Q", title="minutes"),
            x2="to:Q",
            color=alt.Color("colour:N", scale=None),
            fillOpacity=alt.FillOpacity("solid:Q", scale=None),
            href="link:N",
            description="title:N",
        )
        numbers = base.transform_filter("datum.number != ''").mark_text(fontSize=9, fill="black")
        numbers = numbers.encode(x="middle:Q", text="number:N")
        return _svg((bars + numbers).properties(width=WIDTH, height=max(40, 18 * len(shown))))

    def _pieces(self, at: int, times: OperationTimes) -> Iterable[dict[str, Any]]:
        operation, start = times.operation, 0
        whole = sorted(
            (step for step in times.steps if self._broader(step.step) is None),
            key=lambda step: self._place(step.step),
        )
        told = [(self._label(step.step), step.time_ms, step.first_ms, step.step) for step in whole]
        told += [(UNCONFIRMED, times.unconfirmed_ms, 0, ""), (NO_STEP, times.no_step_ms, 0, "")]
        widest = max(operation.length_ms, 1)
        for label, took, first, step in told:
            if took > 0:
                yield {
                    "row": at,
                    "from": start / 60_000,
                    "to": (start + took) / 60_000,
                    "middle": (start + took / 2) / 60_000,
                    "colour": self._colours.get(step, "#888888"),
                    "solid": 0.9 if step else 0.35 if label == UNCONFIRMED else 0.08,
                    "number": str(self._place(step)) if step and took > widest / 30 else "",
                    "link": HERE + self._address(operation.case_id, operation.recording_id, first),
                    "title": f"{operation.title}: {label}, {seconds(took)}",
                }
                start += took

    def distribution(self, counted: Sequence[OperationTimes], figures: Sequence[StepFigures]) -> str:
        """A row a step: every operation a dot, a bar over the middle half, a line at the median."""
        import altair as alt

        dots, boxes, names = list[dict[str, Any]](), list[dict[str, Any]](), dict[int, str]()
        for row, each in enumerate(figures):
            names[row] = f"{each.place} {each.label} ({each.time.n})"
            boxes.append(_box(row, each.time.lower, each.time.median, each.time.upper))
            dots += self._dots(row, points_of(counted, each.step)[-NEWEST_DOTS:])
        return _svg(self._rows(alt, dots, boxes, names))

    def comparison(self, found: Comparison) -> str:
        """Two rows of dots, one for each group."""
        import altair as alt

        from indexer.timing.spread import spread

        dots, boxes, names = list[dict[str, Any]](), list[dict[str, Any]](), dict[int, str]()
        for row, group in enumerate((found.first, found.second)):
            names[row] = f"{group.name} ({len(group.points)})"
            lies = spread([point.step.time_ms for point in group.points])
            if lies is not None:
                boxes.append(_box(row, lies.lower, lies.median, lies.upper))
            dots += self._dots(row, group.points[-NEWEST_SERIES:])
        return _svg(self._rows(alt, dots, boxes, names, tall=70))

    def _rows(
        self, alt: Any, dots: list[dict[str, Any]], boxes: list[dict[str, Any]], names: dict[int, str], tall: int = 34
    ) -> Any:
        scale = alt.Scale(type="log", nice=False, padding=12)
        axis = alt.Axis(
            title="seconds (each doubling as wide as the next)", values=[2, 5, 10, 20, 50, 100, 200, 500, 1000]
        )
        lanes = alt.Scale(domain=[-0.5, len(names) - 0.5], reverse=True)
        rows = alt.Axis(title=None, values=sorted(names), labelExpr=_expression(names), grid=False)
        place = alt.Y("at:Q", scale=lanes, axis=rows)
        middle = alt.Chart(_data(boxes))
        half = middle.mark_bar(size=tall * 0.55, fill="currentColor", fillOpacity=0.12).encode(
            x=alt.X("lower:Q", scale=scale, axis=axis), x2="upper:Q", y=place
        )
        median = middle.mark_tick(size=tall * 0.7, thickness=2, color="currentColor").encode(x="median:Q", y=place)
        points = _points(alt.Chart(_data(dots))).encode(x=alt.X("time:Q", scale=scale, axis=axis), y=place)
        return (half + points + median).properties(width=WIDTH, height=max(60, tall * len(names)))

    def _dots(self, row: int, points: Sequence[Point]) -> Iterable[dict[str, Any]]:
        for at, point in enumerate(points):
            # The golden ratio spreads neighbours in time over the lanes without chance.
            lane = int((at * 0.618034) % 1 * LANES) - LANES // 2
            yield {"at": row + lane * 0.11, **self._dot(point)}

    def _dot(self, point: Point) -> dict[str, Any]:
        operation, step = point.times.operation, point.step
        events = "".join(f"; {self._label(event)}" for event in sorted(operation.events))
        return {
            "time": step.time_ms / 1000,
            "colour": self._colours.get(step.step, "#888888"),
            "shape": "triangle-up" if operation.events else "circle",
            "link": HERE + self._address(operation.case_id, operation.recording_id, step.first_ms),
            "title": f"{operation.title}, {operation.day:%Y-%m-%d}: {seconds(step.time_ms)}{events}",
        }

    def over_time(self, series: Series) -> str:
        """The operations in their order, with median, limits and a smooth line where there are enough."""
        import altair as alt

        points = series.points[-NEWEST_SERIES:]
        first = len(series.points) - len(points) + 1
        dots = [{"number": first + at, **self._dot(point)} for at, point in enumerate(points)]
        x = alt.X("number:Q", title="operation, in order of time", axis=alt.Axis(tickMinStep=1, grid=False))
        y = alt.Y("time:Q", title="seconds", scale=alt.Scale(zero=True))
        layers = [alt.Chart(_data(dots)).mark_line(color="currentColor", opacity=0.25, strokeWidth=1).encode(x=x, y=y)]
        for value, dash in _levels(series):
            rule = alt.Chart(_data([{"time": value / 1000}])).mark_rule(color="currentColor", strokeDash=dash)
            layers.append(rule.encode(y=y))
        if len(points) >= trend.FEWEST:
            smooth = trend.smooth([point.step.time_ms / 1000 for point in points])
            line = [{"number": first + at, "time": value} for at, value in enumerate(smooth)]
            layers.append(alt.Chart(_data(line)).mark_line(color="currentColor", strokeWidth=2.2).encode(x=x, y=y))
        layers.append(_points(alt.Chart(_data(dots))).encode(x=x, y=y))
        return _svg(alt.layer(*layers).properties(width=WIDTH, height=240))

    def failures(self, counted: Sequence[OperationTimes], event: str, found: FailureSum) -> str:
        """The sum of an event over the operations in their order, those with the event as triangles."""
        import altair as alt

        first = max(0, len(counted) - NEWEST_SERIES)
        dots = []
        for at, (times, total) in enumerate(zip(counted, found.path, strict=True)):
            operation = times.operation
            happened = event in operation.done
            told = f"{operation.title}, {operation.day:%Y-%m-%d}: {self._label(event) if happened else 'without'}"
            link = HERE + self._address(operation.case_id, operation.recording_id, 0)
            shape = "triangle-up" if happened else "circle"
            dots.append(
                {"number": at + 1, "sum": total, "link": link, "title": told, "shape": shape, "colour": "#888888"}
            )
        x = alt.X("number:Q", title="operation, in order of time", axis=alt.Axis(tickMinStep=1, grid=False))
        y = alt.Y("sum:Q", title="climbs with each event")
        data = _data(dots[first:])
        path = alt.Chart(data).mark_line(color="currentColor", interpolate="step-after").encode(x=x, y=y)
        lines = _data([{"sum": -found.acceptable_line}, {"sum": found.unacceptable_line}])
        rules = alt.Chart(lines).mark_rule(color="currentColor", strokeDash=[6, 4]).encode(y=y)
        return _svg((path + rules + _points(alt.Chart(data)).encode(x=x, y=y)).properties(width=WIDTH, height=200))

    def _label(self, concept: str) -> str:
        known = self._vocabulary.concepts.get(concept)
        return known.label if known else concept

    def _place(self, step: str) -> int:
        return self._vocabulary.place(step) if step in self._vocabulary else 0

    def _broader(self, step: str) -> str | None:
        known = self._vocabulary.concepts.get(step)
        return known.broader if known else None


def _points(chart: Any) -> Any:
    import altair as alt

    return chart.mark_point(filled=True, size=38, opacity=0.9, stroke="currentColor", strokeWidth=0.4).encode(
        color=alt.Color("colour:N", scale=None),
        shape=alt.Shape("shape:N", scale=None),
        href="link:N",
        description="title:N",
    )


def _levels(series: Series) -> list[tuple[float, list[int]]]:
    levels: list[tuple[float, list[int]]] = []
    if series.runs is not None:
        levels.append((series.runs.median, [1, 0]))
    if series.limits is not None:
        levels += [(series.limits.lower, [6, 4]), (series.limits.upper, [6, 4])]
    return levels


def _box(row: int, lower: float, median: float, upper: float) -> dict[str, Any]:
    return {"at": row, "lower": lower / 1000, "median": median / 1000, "upper": upper / 1000}


def _row_names(counted: Sequence[OperationTimes]) -> dict[int, str]:
    return {
        at: f"{times.operation.day:%Y-%m-%d}{' △' if times.operation.events else ''}"
        for at, times in enumerate(counted)
    }


def _expression(names: Mapping[int, str]) -> str:
    """An expression of Vega that writes the names of rows; names come in as JSON texts, never as code."""
    import json

    return f"{json.dumps([names.get(row, '') for row in range(max(names, default=-1) + 1)])}[round(datum.value)]"


def _data(rows: Sequence[dict[str, Any]]) -> Any:
    import altair as alt

    made: Any = alt.Data
    return made(values=list(rows))


def _svg(chart: Any) -> str:
    """Render, with every description written as a title that shows on hovering."""
    import vl_convert

    text = {"labelColor": "currentColor", "titleColor": "currentColor", "labelFontSize": 12, "titleFontSize": 12}
    lines = {
        "gridColor": "currentColor",
        "gridOpacity": 0.12,
        "domainColor": "currentColor",
        "tickColor": "currentColor",
    }
    declared = chart.configure(background="transparent", font="system-ui, sans-serif", padding=ROOM).configure_view(
        stroke=None
    )
    declared = declared.configure_axis(labelLimit=260, **text, **lines)
    return _titled(vl_convert.vegalite_to_svg(declared.to_json(), allowed_base_urls=[]))


def _titled(svg: str) -> str:
    ET.register_namespace("", SVG)
    ET.register_namespace("xlink", XLINK)
    root = ET.fromstring(svg)
    for each in root.iter():
        said = each.attrib.pop("aria-label", None)
        if (
            said
            and each.attrib.get("role") == "graphics-symbol"
            and "axis" not in each.attrib.get("aria-roledescription", "")
        ):
            ET.SubElement(each, f"{{{SVG}}}title").text = said
        for name in ("role", "aria-roledescription", "target"):
            each.attrib.pop(name, None)
        for name in ("href", f"{{{XLINK}}}href"):
            if name in each.attrib:
                each.set(name, each.attrib[name].removeprefix(HERE))
    # The picture scales with the page; its sentence and its table say the same to who does not see it.
    root.attrib.pop("width", None)
    root.attrib.pop("height", None)
    root.set("role", "img")
    return ET.tostring(root, encoding="unicode")
