"""When a copy is needed, and that the copy shows every frame of every part at its time."""

from collections.abc import Sequence
from pathlib import Path

import av
import numpy
import pytest

from indexer.config import Settings
from indexer.errors import RecordingUnreadable, ToolFailed
from indexer.footage import playable, playable_chunks
from indexer.footage.joining import lay_out_parts
from indexer.footage.looking import look
from indexer.footage.playable import make_playable, reasons_for_copy
from indexer.models.footage import Probe
from tests.films import NTSC, NTSC_DOUBLE, draw_frame, read_film, read_strip, tone_stretches, write_film

PLAIN = Probe(
    size_bytes=1,
    content_hash="0" * 64,
    container="mp4",
    codec="h264",
    pixel_format="yuv420p",
    width=640,
    height=360,
    rotation=0,
    duration_ms=60_000,
    claimed_ms=60_000,
    frames=1500,
    frame_rate=25.0,
    constant_rate=True,
    key_frame_gap_ms=1000,
    interlaced=False,
    audio_codec="aac",
)


@pytest.mark.parametrize(
    "change",
    [
        {"container": "webm", "codec": "vp9", "audio_codec": "opus"},
        {},
        {"rotation": 90},
        {"audio_codec": None},
        {"constant_rate": False},
        {"first_ms": 80},
        {"pixel_format": "yuvj420p"},
    ],
)
def test_what_a_browser_plays_is_left_as_it_is(change: dict[str, object], tmp_path: Path) -> None:
    assert reasons_for_copy([PLAIN.model_copy(update=change)], Settings(library=tmp_path)) == ()


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"container": "avi"}, "container (avi)"),
        ({"container": "mov"}, "container (mov)"),
        ({"codec": "hevc"}, "picture (hevc)"),
        ({"codec": "mpeg4"}, "picture (mpeg4)"),
        ({"pixel_format": "yuv422p"}, "colour (yuv422p)"),
        ({"audio_codec": "pcm_s16le"}, "sound (pcm_s16le)"),
        ({"interlaced": True}, "interlaced"),
        ({"key_frame_gap_ms": 10_000}, "up to 10.0 s apart"),
        ({"first_ms": 5_000}, "begin at zero"),
        ({"first_ms": -400}, "begin at zero"),
        ({"claimed_ms": 90_000}, "ends before"),
    ],
)
def test_each_reason_for_a_copy(change: dict[str, object], reason: str, tmp_path: Path) -> None:
    (told,) = reasons_for_copy([PLAIN.model_copy(update=change)], Settings(library=tmp_path))
    assert reason in told


def test_several_parts_are_a_reason_and_the_same_reason_is_told_once(tmp_path: Path) -> None:
    avi = PLAIN.model_copy(update={"container": "avi"})
    reasons = reasons_for_copy([avi, avi, PLAIN], Settings(library=tmp_path))
    assert len(reasons) == 2 and "3 part files" in reasons[0]


def look_at(path: Path) -> Probe:
    """As `probe` does it, but in this process, which is quicker."""
    return Probe(**look(path))


def copy(paths: Sequence[Path], folder: Path) -> tuple[Path, list[Probe]]:
    """A playable copy, checked for what holds of every one of them."""
    settings = Settings(library=folder)
    probes = [look_at(path) for path in paths]
    target = folder / "media" / "film.mp4"
    told: list[float] = []
    make_playable(paths, probes, target, settings, told.append)
    assert told == sorted(told) and told[-1] == 1.0
    assert [path.name for path in target.parent.iterdir()] == ["film.mp4"]
    made = look_at(target)
    assert (made.container, made.codec, made.pixel_format) == ("mp4", "h264", "yuv420p")
    assert made.width % 2 == 0 and made.height % 2 == 0 and not made.interlaced and made.rotation == 0
    assert made.audio_codec == ("aac" if any(each.has_sound for each in probes) else None)
    assert made.duration_ms == pytest.approx(sum(each.duration_ms for each in probes), abs=2)
    data = target.read_bytes()
    assert data.index(b"moov") < data.index(b"mdat")
    return target, probes


def expected_times(paths: Sequence[Path], probes: Sequence[Probe]) -> list[float]:
    """When each frame of the parts has to be shown: as the decoder shows it, from its part's start on."""
    times: list[float] = []
    for part in lay_out_parts(paths, probes):
        shown = [time for time, _ in read_film(part.path)]
        times += [part.start_ms / 1000 + time - shown[0] for time in shown]
    return times


SINGLE = {
    "sparse key frames": ("a.mp4", {"gop": 300, "frames": 75}),
    "29.97, B-frames": ("a.mkv", {"fps": NTSC, "b_frames": 3, "sound": "aac"}),
    "59.94 transport stream": ("a.ts", {"fps": NTSC_DOUBLE, "b_frames": 2, "sound": "ac3", "frames": 120}),
    "M2TS": ("a.m2ts", {"b_frames": 2, "sound": "aac"}),
    "MPEG-2": ("a.ts", {"codec": "mpeg2video", "sound": "mp2"}),
    "program stream": ("a.mpg", {"codec": "mpeg2video", "b_frames": 2}),
    "AVI, motion JPEG": ("a.avi", {"codec": "mjpeg", "pixel_format": "yuvj420p"}),
    "MOV": ("a.mov", {"sound": "pcm_s16le"}),
    "HEVC": ("a.mp4", {"codec": "libx265", "b_frames": 3}),
    "HEVC, 10 bit": ("a.mp4", {"codec": "libx265", "pixel_format": "yuv420p10le"}),
    "uneven": ("a.mkv", {"vfr": [0, 0.04, 0.1, 0.5, 0.52, 1.2, 2.0], "b_frames": 1}),
    "interlaced": ("a.mp4", {"interlaced": True}),
    "odd size": ("a.mkv", {"size": (161, 121), "pixel_format": "yuv444p"}),
    "late start": ("a.mkv", {"vfr": [5 + n / 25 for n in range(50)]}),
}


@pytest.mark.parametrize(("name", "how"), SINGLE.values(), ids=SINGLE)
def test_every_frame_keeps_its_time(name: str, how: dict[str, object], tmp_path: Path) -> None:
    path = write_film(tmp_path / name, **{"frames": 50, **how})  # type: ignore[arg-type]
    target, probes = copy([path], tmp_path)
    seen = read_film(target)
    assert [number for _, number in seen] == list(range(probes[0].frames))
    assert [time for time, _ in seen] == pytest.approx(expected_times([path], probes), abs=2e-5)


KEPT = {
    "MKV, 29.97, B-frames": ("a.mkv", {"fps": NTSC, "b_frames": 3, "sound": "aac"}, True),
    "transport stream, 59.94": ("a.ts", {"fps": NTSC_DOUBLE, "b_frames": 2, "sound": "ac3", "gop": 60}, True),
    "MOV": ("a.mov", {"b_frames": 2, "sound": "pcm_s16le"}, True),
    "uneven, late": ("a.mkv", {"vfr": [3 + n * 0.04 + n // 5 * 0.1 for n in range(50)], "b_frames": 1}, True),
    "sparse key frames": ("a.mkv", {"gop": 300, "frames": 75}, False),
    "AVI": ("a.avi", {}, False),
    "turned": ("a.mov", {"rotation": 90}, False),
    "interlaced": ("a.ts", {"interlaced": True}, False),
    "4:2:2": ("a.mkv", {"pixel_format": "yuv422p"}, False),
}


@pytest.mark.parametrize(("name", "how", "kept"), KEPT.values(), ids=KEPT)
def test_pictures_that_fit_are_not_encoded_again(name: str, how: dict[str, object], kept: bool, tmp_path: Path) -> None:
    path = write_film(tmp_path / name, **{"frames": 50, **how})  # type: ignore[arg-type]
    target, _ = copy([path], tmp_path)
    before, after = planes(path), planes(target)
    assert (len(before) == len(after) and all(map(numpy.array_equal, before, after))) is kept


def planes(path: Path) -> list[numpy.ndarray]:
    """The brightness of every picture as decoded."""
    with av.open(path) as film:
        return [frame.to_ndarray()[: frame.height] for frame in film.decode(video=0)]


def test_avi_with_b_frames_is_even(tmp_path: Path) -> None:
    # What the decoder says of such a file's times is not even; by the file's own order, frame n is at n/25 s.
    target, _ = copy([write_film(tmp_path / "a.avi", 50, b_frames=2)], tmp_path)
    assert read_film(target) == [(pytest.approx(n / 25, abs=1e-6), n) for n in range(50)]


def test_key_frames_are_a_second_apart(tmp_path: Path) -> None:
    target, _ = copy([write_film(tmp_path / "a.mp4", 250, gop=250, size=(64, 48))], tmp_path)
    assert look_at(target).key_frame_gap_ms <= 1040


PARTS: dict[str, list[tuple[str, dict[str, object]]]] = {
    "of equal kind": [("1.mp4", {}), ("2.mp4", {}), ("3.mp4", {})],
    "29.97 with sound, B-frames": [(f"{n}.mp4", {"fps": NTSC, "b_frames": 3, "sound": "aac"}) for n in range(3)],
    "59.94 transport streams": [(f"{n}.ts", {"fps": NTSC_DOUBLE, "b_frames": 2, "sound": "aac"}) for n in range(2)],
    "of different rates": [("1.mp4", {"fps": NTSC}), ("2.mkv", {"fps": NTSC_DOUBLE}), ("3.ts", {"b_frames": 2})],
    "some without sound": [("1.mp4", {}), ("2.mp4", {}), ("3.ts", {"sound": "aac", "b_frames": 2}), ("4.mp4", {})],
    "one uneven": [("1.mp4", {}), ("2.mp4", {"vfr": [0, 0.3, 0.4, 1.0]}), ("3.mp4", {})],
    "one interlaced": [("1.mp4", {"interlaced": True}), ("2.mp4", {})],
    "of different sizes": [("1.mp4", {"size": (160, 120)}), ("2.mp4", {"size": (320, 240)})],
    "of different codecs": [("1.avi", {"codec": "mpeg4"}), ("2.mp4", {"codec": "libx265"}), ("3.ts", {})],
}


@pytest.mark.parametrize("kinds", PARTS.values(), ids=PARTS)
def test_parts_follow_each_other_without_a_frame_lost_or_doubled(
    kinds: list[tuple[str, dict[str, object]]], tmp_path: Path
) -> None:
    paths, first = [], 0
    for name, how in kinds:
        frames = len(how["vfr"]) if "vfr" in how else 40  # type: ignore[arg-type]
        paths.append(write_film(tmp_path / name, frames, first=first, **how))  # type: ignore[arg-type]
        first += frames
    target, probes = copy(paths, tmp_path)
    seen = read_film(target)
    assert [number for _, number in seen] == list(range(first))
    assert [time for time, _ in seen] == pytest.approx(expected_times(paths, probes), abs=2e-5)


def test_sound_stays_with_its_part(tmp_path: Path) -> None:
    paths = [
        write_film(tmp_path / "1.mp4", 25, sound="aac"),
        write_film(tmp_path / "2.mp4", 50),
        write_film(tmp_path / "3.ts", 25, sound="aac", b_frames=2),
    ]
    target, _ = copy(paths, tmp_path)
    heard = tone_stretches(target)
    # Stretches of 20 ms: a second of tone, two of silence, a second of tone; two stretches are left for each edge.
    assert all(heard[2:48]) and not any(heard[52:148]) and all(heard[152:198])


def test_sound_that_begins_before_the_picture_stays_in_step(tmp_path: Path) -> None:
    # The pictures begin a second after the sound; the copy begins with the pictures.
    path = write_film(tmp_path / "a.mkv", 50, vfr=[1 + n / 25 for n in range(50)], sound="aac")
    target, _ = copy([path], tmp_path)
    heard = tone_stretches(target)
    assert all(heard[2:46]) and not any(heard[54:])


@pytest.mark.parametrize(("rotation", "turns_back"), [(90, 1), (180, 2), (270, 3)])
def test_a_turned_film_is_upright_in_the_copy(rotation: int, turns_back: int, tmp_path: Path) -> None:
    target, _ = copy([write_film(tmp_path / "a.mov", 30, rotation=rotation)], tmp_path)
    with av.open(target) as film:
        pictures = [frame.to_ndarray(format="gray") for frame in film.decode(video=0)]
    assert [read_strip(numpy.rot90(picture, turns_back)) for picture in pictures] == list(range(30))


def test_pixels_become_square_by_stretching(tmp_path: Path) -> None:
    from fractions import Fraction

    target, _ = copy([write_film(tmp_path / "a.mkv", 20, pixel_shape=Fraction(4, 3))], tmp_path)
    with av.open(target) as film:
        stream = film.streams.video[0]
        assert (stream.width, stream.height) == (214, 120)
        assert stream.sample_aspect_ratio in (None, 0, 1)


def test_interlaced_pictures_lose_their_comb(tmp_path: Path) -> None:
    # A disc that moves between the two fields of a frame: every other line belongs to the other moment.
    size = (320, 240)
    pictures = []
    for number in range(20):
        early, late = draw_frame(4 * number, size), draw_frame(4 * number + 2, size)
        early[1::2] = late[1::2]
        pictures.append(early)
    path = write_film(tmp_path / "a.mp4", 20, size=size, interlaced=True, pictures=pictures)
    target, _ = copy([path], tmp_path)
    assert comb(target) < 0.4 * comb(path)


def comb(path: Path) -> float:
    """How much neighbouring lines differ more than lines of the same field, below the strip."""
    with av.open(path) as film:
        pictures = numpy.stack([frame.to_ndarray(format="gray")[40:].astype(int) for frame in film.decode(video=0)])
    near = numpy.abs(pictures[:, 1:-1] * 2 - pictures[:, :-2] - pictures[:, 2:])
    return float(near.mean())


def test_nothing_of_the_metadata_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "a.mkv"
    with av.open(path, "w") as film:
        film.metadata["title"] = "A Name That Nobody Has"
        film.metadata["comment"] = "a number of nobody"
        stream = film.add_stream("libx264", rate=25)
        stream.width, stream.height, stream.pix_fmt = 160, 120, "yuv420p"
        for number in range(20):
            film.mux(stream.encode(av.VideoFrame.from_ndarray(draw_frame(number, (160, 120)), format="bgr24")))
        film.mux(stream.encode(None))
    target, _ = copy([path], tmp_path)
    data = target.read_bytes()
    assert b"A Name That Nobody Has" not in data and b"a number of nobody" not in data


def test_what_an_attempt_that_was_killed_left_is_swept_up(tmp_path: Path) -> None:
    (tmp_path / "media").mkdir()
    (tmp_path / "media" / ".film-abcdef.unfinished.mp4").write_bytes(b"half")
    copy([write_film(tmp_path / "a.mkv", 20)], tmp_path)


def test_a_copy_that_fails_leaves_nothing_and_the_old_one_stays(tmp_path: Path) -> None:
    path = write_film(tmp_path / "a.mkv", 20)
    settings = Settings(library=tmp_path)
    probes = [look_at(path)]
    path.write_bytes(b"something else by now")
    target = tmp_path / "media" / "film.mp4"
    target.parent.mkdir()
    target.write_bytes(b"the copy of before")
    with pytest.raises((ToolFailed, RecordingUnreadable)):
        make_playable([path], probes, target, settings, lambda done: None)
    assert [each.name for each in target.parent.iterdir()] == ["film.mp4"]
    assert target.read_bytes() == b"the copy of before"


def test_a_part_named_twice_is_told(tmp_path: Path) -> None:
    with pytest.raises(RecordingUnreadable, match="twice"):
        make_playable(
            [Path("a.mp4")] * 2, [PLAIN] * 2, tmp_path / "f.mp4", Settings(library=tmp_path), lambda done: None
        )


DIVIDED: dict[str, tuple[str, dict[str, object]]] = {
    "29.97, B-frames": ("a.mp4", {"fps": NTSC, "b_frames": 3, "sound": "aac", "gop": 300}),
    "59.94 transport stream": ("a.ts", {"fps": NTSC_DOUBLE, "b_frames": 2, "sound": "ac3", "gop": 150}),
    "HEVC": ("a.mp4", {"codec": "libx265", "b_frames": 3, "gop": 40}),
    "uneven": ("a.mkv", {"vfr": [n * 0.04 + n // 7 * 0.033 for n in range(240)], "b_frames": 1, "gop": 200}),
    "interlaced, late": ("a.mkv", {"interlaced": True, "vfr": [5 + n / 25 for n in range(240)]}),
}


@pytest.mark.parametrize(("name", "how"), DIVIDED.values(), ids=DIVIDED)
def test_chunks_follow_each_other_without_a_seam(
    name: str, how: dict[str, object], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(playable_chunks, "CHUNK_MS", 1500)
    path = write_film(tmp_path / name, **{"frames": 240, **how})  # type: ignore[arg-type]
    target, probes = copy([path], tmp_path)
    seen = read_film(target)
    assert [number for _, number in seen] == list(range(probes[0].frames))
    assert [time for time, _ in seen] == pytest.approx(expected_times([path], probes), abs=2e-5)


def test_what_was_encoded_before_a_kill_is_not_encoded_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(playable_chunks, "CHUNK_MS", 1000)
    path = write_film(tmp_path / "a.mkv", 200, gop=300, sound="aac")
    settings, target = Settings(library=tmp_path), tmp_path / "media" / "film.mp4"
    probes = [look_at(path)]
    begun, encode = [], playable_chunks.encode

    def killed(chunk: playable_chunks.Chunk, *given: object) -> Path:
        if chunk.name == "0-4.mp4" and len(begun) == 4:
            raise KeyboardInterrupt
        begun.append(chunk.name)
        return encode(chunk, *given)  # type: ignore[arg-type]

    monkeypatch.setattr(playable_chunks, "encode", killed)
    with pytest.raises(KeyboardInterrupt):
        make_playable([path], probes, target, settings, lambda done: None)
    assert not target.exists()
    folder = target.parent / ".film.chunks"
    (folder / ".0-4-abc.unfinished.mp4").write_bytes(b"half")
    before = {each.name: each.stat().st_mtime_ns for each in folder.glob("0-*.mp4")}
    assert sorted(before) == ["0-0.mp4", "0-1.mp4", "0-2.mp4", "0-3.mp4"]

    def join_after_looking(*given: object) -> None:
        after = {each.name: each.stat().st_mtime_ns for each in folder.glob("0-*.mp4")}
        assert before.items() <= after.items() and len(after) == 8
        joined(*given)  # type: ignore[arg-type]

    joined = playable._join
    monkeypatch.setattr(playable, "_join", join_after_looking)
    make_playable([path], probes, target, settings, lambda done: None)
    assert [number for _, number in read_film(target)] == list(range(200))
    assert [each.name for each in target.parent.iterdir()] == ["film.mp4"]


def test_chunks_of_another_film_are_not_taken(tmp_path: Path) -> None:
    folder = tmp_path / "media" / ".film.chunks"
    folder.mkdir(parents=True)
    (folder / "0-0.mp4").write_bytes(b"of another film")
    (folder / "chunks.json").write_text('{"chunk_ms": 120000, "parts": [["another", 0]]}')
    target, _ = copy([write_film(tmp_path / "a.mkv", 75, gop=300)], tmp_path)
    assert len(read_film(target)) == 75
