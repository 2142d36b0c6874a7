"""Times of frames from the packets, against the decoder's; and which frame a moment shows."""

from fractions import Fraction
from pathlib import Path

import numpy
import pytest

from indexer.errors import RecordingUnreadable
from indexer.footage.frames import frame_at, frame_times, seek_seconds
from tests.films import NTSC, NTSC_DOUBLE, PAL, read_film, write_film

FILMS = {
    "25": {"fps": PAL},
    "29.97, B-frames": {"fps": NTSC, "b_frames": 3},
    "59.94, B-frames": {"fps": NTSC_DOUBLE, "b_frames": 2, "gop": 60},
    "23.976": {"fps": Fraction(24000, 1001)},
    "HEVC": {"codec": "libx265", "b_frames": 3},
    "uneven": {"vfr": [0, 0.04, 0.1, 0.5, 0.52, 2.0, 2.04]},
    "uneven, B-frames": {"vfr": [n / 30 + (n // 7) * 0.21 for n in range(60)], "b_frames": 2},
}


@pytest.mark.parametrize("how", FILMS.values(), ids=FILMS)
@pytest.mark.parametrize("suffix", [".mp4", ".mkv"])
def test_times_are_those_of_the_decoder(how: dict[str, object], suffix: str, tmp_path: Path) -> None:
    film = write_film(tmp_path / f"film{suffix}", 60, **how)  # type: ignore[arg-type]
    shown = [time for time, _ in read_film(film)]
    assert frame_times(film).tolist() == pytest.approx(shown, abs=1e-9)


@pytest.mark.parametrize("fps", [PAL, NTSC, NTSC_DOUBLE], ids=["25", "29.97", "59.94"])
def test_a_rounded_time_finds_its_frame_again(fps: Fraction) -> None:
    times = numpy.array([float(n / fps) for n in range(20_000)])
    assert [frame_at(times, round(n * 1000 / fps)) for n in range(20_000)] == list(range(20_000))


@pytest.mark.parametrize(
    ("ms", "index"), [(-5, 0), (0, 0), (39, 0), (40, 1), (99, 1), (100, 2), (499, 2), (500, 3), (9999, 3)]
)
def test_a_moment_shows_the_last_frame_that_has_begun(ms: int, index: int) -> None:
    assert frame_at([0.0, 0.04, 0.1, 0.5], ms) == index


@pytest.mark.parametrize(
    ("ms", "seconds"),
    [(0, 0.02), (30, 0.02), (50, 0.07), (200, 0.2), (500, 0.6), (700, 0.6)],
)
def test_a_browser_is_sent_into_the_frame_and_not_far(ms: int, seconds: float) -> None:
    assert seek_seconds([0.0, 0.04, 0.1, 0.5], ms) == pytest.approx(seconds)


def test_one_frame_is_enough() -> None:
    assert frame_at([0.0], 500) == 0
    assert seek_seconds([0.0], 500) == pytest.approx(0.1)


def test_a_file_without_pictures_is_refused(tmp_path: Path) -> None:
    (tmp_path / "film.mp4").write_text("nothing")
    with pytest.raises(RecordingUnreadable, match="cannot be counted"):
        frame_times(tmp_path / "film.mp4")
