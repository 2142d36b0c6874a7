"""The numbered films that other tests rely on."""

from pathlib import Path

import numpy
import pytest

from tests.films import draw_frame, draw_strip, read_film, read_strip, write_film


@pytest.mark.parametrize(
    ("number", "bits"),
    [(0, "10" + "0" * 16 + "01"), (1, "10" + "0" * 15 + "111"), (0x8003, "10" + "1000000000000011" + "11")],
)
def test_the_strip_is_as_agreed(number: int, bits: str) -> None:
    picture = numpy.full((90, 160), 128, numpy.uint8)
    draw_strip(picture, number)
    assert "".join("1" if value else "0" for value in picture[1, 2:80:4]) == bits
    assert (picture[4:] == 128).all() and (picture[:, 80:] == 128).all()


@pytest.mark.parametrize("size", [(64, 48), (160, 120), (320, 240), (641, 361)])
@pytest.mark.parametrize("number", [0, 1, 1234, 65535])
def test_what_is_drawn_is_read(size: tuple[int, int], number: int) -> None:
    assert read_strip(draw_frame(number, size)) == number


def test_no_strip_is_no_number() -> None:
    assert read_strip(numpy.zeros((90, 160), numpy.uint8)) is None
    assert read_strip(numpy.full((90, 160), 255, numpy.uint8)) is None


def test_numbers_outlast_the_encoder(tmp_path: Path) -> None:
    film = write_film(tmp_path / "film.mp4", 30, first=500, b_frames=2)
    assert [number for _, number in read_film(film)] == list(range(500, 530))
