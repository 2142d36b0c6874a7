"""Step logs: read line by line, made into cases whose times count."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from indexer.catalogue.library import Library
from indexer.errors import BadInput
from indexer.models import Query
from indexer.models.timing import TimesAsked
from indexer.timing import asking
from indexer.timing.step_log import LogColumns, StepLog, named_step, parse_log, read_log
from indexer.timing.taking_logs import LogDetails, take
from indexer.vocabulary.vocabulary import Vocabulary
from tests.timing.logs import BEFORE_FIRST_S, BY_HAND, LENGTH_S, PHASES, VIDEO_269

FRAMES = LogColumns(step="Phase", frame="FrameNo", rate="25", operation="VideoID")


def parsed(text: str, vocabulary: Vocabulary, columns: LogColumns | None = None, **names: str) -> StepLog:
    return parse_log(text, "log.csv", "log", columns or LogColumns(), names, vocabulary)


def test_a_published_log_gives_the_times_worked_out_by_hand(library: Library, vocabulary: Vocabulary) -> None:
    log = parse_log(VIDEO_269, "a.csv", "a", FRAMES, PHASES, vocabulary)
    assert (log.left_out, log.unmapped, log.without_end) == ((), (), ())
    take(library, log.operations, LogDetails(title="Video"))
    (one,) = asking.counted(library, library.owner, TimesAsked(steps=()))
    found = {step.step: (step.time_ms / 1000, step.visits) for step in one.steps}
    assert found == BY_HAND
    assert one.no_step_ms / 1000 == BEFORE_FIRST_S
    assert one.operation.length_ms / 1000 == LENGTH_S
    assert one.operation.title == "Video 269"


def test_the_same_log_comes_in_once(library: Library, vocabulary: Vocabulary) -> None:
    log = parse_log(VIDEO_269, "a.csv", "a", FRAMES, PHASES, vocabulary)
    assert len(take(library, log.operations, LogDetails()).added) == 1
    again = take(library, log.operations, LogDetails())
    assert (again.added, again.known) == ((), ("269",))
    assert len(library.cases(library.owner)) == 1


def test_what_is_said_of_the_operations_is_kept(library: Library, vocabulary: Vocabulary) -> None:
    log = parse_log(VIDEO_269, "a.csv", "a", FRAMES, PHASES, vocabulary)
    details = LogDetails(operator="one", day=date(2024, 5, 1), findings=("dense-nucleus",), used=("vertical-chop",))
    take(library, log.operations, details)
    asked = TimesAsked(findings=("dense-nucleus",), used=("vertical-chop",), operator="one", since=date(2024, 5, 1))
    (one,) = library.step_times(library.owner, asked)
    assert (one.day, one.dated, one.unconfirmed) == (date(2024, 5, 1), True, frozenset())
    for other in ({"findings": ("small-pupil",)}, {"used": ("divide-and-conquer",)}, {"since": date(2024, 5, 2)}):
        assert library.step_times(library.owner, TimesAsked(**other)) == []


def test_a_logged_case_can_be_read_and_is_not_found_as_a_passage(library: Library, vocabulary: Vocabulary) -> None:
    log = parse_log(VIDEO_269, "a.csv", "a", FRAMES, PHASES, vocabulary)
    (case,) = take(library, log.operations, LogDetails()).added
    recording = library.case(library.owner, case).recordings[0]
    assert (recording.kind, recording.film_there, recording.parts) == ("logged", False, ())
    assert library.find(library.owner, Query(text="capsulorhexis")).total == 0
    assert library.check() == []


def test_bad_lines_are_named_and_the_rest_comes_in(vocabulary: Vocabulary) -> None:
    text = "step,time\nincision,0:05\nrhexis,x\nhydrodissection,1:00\nphaco,0:50\nphaco,1:30\n,1:40\nend,3:00\n"
    log = parsed(text, vocabulary, phaco="phacoemulsification", incision="main-incision")
    assert [(row.line, row.reason.split(" ")[0]) for row in log.left_out] == [(3, "'x'"), (5, "it"), (7, "it")]
    (operation,) = log.operations
    assert [(stay.step, stay.start_ms, stay.end_ms, stay.confirmed) for stay in operation.stays] == [
        # The line that would have ended it is lost, so its end is not known.
        ("main-incision", 5_000, 60_000, False),
        ("hydrodissection", 60_000, 90_000, False),
        ("phacoemulsification", 90_000, 180_000, False),
    ]


def test_names_that_mean_no_step_are_listed_and_their_time_is_under_no_step(vocabulary: Vocabulary) -> None:
    text = "step\ttime\nrhexis\t10\ncoffee\t20\nidle\t30\nrhexis\t35\nend\t50\n"
    log = parsed(text, vocabulary, idle="")
    assert log.unmapped == (("coffee", 1),)
    assert log.read_as == (("rhexis", "capsulorhexis"),)
    assert [(stay.start_ms, stay.end_ms, stay.confirmed) for stay in log.operations[0].stays] == [
        (10_000, 20_000, True),
        (35_000, 50_000, True),
    ]


def test_without_an_end_the_last_step_is_left_out_unless_it_is_told(vocabulary: Vocabulary) -> None:
    text = "step,time\nrhexis,10\nhydrodissection,40\n"
    log = parsed(text, vocabulary)
    assert log.without_end == ("log",)
    assert [stay.step for stay in log.operations[0].stays] == ["capsulorhexis"]
    log = parsed(text, vocabulary, LogColumns(ends="1:00"))
    assert log.without_end == () and log.operations[0].stays[-1].end_ms == 60_000


@pytest.mark.parametrize(
    ("name", "step"),
    [
        ("capsulorhexis", "capsulorhexis"),
        ("Rhexis", "capsulorhexis"),
        ("Phacoemulsificiation", "phacoemulsification"),
        ("Capsule polishing", "capsule-polishing"),
        ("side ports", "side-port"),
        ("Irrigation and aspiration", "cortex-aspiration"),
        ("phaco", "phacoemulsification"),
        ("Rhexis and coffee", None),
        ("coffee", None),
        ("5", None),
    ],
)
def test_names_of_steps_are_read_by_the_vocabulary(vocabulary: Vocabulary, name: str, step: str | None) -> None:
    assert named_step(name, vocabulary) == step


@pytest.mark.parametrize(
    ("text", "columns", "told"),
    [
        ("", LogColumns(), "no column"),
        ("a,b\n1,2\n", LogColumns(), "Its columns are: a, b"),
        ("step,frame\nrhexis,5\n", LogColumns(frame="frame"), "frames a second"),
        ("step,frame\nrhexis,5\n", LogColumns(frame="frame", rate="fast"), "frames a second"),
        ("step,time\nrhexis,5\n", LogColumns(ends="noon"), "no time"),
        ("step,time,n\nrhexis,5,1\n", LogColumns(ends="60", operation="n"), "many operations"),
    ],
)
def test_what_is_no_log_is_told_in_one_line(vocabulary: Vocabulary, text: str, columns: LogColumns, told: str) -> None:
    with pytest.raises(BadInput, match=told):
        parsed(text, vocabulary, columns)


def test_a_file_that_is_no_text_is_told(tmp_path: Path, vocabulary: Vocabulary) -> None:
    (tmp_path / "a.csv").write_bytes(b"step;time\nR\xe4xis;5\n")
    with pytest.raises(BadInput, match="UTF-8"):
        read_log(tmp_path / "a.csv", LogColumns(), {}, vocabulary)
    with pytest.raises(BadInput, match="cannot be read"):
        read_log(tmp_path / "b.csv", LogColumns(), {}, vocabulary)
