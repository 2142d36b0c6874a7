"""A clip of which part was copied and part encoded plays in a browser to its end, every join of it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from indexer.config import Settings
from indexer.footage.cutting import cut
from tests.films import read_strip, write_film
from tests.web.test_in_browser import KEEP_FIRST_PICTURE, browser

pytestmark = pytest.mark.browser
__all__ = ["browser"]

FETCH = """async () => {
  const film = await (await fetch("c.mp4")).blob();
  document.querySelector("video").src = URL.createObjectURL(film);
}"""
PLAY = """() => new Promise((told) => {
  const video = document.querySelector("video");
  video.muted = true;
  video.loop = false;
  video.onended = () => told({ end: video.currentTime, length: video.duration, error: null });
  video.onerror = () => told({ error: video.error.message });
  video.play().catch((error) => told({ error: String(error) }));
})"""
SEEK = """(at) => new Promise((told) => {
  const video = document.querySelector("video");
  video.onseeked = () => requestAnimationFrame(() => requestAnimationFrame(() => told(window.pictureNow(video))));
  video.currentTime = at;
})"""


def test_a_joined_clip_plays_to_its_end_and_shows_each_frame_where_it_is(browser: Any, tmp_path: Path) -> None:
    import numpy

    path = write_film(tmp_path / "a.mp4", 160, gop=50, b_frames=3, sound="aac", size=(320, 180))
    clip = cut([path], [], 1200, 4920, tmp_path / "c.mp4", Settings(), whole=False)
    assert clip.copied and clip.encoded
    page = browser.new_page()
    # Fetched by the page itself, so that it may read the pixels and go to any place without a server of ranges.
    page.route("http://clips.invalid/c.mp4", lambda route: route.fulfill(path=clip.path, content_type="video/mp4"))
    shown = "<video></video>"
    page.route("http://clips.invalid/", lambda route: route.fulfill(body=shown, content_type="text/html"))
    page.goto("http://clips.invalid/")
    page.evaluate(KEEP_FIRST_PICTURE + "; null")
    page.evaluate(FETCH)
    played = page.evaluate(PLAY)
    assert played["error"] is None and played["end"] == pytest.approx(played["length"], abs=0.1)
    assert played["length"] == pytest.approx(3.72, abs=0.05)
    # Around both joins: encoded frames 30 to 49, copied from 50 on, the last few encoded.
    for frame in (30, 48, 49, 50, 51, 99, 100, 101, 119, 120, 121, 122):
        told = page.evaluate(SEEK, (frame - 30 + 0.5) / 25)
        picture = numpy.array(told["gray"]).reshape(told["height"], told["width"])
        assert read_strip(picture) == frame
    page.close()
