"""The invented step logs of the demo."""

from __future__ import annotations

from pathlib import Path

from demo_clips.step_logs import OPERATIONS, make_step_logs
from indexer.catalogue.library import Library
from indexer.models.timing import TimesAsked
from indexer.timing import asking, reporting
from web.opening import _take_logs


def test_the_logs_are_always_the_same(tmp_path: Path) -> None:
    one, other = (make_step_logs(tmp_path / name) for name in ("one", "other"))
    assert [log.path.read_bytes() for log in one] == [log.path.read_bytes() for log in other]


def test_all_operations_come_in_once_and_are_worth_seeing(library: Library, tmp_path: Path) -> None:
    _take_logs(library, tmp_path / "logs")
    _take_logs(library, tmp_path / "logs")
    counted = asking.counted(library, library.owner, TimesAsked(told=("vertical-chop",)))
    assert len(counted) == OPERATIONS >= 30
    series = reporting.series(counted, "phacoemulsification")
    assert series.limits is not None and series.runs is not None and series.slope is not None
    assert sum(bool(each.operation.events) for each in counted) == 1
    without, having = asking.two_groups(counted, "vertical-chop", library.vocabulary)
    assert len(without[1]) >= 10 and len(having[1]) >= 8
    assert min(each.no_step_ms for each in counted) > 0
