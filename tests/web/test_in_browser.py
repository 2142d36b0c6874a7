"""The main job in a real browser: ask, choose, and the first picture painted is the first frame of the step.

The films of these tests carry their frame number in the picture; it is read back from what the page has painted.
"""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import numpy
import pytest

from indexer.catalogue.library import Library
from indexer.vocabulary.vocabulary import Vocabulary
from tests.films import read_strip, write_film
from tests.web.conftest import Filled
from tests.web.invented import FRAME_MS, put_case
from tests.web.running import running

pytestmark = pytest.mark.browser

ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"]
DECLARED = ("CHROMIUM", "chromium", "chromium-browser", "google-chrome", "chrome")

KEEP_FIRST_PICTURE = """
new MutationObserver((changes) => {
  for (const { target, oldValue } of changes) {
    const uncovered = target.tagName === "VIDEO" && (oldValue ?? "").includes("covered") && !target.matches(".covered");
    if (uncovered && !window.firstPicture) window.firstPicture = window.pictureNow(target);
  }
}).observe(document, { subtree: true, attributes: true, attributeFilter: ["class"], attributeOldValue: true });
window.pictureNow = (video) => {
  const canvas = document.createElement("canvas");
  canvas.width = video.videoWidth;
  canvas.height = Math.max(4, Math.round(video.videoWidth / 40));
  const paper = canvas.getContext("2d");
  paper.drawImage(video, 0, 0);
  const { data, width, height } = paper.getImageData(0, 0, canvas.width, canvas.height);
  return { width, height, gray: Array.from({ length: width * height }, (_, at) => data[at * 4 + 1]) };
};
"""


def chromium() -> str | None:
    """A chromium on this machine: the one that CHROMIUM names, or one on PATH."""
    return os.environ.get("CHROMIUM") or next(filter(None, map(shutil.which, DECLARED[1:])), None)


def missing(what: str) -> None:
    """Leave a test out and name what is missing; where tests must be complete (CI), fail instead."""
    message = f"left out: {what}"
    if os.environ.get("CI") == "true":
        pytest.fail(message)
    pytest.skip(message)


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """A headless chromium."""
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        missing("the Python package playwright")
    path = chromium()
    if path is None:
        missing("a chromium browser (on PATH, or named by the variable CHROMIUM)")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield started
        started.close()


@pytest.fixture(scope="module")
def address(filled: Filled) -> Iterator[str]:
    with running(filled.library) as where:
        yield where


@pytest.fixture
def open_page(browser: Any) -> Iterator[Callable[..., Any]]:
    """Opens pages in fresh contexts; faults of scripts, and requests to elsewhere, fail the test."""
    contexts: list[Any] = []
    faults: list[str] = []

    def opened(**options: Any) -> Any:
        context = browser.new_context(**options)
        contexts.append(context)
        page = context.new_page()
        page.add_init_script(KEEP_FIRST_PICTURE)
        page.on("pageerror", lambda fault: faults.append(str(fault)))
        page.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
        page.on("request", lambda asked: None if "//127.0.0.1:" in asked.url else faults.append(asked.url))
        return page

    yield opened
    for context in contexts:
        context.close()
    assert faults == []


def number_in(picture: dict[str, Any]) -> int | None:
    """The frame number in a picture that a page gave."""
    return read_strip(numpy.array(picture["gray"], dtype=numpy.uint8).reshape(picture["height"], picture["width"]))


def wait_for_picture(page: Any) -> None:
    page.wait_for_selector("case-film[data-first]", state="attached", timeout=15_000)


def frame_at(address: str) -> int:
    """The frame that a link into a film wants, at the films' rate."""
    return round(float(parse_qs(urlsplit(address).query)["t"][0]) * 1000) // FRAME_MS


def test_ask_choose_and_the_first_picture_is_the_first_frame_of_the_step(open_page: Any, address: str) -> None:
    page = open_page()
    page.goto(address)
    page.get_by_role("searchbox", name="What do you want to see?").fill("capsular hooks dense nucleus")
    page.keyboard.press("Enter")
    page.locator(".passage h2 a").first.click()
    wait_for_picture(page)
    first = number_in(page.evaluate("window.firstPicture"))
    assert first == frame_at(page.url) == 5480 // FRAME_MS
    assert page.locator("case-film").get_attribute("data-exact") == "yes"
    page.wait_for_function(f"() => document.querySelector('video').currentTime > {first * FRAME_MS / 1000 + 0.3}")
    assert not page.evaluate("document.querySelector('video').paused")


@pytest.mark.parametrize("moment", ["0", "2", "3", "5.48", "9.2", "11.96"])
def test_a_cold_link_paints_exactly_its_frame_first(open_page: Any, address: str, filled: Filled, moment: str) -> None:
    page = open_page(reduced_motion="reduce")
    page.goto(f"{address}case/{filled.hooks[0]}/{filled.hooks[1]}?t={moment}#t={moment}")
    wait_for_picture(page)
    assert number_in(page.evaluate("window.firstPicture")) == frame_at(page.url)


def test_every_step_of_a_film_with_b_frames_and_an_odd_rate(
    open_page: Any, tmp_path: Path, vocabulary: Vocabulary
) -> None:
    """30000/1001 frames a second, key frames two seconds apart: where rounding would show the frame before."""
    from fractions import Fraction

    from indexer.footage.frames import frame_times

    rate = Fraction(30000, 1001)
    film = write_film(tmp_path / "odd.mp4", 240, rate, size=(320, 180), gop=60, b_frames=2)
    starts = [7, 30, 61, 119, 178, 239]
    ends = [*starts[1:], 240]
    scenes = [
        (round(float(at / rate), 3), round(float(to / rate), 3), "chopping", "words")
        for at, to in zip(starts, ends, strict=True)
    ]
    with Library.open(tmp_path / "lib", vocabulary=vocabulary) as library:
        case, recording = put_case(library, film, "Odd", scenes, length_ms=8008)
        library.media(recording).mkdir(parents=True, exist_ok=True)
        numpy.save(library.media(recording) / "frames.npy", frame_times(film))
        with running(library) as address:
            page = open_page(reduced_motion="reduce")
            for start in starts:
                page.goto("about:blank")
                page.goto(f"{address}case/{case}/{recording}?t={float(start / rate):.3f}")
                wait_for_picture(page)
                assert number_in(page.evaluate("window.firstPicture")) == start


def test_words_times_and_bands_play_from_where_they_are(open_page: Any, address: str, filled: Filled) -> None:
    page = open_page(reduced_motion="reduce")
    page.goto(f"{address}case/{filled.hooks[0]}/{filled.hooks[1]}")
    page.locator(".row[data-step=chopping] h3 a").click()
    page.wait_for_function("() => Number(document.querySelector('case-film').dataset.first) === 9.2")
    assert page.url.endswith("?t=9.2#t=9.2")
    word = page.locator(".words [data-ms]", has_text="hooks").first
    word.click()
    at_ms = int(word.get_attribute("data-ms"))
    page.wait_for_function(
        f"() => Math.abs(Number(document.querySelector('case-film').dataset.first) * 1000 - {at_ms}) <= {FRAME_MS}"
    )
    page.wait_for_selector(".words .spoken")


def test_the_words_follow_the_film(open_page: Any, address: str, filled: Filled) -> None:
    page = open_page()
    page.goto(f"{address}case/{filled.hooks[0]}/{filled.hooks[1]}?t=3")
    wait_for_picture(page)
    page.evaluate("document.querySelector('video').play()")
    page.wait_for_selector(".row[data-step=capsule-support][aria-current=true]", timeout=15_000)
    spoken = page.locator(".words .spoken").get_attribute("data-ms")
    painted = page.locator("case-film").get_attribute("data-painted")
    assert abs(int(spoken) / 1000 - float(painted)) < 1.5


def test_keys_move_by_frame_second_and_step(open_page: Any, address: str, filled: Filled) -> None:
    page = open_page(reduced_motion="reduce")
    page.goto(f"{address}case/{filled.hooks[0]}/{filled.hooks[1]}?t=3")
    wait_for_picture(page)

    def shown() -> int | None:
        page.wait_for_timeout(250)
        return number_in(page.evaluate("window.pictureNow(document.querySelector('video'))"))

    assert shown() == 75
    page.keyboard.press("ArrowRight")
    assert shown() == 76
    page.keyboard.press("ArrowLeft")
    page.wait_for_timeout(250)
    page.keyboard.press("ArrowLeft")
    assert shown() == 74
    page.keyboard.press("ArrowDown")
    assert shown() == 75
    page.keyboard.press("ArrowDown")
    assert shown() == 137
    page.keyboard.press(" ")
    page.wait_for_function("() => !document.querySelector('video').paused")
    page.keyboard.press(" ")
    page.wait_for_function("() => document.querySelector('video').paused")
    page.keyboard.press("k")
    assert page.locator("#keys").is_visible()
    page.get_by_label("Letters are keys").uncheck()
    page.keyboard.press("k")
    assert page.locator("#keys").is_visible()


def test_a_filter_takes_effect_when_it_is_ticked(open_page: Any, address: str) -> None:
    page = open_page()
    page.goto(f"{address}?q=capsulorhexis")
    page.locator("summary", has_text="Finding of this eye").click()
    page.get_by_label(re.compile("Weak zonules")).check()
    page.wait_for_url(re.compile("finding=weak-zonules"))
    assert "assertion=" not in page.url and "least=" not in page.url


def test_everything_is_read_without_scripts(open_page: Any, address: str) -> None:
    page = open_page(java_script_enabled=False)
    page.goto(f"{address}?q=capsular+hooks")
    page.locator(".passage h2 a").first.click()
    assert page.locator("video").get_attribute("controls") is not None
    assert re.search(r"#t=[\d.]+$", page.locator("video").get_attribute("src"))
    assert "tension ring would not hold" in page.locator(".rows").inner_text()
    page.locator(".row[data-step=chopping] .stamp").first.click()
    assert "?t=9.2#t=9.2" in page.url


@pytest.mark.parametrize("width", [360, 768, 1024, 1600, 2560])
@pytest.mark.parametrize("scheme", ["dark", "light"])
def test_nothing_scrolls_sideways(open_page: Any, address: str, filled: Filled, width: int, scheme: str) -> None:
    page = open_page(viewport={"width": width, "height": 900}, color_scheme=scheme)
    for path in ("", "?q=capsular+hooks", "cases", "about", f"case/{filled.hooks[0]}/{filled.hooks[1]}"):
        page.goto(address + path)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, path


def test_the_first_tab_stop_skips_to_the_content(open_page: Any, address: str) -> None:
    page = open_page()
    page.goto(f"{address}cases")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Go to the content"
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('main') !== null")


@pytest.mark.parametrize(
    ("fragment", "start"),
    [
        # Temporal cases of the W3C Media Fragments 1.0 test suite; None: the fragment is to be ignored.
        ("t=,", None), ("t=3,3", None), ("t=7,3", None), ("t=3,7", 3), ("t=3", 3), ("t=3,", None), ("t=,7", 0),
        ("t=npt:3,7", 3), ("t=banana", None), ("t=3,banana", None), ("t='3'", None), ("t=3-7", None), ("t=3,7,9", None),
        ("t%3D3", None), ("%74=3", 3), ("t=%33", 3), ("t=3%2C7", 3), ("t=%6Ept:3", 3), ("t=-1,3", None), ("t=3&", 3),
        ("u=12&t=3", 3), ("t=foo:7&t=npt:3", 3), ("&&=&=tom&jerry=&t=3&t=meow:0#", 3), ("t=7&t=3", 3), ("T=3,7", None),
        ("t=", None), ("t=.", None), ("t=.0", None), ("t=0s", None), ("t=npt:", None), ("t=1e-1", None), ("t=3.", 3),
        ("t=0:0:0", None), ("t=0:00:60", None), ("t=0:60:00", None), ("t=00:00:03,00:00:07", 3), ("t=3,00:00:07", 3),
        ("t=0:00:60.000", None), ("t=3,7&t=foo", 3), ("foo&t=3,7", 3), ("t=3,7&&", 3), ("t%3d10", None),
        ("t=10%26", None),
        ("t=3,7,", None), ("t=0:00:03,0:00:07", 3),
    ],
)  # fmt: skip
def test_times_in_addresses_are_read_as_the_standard_says(reader: Any, fragment: str, start: float | None) -> None:
    found = reader.evaluate("(text) => window.readFragment('#' + text)", fragment)
    assert (found and found["start"]) == start


@pytest.fixture(scope="module")
def reader(browser: Any, address: str) -> Iterator[Any]:
    """A page with the site's reader of fragments at hand."""
    context = browser.new_context()
    page = context.new_page()
    page.goto(f"{address}about")
    page.evaluate("import('/static/js/fragment.js').then((module) => { window.readFragment = module.readFragment; })")
    yield page
    context.close()
