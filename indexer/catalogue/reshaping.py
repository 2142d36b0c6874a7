"""What each deed makes of the steps of a recording: pure functions, from the segments to those that change.

Segments of a recording do not overlap. Where two of them touch they share an edge, and moving it moves it for both.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from indexer.errors import BadInput
from indexer.models import Boundary, Evidence, Segment, Standing
from indexer.models.marking import Deed

SHORTEST_MS = 40
"""No step is cut shorter than about a frame."""

Marks = Mapping[str, Segment]
"""By id, all that nobody refused."""
Changes = dict[str, Segment | None]
"""By id; None takes a segment away."""


def reshape(marks: Marks, deed: Deed, new_id: str, length_ms: int, by: str) -> Changes:
    """What a deed changes. `new_id` is for the segment that it may add. Raises BadInput where it does not fit."""
    if deed.verb in ("begin", "rest"):
        return _begin(marks, deed, new_id, length_ms, by)
    if deed.segment is None or deed.segment not in marks:
        raise BadInput("This step is not there; say which step is meant.")
    return _DEEDS[deed.verb](marks, deed, deed.segment, new_id)


def _keep(marks: Marks, deed: Deed, mark: str, _new_id: str) -> Changes:
    kept = marks[mark]
    step = deed.step if deed.verb == "name" else kept.step
    if step is None:
        raise BadInput("Say which step it is.")
    evidence = kept.evidence if step == kept.step else ()
    settled = {"start": _settled(kept.start), "end": _settled(kept.end), "confidence": 1.0, "evidence": evidence}
    changes: Changes = {mark: kept.model_copy(update={**settled, "step": step, "standing": Standing.ACCEPTED})}
    before, after = _beside(marks, mark)
    if before and marks[before].end_ms == kept.start_ms:
        changes[before] = marks[before].model_copy(update={"end": _settled(marks[before].end)})
    if after and marks[after].start_ms == kept.end_ms:
        changes[after] = marks[after].model_copy(update={"start": _settled(marks[after].start)})
    return changes


def _refuse(marks: Marks, _deed: Deed, mark: str, _new_id: str) -> Changes:
    return {mark: marks[mark].model_copy(update={"standing": Standing.REFUSED})}


def _split(marks: Marks, deed: Deed, mark: str, new_id: str) -> Changes:
    whole, at = marks[mark], _moment(deed)
    if not whole.start_ms + SHORTEST_MS <= at.at_ms <= whole.end_ms - SHORTEST_MS:
        raise BadInput("A step is divided at a moment within it; go there first.")
    return {mark: whole.model_copy(update={"end": at}), new_id: whole.model_copy(update={"start": at})}


def _join(marks: Marks, _deed: Deed, mark: str, _new_id: str) -> Changes:
    _, after = _beside(marks, mark)
    if after is None:
        raise BadInput("There is no step after this one to join.")
    both = {marks[mark].standing, marks[after].standing} == {Standing.ACCEPTED}
    standing = Standing.ACCEPTED if both else Standing.PROPOSED
    return {mark: marks[mark].model_copy(update={"end": marks[after].end, "standing": standing}), after: None}


def _edge(marks: Marks, deed: Deed, mark: str, _new_id: str) -> Changes:
    at, moved = _moment(deed), marks[mark]
    before, after = _beside(marks, mark)
    if deed.edge == "start":
        other, least = before, marks[before].start_ms + SHORTEST_MS if before else 0
        fits = least <= at.at_ms <= moved.end_ms - SHORTEST_MS
        shared = other is not None and (marks[other].end_ms == moved.start_ms or marks[other].end_ms > at.at_ms)
        here, there = "start", "end"
    elif deed.edge == "end":
        other, most = after, marks[after].end_ms - SHORTEST_MS if after else None
        fits = moved.start_ms + SHORTEST_MS <= at.at_ms and (most is None or at.at_ms <= most)
        shared = other is not None and (marks[other].start_ms == moved.end_ms or marks[other].start_ms < at.at_ms)
        here, there = "end", "start"
    else:
        raise BadInput("Say which edge is moved, the start or the end.")
    if not fits:
        raise BadInput("The edge would pass another edge; join the steps, or move the other edge first.")
    changes: Changes = {mark: moved.model_copy(update={here: at})}
    if other is not None and shared:
        changes[other] = marks[other].model_copy(update={there: at})
    return changes


def _begin(marks: Marks, deed: Deed, new_id: str, length_ms: int, by: str) -> Changes:
    at = _moment(deed)
    if at.at_ms > length_ms - SHORTEST_MS:
        raise BadInput("The recording ends there.")
    if deed.verb == "begin" and deed.step is None:
        raise BadInput("Say which step begins.")
    cut = next((mark for mark, one in marks.items() if one.start_ms <= at.at_ms < one.end_ms), None)
    if cut is None and deed.verb == "rest":
        return {}
    end = marks[cut].end if cut else _next_start(marks, at.at_ms, length_ms)
    changes: Changes = {}
    if cut:
        too_short = at.at_ms - marks[cut].start_ms < SHORTEST_MS
        changes[cut] = None if too_short else marks[cut].model_copy(update={"end": at})
        at = marks[cut].start if too_short else at
    if deed.verb == "begin" and deed.step:
        if end.at_ms - at.at_ms < SHORTEST_MS:
            raise BadInput("The next step begins there; go on a little, or rename that one.")
        why = (Evidence(kind="person", text=f"marked by {by}"),)
        changes[new_id] = Segment(
            step=deed.step, start=at, end=end, confidence=1.0, standing=Standing.ACCEPTED, evidence=why
        )
    return changes


def _next_start(marks: Marks, at_ms: int, length_ms: int) -> Boundary:
    later = [one.start for one in marks.values() if one.start_ms > at_ms]
    last = Boundary(at_ms=length_ms, source="edge", spread_ms=0)
    return min(later, key=lambda start: start.at_ms, default=last)


def _beside(marks: Marks, mark: str) -> tuple[str | None, str | None]:
    """Ids of the segments before and after one, None where there is none."""
    order = sorted(marks, key=lambda each: marks[each].start_ms)
    place = order.index(mark)
    return order[place - 1] if place else None, order[place + 1] if place + 1 < len(order) else None


def _moment(deed: Deed) -> Boundary:
    if deed.at_ms is None:
        raise BadInput("Say at which moment.")
    return Boundary(at_ms=deed.at_ms, source="person", spread_ms=deed.spread_ms)


def _settled(edge: Boundary) -> Boundary:
    """An edge that a person looked at and left where it is."""
    return edge if edge.source == "person" else Boundary(at_ms=edge.at_ms, source="person", spread_ms=0)


_DEEDS: dict[str, Callable[[Marks, Deed, str, str], Changes]] = {
    "keep": _keep,
    "name": _keep,
    "refuse": _refuse,
    "split": _split,
    "join": _join,
    "edge": _edge,
}
