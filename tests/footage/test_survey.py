"""What the survey says of films whose cuts, stretches and pictures are known."""

from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy
import pytest

from indexer.config import Settings
from indexer.errors import RecordingUnreadable
from indexer.footage.frames import frame_times
from indexer.footage.survey import FILES, kept_looks, kept_survey, survey_film
from indexer.footage.survey_eye import Round, agreed, round_edge
from indexer.footage.survey_guess import guess_kind
from indexer.footage.survey_stills import best_moment
from indexer.models import Cut, Stretch, Survey
from tests.films import Picture, write_film
from tests.footage.surveyed_films import card, even, film_of, melted, shot


def surveyed(film: Path, **more: object) -> Survey:
    """The survey of a film, in a folder beside it."""
    folder = film.with_suffix("")
    return survey_film(film, frame_times(film), folder, Settings(library=folder), **more).survey  # type: ignore[arg-type]


def told(found: Survey) -> list[tuple[str, int]]:
    """Kinds and frames of all cuts."""
    return [(cut.kind, cut.frame) for cut in found.cuts]


def test_hard_and_jump_cuts_are_found_on_their_frames(tmp_path: Path) -> None:
    pictures = [*shot(1, 60), *shot(2, 60), *shot(2, 60, start=140), *shot(3, 60)]
    found = surveyed(film_of(tmp_path / "a.mp4", pictures))
    assert told(found) == [("hard", 60), ("jump", 120), ("hard", 180)]
    assert [cut.at_ms for cut in found.cuts] == [2400, 4800, 7200]


def test_a_film_in_one_go_has_no_cut(tmp_path: Path) -> None:
    found = surveyed(film_of(tmp_path / "a.mp4", shot(4, 250)))
    assert (found.cuts, found.stretches, found.frames, found.length_ms) == ((), (), 250, 10_000)
    assert len(found.motion) == len(found.sharpness) == len(found.blurred) == 10
    assert min(found.motion) > 0.1


def test_a_flash_is_no_cut(tmp_path: Path) -> None:
    pictures = shot(5, 100)
    for at in (40, 41, 70):
        pictures[at] = numpy.full_like(pictures[at], 250)
    assert told(surveyed(film_of(tmp_path / "a.mp4", pictures))) == []


@pytest.mark.parametrize("frames", [12, 25, 40])
def test_a_dissolve_is_found_near_its_middle(frames: int, tmp_path: Path) -> None:
    middle = melted(shot(6, frames, start=60), shot(7, frames))
    found = surveyed(film_of(tmp_path / "a.mp4", [*shot(6, 60), *middle, *shot(7, 60, start=frames)]))
    (cut,) = found.cuts
    assert cut.kind == "dissolve"
    assert abs(cut.frame - (60 + frames / 2)) <= frames / 3
    assert 0 < cut.spread_ms <= 40 * frames


def test_light_that_comes_and_goes_is_no_dissolve(tmp_path: Path) -> None:
    pictures = shot(8, 150)
    for at in range(25):
        pictures[at] = (pictures[at] * ((at + 1) / 26)).astype(numpy.uint8)
        pictures[149 - at] = (pictures[149 - at] * ((at + 1) / 26)).astype(numpy.uint8)
    assert told(surveyed(film_of(tmp_path / "a.mp4", pictures))) == []


def test_stretches_are_found_where_they_are(tmp_path: Path) -> None:
    still = shot(9, 1) * 50
    slow = [picture for picture in shot(10, 50, tool=True) for _ in range(2)]
    pictures = [*card("A narrow pupil", 50), *shot(9, 50), *still, *shot(9, 50), *even(8, 25), *even(120, 25), *slow]
    found = surveyed(film_of(tmp_path / "a.mp4", pictures))
    spans = {each.kind: (each.start_ms, each.end_ms) for each in found.stretches}
    expected = {
        "title": (0, 2000),
        "frozen": (4000, 6000),
        "black": (8000, 9000),
        "blank": (9000, 10_000),
        "repeated": (10_000, 14_000),
    }
    assert spans.keys() == expected.keys()
    for kind, (start_ms, end_ms) in expected.items():
        assert spans[kind][0] == pytest.approx(start_ms, abs=600), kind
        assert spans[kind][1] == pytest.approx(end_ms, abs=600), kind
    assert found.guess.kind == "edited"
    assert any("title" in reason for reason in found.guess.reasons)


def test_blurred_seconds_are_told(tmp_path: Path) -> None:
    pictures = shot(11, 200, tool=False)
    pictures[75:125] = [cv2.GaussianBlur(picture, (0, 0), 4) for picture in pictures[75:125]]  # type: ignore[misc]
    found = surveyed(film_of(tmp_path / "a.mp4", pictures))
    assert [second for second, blurred in enumerate(found.blurred) if blurred] == [3, 4]


def test_a_join_of_parts_is_no_cut(tmp_path: Path) -> None:
    film = film_of(tmp_path / "a.mp4", [*shot(1, 60), *shot(2, 60)])
    assert told(surveyed(film, joins_ms=[2400])) == []


def test_missing_frames_are_counted(tmp_path: Path) -> None:
    times = [n / 25 for n in range(150) if n not in range(60, 68)]
    film = film_of(tmp_path / "a.mp4", shot(12, len(times)), vfr=times)
    assert surveyed(film).missing_frames == 8


def test_an_overlay_that_stays_is_boxed(tmp_path: Path) -> None:
    pictures = []
    for number in range(40):
        for picture in shot(200 + number, 15):
            cv2.putText(picture, "VAC 350", (14, 164), cv2.FONT_HERSHEY_SIMPLEX, 0.7, (255, 255, 255), 2)
            pictures.append(picture)
    boxes = surveyed(film_of(tmp_path / "a.mp4", pictures)).overlays
    assert boxes
    for box in boxes:
        assert box.left < 0.4 and box.left + box.width < 0.5 and box.top > 0.75


def eye(cx: float, cy: float, radius: float) -> Picture:
    """A coloured disc on a pale ground, in the order blue, green, red; places in pixels."""
    picture = numpy.full((90, 160, 3), (150, 160, 200), numpy.uint8)
    cv2.circle(picture, (round(cx), round(cy)), round(radius), (40, 70, 90), -1, cv2.LINE_AA)
    return picture


@pytest.mark.parametrize(("cx", "cy", "radius"), [(80, 45, 30), (60, 50, 22), (100, 40, 36)])
def test_the_eye_is_found_where_it_is(cx: float, cy: float, radius: float) -> None:
    found = round_edge(0, eye(cx, cy, radius))
    assert found is not None
    assert (found.cx * 160, found.cy * 90, found.radius * 90) == pytest.approx((cx, cy, radius), abs=3)


def test_a_circle_that_comes_once_is_no_eye() -> None:
    steady = [Round(1000 * n, 0.5, 0.5, 0.4) for n in range(10)]
    odd = Round(4500, 0.2, 0.8, 0.2)
    assert odd.at_ms not in [each.at_ms for each in agreed([*steady[:5], odd, *steady[5:]])]
    assert len(agreed(steady)) == 10


def test_the_sprite_shows_what_its_index_says(tmp_path: Path) -> None:
    film = film_of(tmp_path / "a.mp4", [*shot(1, 100), *even(8, 100)])
    surveyed(film)
    index = json.loads((tmp_path / "a" / "sprite.json").read_text())
    sheet = cv2.imread(str(tmp_path / "a" / "sprite.jpg"))
    assert (index["apart_ms"], index["tiles"], index["width"]) == (1000, 8, 160)
    assert sheet.shape[:2] == (index["height"], 8 * 160)
    bright = [sheet[:, 160 * n : 160 * (n + 1)].mean() > 40 for n in range(8)]
    assert bright == [True] * 4 + [False] * 4


def test_stills_are_taken_on_the_way_and_avoid_what_is_not_sharp(tmp_path: Path) -> None:
    pictures = shot(13, 100)
    pictures[45:55] = [cv2.GaussianBlur(picture, (0, 0), 5) for picture in pictures[45:55]]  # type: ignore[misc]
    film = film_of(tmp_path / "a.mp4", pictures)
    folder = tmp_path / "out"
    made = survey_film(film, frame_times(film), folder, Settings(library=folder), stills_ms=[0, 1900, 3900])
    assert made.stills_ms == [0, 1900, 3900]
    still = cv2.imread(str(folder / "stills" / "1900.jpg"), cv2.IMREAD_GRAYSCALE)
    blurred = cv2.cvtColor(pictures[50], cv2.COLOR_BGR2GRAY)
    assert cv2.Laplacian(still, cv2.CV_64F).var() > 3 * cv2.Laplacian(blurred, cv2.CV_64F).var()


def test_what_is_kept_is_what_was_found(tmp_path: Path) -> None:
    found = surveyed(film_of(tmp_path / "a.mp4", shot(14, 60)))
    assert kept_survey(tmp_path / "a") == found
    assert {path.name for path in (tmp_path / "a").iterdir()} == set(FILES)
    assert kept_looks(tmp_path / "a").shape[1] == 3


def test_best_moment_is_sharp_and_shows_something() -> None:
    looks = numpy.array([[0, 900, 5], [200, 10, 80], [400, 50, 80], [600, 70, 80], [5000, 99, 80]], float)
    assert best_moment(looks, [], 0, 10_000) == 600
    assert best_moment(looks, [Stretch(kind="title", start_ms=550, end_ms=700)], 0, 10_000) == 400
    assert best_moment(looks, [], 0, 150) is None


@pytest.mark.parametrize(
    ("cuts", "stretches", "minutes", "kind"),
    [
        (0, (), 12, "whole"),
        (1, (), 30, "whole"),
        (12, (), 6, "edited"),
        (0, ("title",), 6, "edited"),
        (2, ("repeated",), 6, "edited"),
        (0, (), 1, "excerpt"),
    ],
)
def test_the_guess_and_its_reasons(cuts: int, stretches: tuple[str, ...], minutes: int, kind: str) -> None:
    found = guess_kind(
        [Cut(at_ms=20_000 * n, frame=500 * n, kind="hard", strength=0.9) for n in range(1, cuts + 1)],
        [Stretch(kind=each, start_ms=1000, end_ms=4000) for each in stretches],  # type: ignore[arg-type]
        minutes * 60_000,
        0,
    )
    assert found.kind == kind
    assert 0.5 <= found.confidence < 1 and found.reasons


@pytest.mark.parametrize(
    ("name", "how"),
    [
        ("a.mkv", {"codec": "libx265", "pixel_format": "yuv420p10le"}),
        ("a.ts", {"codec": "mpeg2video"}),
        ("a.avi", {"codec": "mjpeg", "pixel_format": "yuvj422p"}),
        ("a.avi", {"codec": "mpeg4"}),
        ("a.mkv", {"codec": "ffv1", "pixel_format": "bgr0"}),
        ("a.mp4", {"rotation": 90}),
    ],
)
def test_cuts_are_found_in_every_kind_of_film(name: str, how: dict[str, object], tmp_path: Path) -> None:
    found = surveyed(film_of(tmp_path / name, [*shot(1, 50), *shot(2, 50)], **how))
    assert [(cut.kind, cut.frame) for cut in found.cuts] == [("hard", 50)]


def test_a_damaged_film_is_looked_at_as_far_as_it_goes(tmp_path: Path) -> None:
    film = film_of(tmp_path / "a.ts", [*shot(1, 60), *shot(2, 60)])
    data = bytearray(film.read_bytes())
    middle = len(data) * 3 // 4
    data[middle : middle + 4000] = bytes(4000)
    film.write_bytes(data)
    assert ("hard", 60) in told(surveyed(film))


def test_what_is_no_film_is_refused_in_one_line(tmp_path: Path) -> None:
    film = write_film(tmp_path / "a.mp4", 10)
    times = frame_times(film)
    film.write_text("nothing")
    with pytest.raises(RecordingUnreadable) as refusal:
        survey_film(film, times, tmp_path / "out", Settings(library=tmp_path))
    assert "\n" not in refusal.value.reason
