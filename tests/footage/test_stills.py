"""Stills: the right moment, the sharpest frame, not black, upright."""

from fractions import Fraction
from pathlib import Path

import cv2
import numpy
import pytest

from indexer.config import Settings
from indexer.errors import RecordingUnreadable
from indexer.footage.frames import frame_times
from indexer.footage.stills import make_stills
from tests.films import Picture, draw_frame, draw_strip, read_strip, write_film


def stills(film: Path, times_ms: list[int], **how: int) -> dict[int, Picture]:
    made = make_stills(film, times_ms, film.parent / "stills", Settings(library=film.parent), **how)
    assert all(path == film.parent / "stills" / f"{time_ms}.jpg" for time_ms, path in made.items())
    return {time_ms: numpy.asarray(cv2.imread(str(path)), dtype=numpy.uint8) for time_ms, path in made.items()}


@pytest.mark.parametrize(("gop", "b_frames"), [(12, 0), (250, 2), (50, 3)])
def test_a_still_is_of_its_time_or_a_little_later(gop: int, b_frames: int, tmp_path: Path) -> None:
    film = write_film(tmp_path / "film.mp4", 250, gop=gop, b_frames=b_frames)
    times_ms = [0, 40, 1000, 1200, 1240, 5000, 9000, 9960]
    for time_ms, picture in stills(film, times_ms).items():
        number = read_strip(picture)
        assert number is not None and time_ms <= number * 40 <= time_ms + 800
        times_ms.remove(time_ms)
    assert times_ms == []


@pytest.mark.parametrize("name", ["film.ts", "film.mkv", "film.mpg"])
def test_stills_of_an_original_that_is_hard_to_seek_in(name: str, tmp_path: Path) -> None:
    codec = "mpeg2video" if name.endswith("mpg") else "libx264"
    film = write_film(tmp_path / name, 150, gop=60, b_frames=2, codec=codec)
    first_ms = round(float(frame_times(film)[0]) * 1000)
    for time_ms, picture in stills(film, [first_ms, first_ms + 2000, first_ms + 5000]).items():
        number = read_strip(picture)
        assert number is not None and time_ms - first_ms <= number * 40 <= time_ms - first_ms + 800


def test_a_time_behind_the_end_gets_the_last_picture(tmp_path: Path) -> None:
    film = write_film(tmp_path / "film.mp4", 50)
    assert read_strip(stills(film, [60_000])[60_000]) == 49


def test_the_sharpest_of_its_window_is_taken_and_no_black_one(tmp_path: Path) -> None:
    pictures = []
    for number in range(75):
        picture = draw_frame(number, (160, 120))
        if number < 25:
            picture[:] = 0
        elif number != 41:
            picture = numpy.asarray(cv2.GaussianBlur(picture, (0, 0), 4), dtype=numpy.uint8)
        draw_strip(picture, number)
        pictures.append(picture)
    film = write_film(tmp_path / "film.mp4", 75, pictures=pictures)
    made = stills(film, [600, 1440])
    # From 600 ms on the window holds frames 15 to 35, of which the first ten are black but for their number.
    assert (read_strip(made[600]) or 0) >= 25
    assert read_strip(made[1440]) == 41


@pytest.mark.parametrize(("rotation", "turns_back"), [(90, 1), (180, 2), (270, 3)])
def test_a_turned_film_gives_upright_stills(rotation: int, turns_back: int, tmp_path: Path) -> None:
    film = write_film(tmp_path / "film.mp4", 30, rotation=rotation)
    (picture,) = stills(film, [0]).values()
    assert picture.shape == ((160, 120, 3) if rotation != 180 else (120, 160, 3))
    assert read_strip(numpy.asarray(numpy.rot90(picture, turns_back), dtype=numpy.uint8)) is not None


def test_width_and_shape_of_pixels(tmp_path: Path) -> None:
    film = write_film(tmp_path / "film.mp4", 10, size=(320, 240), pixel_shape=Fraction(4, 3))
    assert stills(film, [0], width=200)[0].shape == (112, 200, 3)
    assert stills(film, [0])[0].shape == (240, 427, 3)


def test_nothing_asked_is_nothing_made(tmp_path: Path) -> None:
    assert make_stills(tmp_path / "missing.mp4", [], tmp_path / "stills", Settings(library=tmp_path)) == {}


def test_a_broken_film_is_refused(tmp_path: Path) -> None:
    (tmp_path / "film.mp4").write_bytes(b"nothing")
    with pytest.raises(RecordingUnreadable, match="cannot be read"):
        stills(tmp_path / "film.mp4", [0])
