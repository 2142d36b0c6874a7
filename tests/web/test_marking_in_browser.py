"""Marking in a real browser: from wrong proposals to right ones by the keyboard alone, and by touch; conflicts are told."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy
import pytest

from indexer.catalogue.library import Library
from indexer.models.marking import Deed
from indexer.vocabulary.vocabulary import Vocabulary
from tests.web.invented import FRAME_MS, RATE, Scene, put_case
from tests.web.running import running
from tests.web.surgeon import Surgeon, True_
from tests.web.test_in_browser import browser, open_page  # noqa: F401

pytestmark = pytest.mark.browser

TRUTH = (
    True_("case-introduction", 0, 2000),
    True_("side-port", 2000, 4000),
    True_("capsulorhexis", 4000, 7480),
    True_("capsule-support", 7480, 9200),
    True_("chopping", 9200, 12000),
)
WRONG: tuple[Scene, ...] = (
    (0, 1.72, "case-introduction", "This eye is dense and loose."),
    (1.72, 4, "main-incision", "Two small ones first."),
    (4, 6, "capsulorhexis", "Round it goes"),
    (6, 7.48, "capsulorhexis", "and round and closed."),
    (7.48, 12, "capsule-support", "Four hooks. And now I chop it."),
)
"""Of the same operation: an edge seven frames off, a wrong name, a step cut in two, two steps taken for one."""


class Open:
    """A library with one operation, and where its marking page is."""

    def __init__(self, library: Library, recording: str, page: str, case: str) -> None:
        self.library, self.recording, self.page, self.case = library, recording, page, case

    def spans(self) -> list[tuple[str, int, int]]:
        segments = self.library.marking(self.library.owner, self.recording).segments
        return [(each.step, each.start_ms, each.end_ms) for each in segments]


@pytest.fixture
def opened(tmp_path: Path, vocabulary: Vocabulary, film: Path) -> Iterator[Callable[[tuple[Scene, ...]], Open]]:
    with Library.open(tmp_path / "lib", vocabulary=vocabulary) as library, running(library) as address:

        def put(scenes: tuple[Scene, ...]) -> Open:
            case, recording = put_case(library, film, "To be put right", scenes)
            library.media(recording).mkdir(parents=True)
            numpy.save(library.media(recording) / "frames.npy", numpy.arange(300) / float(RATE))
            return Open(library, recording, f"{address}case/{case}/{recording}/mark", case)

        yield put


def go(page: Any, where: Open) -> None:
    page.goto(where.page)
    page.wait_for_selector("marking-page[data-ready]", timeout=30_000)


def done(page: Any) -> None:
    page.wait_for_function("() => document.querySelector('marking-page').dataset.waiting === '0'")


def test_wrong_proposals_are_put_right_by_the_keyboard_alone(open_page: Any, opened: Any) -> None:  # noqa: F811
    where = opened(WRONG)
    page = open_page(reduced_motion="reduce")
    go(page, where)
    effort = Surgeon(page, TRUTH, FRAME_MS).work()
    assert where.spans() == [(one.step, one.start_ms, one.end_ms) for one in TRUTH]
    marks = where.library.marking(where.library.owner, where.recording).segments
    assert all(each.standing == "accepted" and each.start.source == each.end.source == "person" for each in marks)
    assert {"parted", "merged", "name"} <= set(effort.faults)
    assert effort.keys <= 45, effort
    assert page.locator("[data-part=left]").inner_text() == "All 5 steps are kept."
    # And all the way back.
    for _ in range(len(effort.faults) + effort.keys):
        page.keyboard.press("u")
    done(page)
    assert where.spans() == [(step, round(1000 * start), round(1000 * end)) for start, end, step, _ in WRONG]


def test_quick_keys_mean_what_stands_when_their_turn_comes(open_page: Any, opened: Any) -> None:  # noqa: F811
    where = opened(WRONG)
    page = open_page(reduced_motion="reduce")
    go(page, where)
    for _ in WRONG:
        page.keyboard.press("k")
    done(page)
    segments = where.library.marking(where.library.owner, where.recording).segments
    assert [each.standing.value for each in segments] == ["accepted"] * 5


def test_somebody_else_at_the_same_step_is_told_and_nothing_is_lost(browser: Any, opened: Any) -> None:  # noqa: F811
    where = opened(WRONG)
    # A browser writes an answer of 409 to its console by itself, so this page is not one whose console must be empty.
    context = browser.new_context(reduced_motion="reduce")
    page = context.new_page()
    go(page, where)
    in_hand = page.evaluate("document.querySelector('marking-page').mark.id")
    heron = where.library.person("Heron")
    seen = {each.id: each.version for each in where.library.marking(heron, where.recording).segments}
    where.library.mark(heron, where.recording, Deed(verb="name", segment=in_hand, step="wound-closure", seen=seen))
    page.keyboard.press("n")
    page.wait_for_selector(".alarm:not([hidden])")
    assert "Heron" in page.locator(".alarm").inner_text()
    done(page)
    assert "wound-closure" in [step for step, _, _ in where.spans()]
    # The page shows what stands now, so that the next key is meant for it.
    assert page.locator(".mark", has_text="Wound closure").count() == 1
    context.close()


def test_a_film_without_words_is_marked_while_watching(open_page: Any, opened: Any) -> None:  # noqa: F811
    where = opened(())
    page = open_page()
    go(page, where)
    assert page.locator("[data-part=watching]").is_visible()
    page.locator("[data-speed]").select_option("4")
    page.keyboard.press("1")
    done(page)
    page.evaluate("document.activeElement.blur()")
    page.keyboard.press(" ")
    page.wait_for_function("() => document.querySelector('video').currentTime > 6")
    pressed = page.evaluate("document.querySelector('video').currentTime * 1000")
    page.keyboard.press("2")
    page.keyboard.press(" ")
    done(page)
    (first, second) = where.library.marking(where.library.owner, where.recording).segments
    assert (first.start_ms, second.end_ms) == (0, 12_000)
    # Hick: 0.2 s + 0.15 s * log2(6 + 1) at four times the speed is some 2.5 s of film; the machine may be late, not early.
    assert pressed - 2600 <= second.start_ms
    assert second.start.spread_ms > 1000
    assert first.end_ms == second.start_ms


@pytest.mark.parametrize("width", [400, 1280])
@pytest.mark.parametrize("scheme", ["dark", "light"])
def test_everything_is_there_for_a_finger(open_page: Any, opened: Any, width: int, scheme: str) -> None:  # noqa: F811
    where = opened(WRONG)
    page = open_page(
        viewport={"width": width, "height": 860}, color_scheme=scheme, has_touch=True, reduced_motion="reduce"
    )
    go(page, where)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.get_by_role("button", name="Keep this step").tap()
    done(page)
    page.get_by_role("button", name="Not this").tap()
    done(page)
    assert len(where.spans()) == 4
    page.get_by_role("button", name="Take back").tap()
    done(page)
    assert len(where.spans()) == 5
    page.get_by_role("button", name="Rename").tap()
    page.locator("#naming").fill("wo")
    done(page)
    assert "wound-closure" in [step for step, _, _ in where.spans()]


def test_an_edge_is_dragged_in_the_close_look(open_page: Any, opened: Any) -> None:  # noqa: F811
    where = opened(WRONG)
    page = open_page(viewport={"width": 1280, "height": 860}, reduced_motion="reduce")
    go(page, where)
    page.locator(".mark", has_text="Main incision").locator(".pick").click()
    done(page)
    box = page.locator(".lens .edge.held").bounding_box()
    page.mouse.move(box["x"] + 20, box["y"])
    page.mouse.down()
    page.mouse.move(box["x"] + 20, box["y"] + 60, steps=4)
    page.mouse.up()
    done(page)
    (_, _, first_end), (_, second_start, _) = where.spans()[:2]
    assert first_end == second_start > 1720
    assert second_start % FRAME_MS == 0


def test_without_scripts_the_steps_are_listed(open_page: Any, opened: Any) -> None:  # noqa: F811
    where = opened(WRONG)
    page = open_page(java_script_enabled=False)
    page.goto(where.page)
    assert page.locator(".mark").count() == 5
