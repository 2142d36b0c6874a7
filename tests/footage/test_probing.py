"""What is said of a sound film, against what it was written with."""

import hashlib
import time
from fractions import Fraction
from pathlib import Path

import pytest

from indexer.config import Settings
from indexer.errors import RecordingUnreadable
from indexer.footage import looking
from indexer.footage.probing import ends_early, probe
from indexer.models.footage import Probe
from tests.films import NTSC, NTSC_DOUBLE, read_film, write_film


def look(path: Path, **how: object) -> dict[str, object]:
    """What is found in a film that is written so; looked at in this process, which is quicker."""
    frames = how.pop("frames", 50)
    write_film(path, frames, **how)  # type: ignore[arg-type]
    return Probe(**looking.look(path)).model_dump()


@pytest.mark.parametrize(
    ("name", "how", "found"),
    [
        (
            "a.mp4",
            {"sound": "aac"},
            {"container": "mp4", "codec": "h264", "audio_codec": "aac", "pixel_format": "yuv420p"},
        ),
        ("a.mov", {"sound": "pcm_s16le"}, {"container": "mov", "audio_codec": "pcm_s16le"}),
        ("a.mkv", {"codec": "libx265", "pixel_format": "yuv420p10le"}, {"container": "matroska", "codec": "hevc"}),
        ("a.webm", {"codec": "libvpx", "frames": 20}, {"container": "webm", "codec": "vp8"}),
        ("a.avi", {"codec": "mjpeg", "pixel_format": "yuvj420p"}, {"container": "avi", "codec": "mjpeg"}),
        (
            "a.ts",
            {"codec": "mpeg2video", "sound": "mp2"},
            {"container": "mpegts", "codec": "mpeg2video", "audio_codec": "mp2"},
        ),
        ("a.mp4", {"codec": "libx265"}, {"container": "mp4", "codec": "hevc", "pixel_format": "yuv420p"}),
        ("a.m2ts", {"codec": "libx265", "pixel_format": "yuv420p10le"}, {"container": "mpegts", "codec": "hevc"}),
        ("a.avi", {"codec": "mpeg4"}, {"container": "avi", "codec": "mpeg4"}),
        ("a.mov", {"codec": "mjpeg", "pixel_format": "yuvj420p"}, {"container": "mov", "codec": "mjpeg"}),
        ("a.mkv", {"codec": "mpeg2video"}, {"container": "matroska", "codec": "mpeg2video"}),
        ("a.m2ts", {"b_frames": 2, "sound": "ac3"}, {"container": "mpegts", "codec": "h264", "audio_codec": "ac3"}),
    ],
)
def test_kinds(name: str, how: dict[str, object], found: dict[str, object], tmp_path: Path) -> None:
    seen = look(tmp_path / name, **how)
    assert {key: seen[key] for key in found} == found
    assert seen["remarks"] == ()


# 30000/1001 and 60000/1001 frames a second are the rates of NTSC (SMPTE ST 170); a frame lasts 1001/30000 s.
@pytest.mark.parametrize(
    ("name", "how", "frames", "rate", "length_ms", "gap_ms", "constant"),
    [
        ("a.mp4", {"gop": 10}, 50, 25.0, 2000, 400, True),
        ("a.mp4", {"fps": NTSC, "b_frames": 3, "gop": 30}, 60, 30000 / 1001, 2002, 1001, True),
        ("a.mkv", {"fps": NTSC_DOUBLE, "b_frames": 2, "gop": 60}, 120, 60000 / 1001, 2002, 1001, True),
        ("a.ts", {"fps": NTSC, "gop": 300}, 60, 30000 / 1001, 2002, 2002, True),
        ("a.avi", {"b_frames": 2}, 50, 25.0, 2000, 480, True),
        ("a.mp4", {"vfr": [0, 0.04, 0.1, 0.5, 0.52, 2.0]}, 6, 6 / 2.04, 2040, 2040, False),
        ("a.mp4", {"vfr": [n / 25 + 0.04 * (n > 20) for n in range(49)]}, 49, 24.5, 2000, 520, False),
    ],
)
def test_rhythm(
    name: str,
    how: dict[str, object],
    frames: int,
    rate: float,
    length_ms: int,
    gap_ms: int,
    constant: bool,
    tmp_path: Path,
) -> None:
    seen = look(tmp_path / name, frames=frames, **how)
    assert seen["frames"] == frames
    assert seen["frame_rate"] == pytest.approx(rate, rel=1e-3)
    assert seen["duration_ms"] == pytest.approx(length_ms, abs=1)
    assert seen["key_frame_gap_ms"] == pytest.approx(gap_ms, abs=1)
    assert seen["constant_rate"] is constant


@pytest.mark.parametrize(
    ("name", "how"),
    [
        ("a.ts", {"b_frames": 2, "gop": 25}),
        ("a.ts", {"codec": "mpeg2video", "b_frames": 2}),
        ("a.ts", {"codec": "libx265"}),
    ],
)
def test_frames_before_the_first_key_frame_of_a_cut_stream_do_not_count(
    name: str, how: dict[str, object], tmp_path: Path
) -> None:
    path = write_film(tmp_path / name, 150, **how)  # type: ignore[arg-type]
    data = path.read_bytes()
    # A transport stream is made of packets of 188 bytes (ISO/IEC 13818-1).
    path.write_bytes(data[len(data) // 188 * 4 // 10 * 188 :])
    seen, shown = Probe(**looking.look(path)), read_film(path)
    assert 0 < seen.frames < 120
    assert seen.frames == len(shown)
    assert seen.first_ms == round(shown[0][0] * 1000)


@pytest.mark.parametrize("rotation", [0, 90, 180, 270])
def test_rotation_is_told_clockwise_and_the_size_is_as_shown(rotation: int, tmp_path: Path) -> None:
    seen = look(tmp_path / "a.mp4", rotation=rotation, size=(160, 120))
    assert seen["rotation"] == rotation
    assert (seen["width"], seen["height"]) == ((160, 120) if rotation % 180 == 0 else (120, 160))


def test_pixels_that_are_not_square_are_counted_as_shown(tmp_path: Path) -> None:
    # Pixels of 4:3 stretch 1440 x 1080 to 1920 x 1080, as high-definition camcorders record it (common practice, no
    # source); here 160 x 120 to 213 x 120.
    seen = look(tmp_path / "a.mp4", pixel_shape=Fraction(4, 3))
    assert (seen["width"], seen["height"]) == (213, 120)


@pytest.mark.parametrize("interlaced", [True, False])
@pytest.mark.parametrize("suffix", [".mp4", ".ts"])
def test_interlace(interlaced: bool, suffix: str, tmp_path: Path) -> None:
    assert look(tmp_path / f"a{suffix}", interlaced=interlaced)["interlaced"] is interlaced


def test_the_hash_is_sha_256_of_the_whole_file(tmp_path: Path) -> None:
    path = write_film(tmp_path / "a.mp4", 50)
    seen = probe(path, Settings(library=tmp_path)).model_dump()
    data = (tmp_path / "a.mp4").read_bytes()
    assert seen["content_hash"] == hashlib.sha256(data).hexdigest()
    assert seen["size_bytes"] == len(data)


def test_a_look_that_takes_too_long_is_given_up(tmp_path: Path) -> None:
    path = write_film(tmp_path / "a.mp4", 10)
    begun = time.monotonic()
    with pytest.raises(RecordingUnreadable, match="took longer"):
        probe(path, Settings(library=tmp_path, probe_seconds=0.01))
    assert time.monotonic() - begun < 5


@pytest.mark.parametrize(
    ("length_ms", "claimed_ms", "early"),
    [
        (1000, 1000, False),
        (1000, 1900, False),
        (1000, 2100, True),
        (980_000, 1_000_000, False),
        (970_000, 1_000_000, True),
    ],
)
def test_ends_early(length_ms: int, claimed_ms: int, early: bool) -> None:
    assert ends_early(length_ms, claimed_ms) is early
