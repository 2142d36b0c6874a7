"""Clips exact to the frame at both ends, of every kind of film; what leaves carries nothing along."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy
import pytest

from indexer.config import Settings
from indexer.errors import BadInput, RecordingUnreadable, ToolFailed
from indexer.footage import ffmpeg
from indexer.footage.cutting import Clip, cut
from indexer.footage.joining import lay_out_parts
from indexer.footage.looking import look
from indexer.models.covered import Covered
from indexer.models.footage import Probe
from indexer.timespan import Span
from tests.films import NTSC, NTSC_DOUBLE, read_film, tone_stretches, write_film

UNEVEN = [n * 0.04 + n // 7 * 0.033 for n in range(300)]
KINDS: dict[str, dict[str, Any]] = {
    "250 frames a group, B-frames": {"gop": 250, "b_frames": 3, "sound": "aac"},
    "dense keys": {"gop": 10},
    "29.97, B-frames": {"fps": NTSC, "gop": 30, "b_frames": 2},
    "50": {"fps": 50, "gop": 50, "b_frames": 1},
    "59.94, B-frames": {"fps": NTSC_DOUBLE, "gop": 60, "b_frames": 3},
    "uneven, B-frames": {"vfr": UNEVEN, "gop": 25, "b_frames": 2},
    "begins late": {"vfr": [0.1 + n / 25 for n in range(300)], "gop": 25},
}
SPANS = [(100, 201), (37, 290), (0, 300), (249, 262), (250, 299), (299, 300)]


def look_at(path: Path) -> Probe:
    return Probe(**look(path))


def ms(seconds: float) -> int:
    return round(seconds * 1000)


@pytest.fixture(scope="module", params=KINDS.values(), ids=KINDS)
def drawn(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[Any]]:
    path = write_film(tmp_path_factory.mktemp("drawn") / "film.mp4", 300, **request.param)
    return path, read_film(path)


@pytest.mark.parametrize(("first", "behind"), SPANS)
@pytest.mark.parametrize("whole", [False, True], ids=["inside", "leaving"])
def test_the_first_and_the_last_frame_and_all_between(
    drawn: tuple[Path, list[Any]], first: int, behind: int, whole: bool, tmp_path: Path
) -> None:
    path, film = drawn
    end_ms = ms(film[behind][0]) if behind < len(film) else ms(film[-1][0]) + 40
    cut([path], [], ms(film[first][0]), end_ms, tmp_path / "c.mp4", Settings(), whole=whole)
    seen = read_film(tmp_path / "c.mp4")
    assert [number for _, number in seen] == list(range(first, behind))
    wanted = [at - film[first][0] for at, _ in film[first:behind]]
    assert [at for at, _ in seen] == pytest.approx(wanted, abs=2e-5)


ELSEWHERE: dict[str, tuple[str, dict[str, Any]]] = {
    "transport stream": ("a.ts", {"fps": NTSC_DOUBLE, "b_frames": 2, "gop": 60, "sound": "ac3"}),
    "MKV": ("a.mkv", {"fps": NTSC, "b_frames": 2, "gop": 90}),
    "AVI": ("a.avi", {"codec": "mpeg4", "gop": 50}),
    "program stream": ("a.mpg", {"codec": "mpeg2video", "b_frames": 2}),
    "HEVC": ("a.mp4", {"codec": "libx265", "b_frames": 3, "gop": 90}),
    "interlaced": ("a.mp4", {"interlaced": True}),
    "late": ("a.mkv", {"vfr": [5 + n / 25 for n in range(150)], "b_frames": 1}),
}


@pytest.mark.parametrize("whole", [False, True], ids=["inside", "leaving"])
@pytest.mark.parametrize(("name", "how"), ELSEWHERE.values(), ids=ELSEWHERE)
def test_originals_of_every_kind(name: str, how: dict[str, Any], whole: bool, tmp_path: Path) -> None:
    path = write_film(tmp_path / name, 150, **how)
    probe = look_at(path)
    times = [at / 25 for at in range(150)] if name.endswith("avi") else [at for at, _ in read_film(path)]
    start_ms, end_ms = (ms(times[n] - times[0]) for n in (71, 123))
    cut([path], [probe], start_ms, end_ms, tmp_path / "c.mp4", Settings(), whole=whole)
    assert [number for _, number in read_film(tmp_path / "c.mp4")] == list(range(71, 123))


@pytest.mark.parametrize(("start", "end"), [(35, 45), (5, 115), (40, 80), (39, 41), (81, 119)])
@pytest.mark.parametrize("whole", [False, True], ids=["inside", "leaving"])
def test_across_the_joins_of_parts(start: int, end: int, whole: bool, tmp_path: Path) -> None:
    kinds: list[tuple[str, dict[str, Any]]] = [
        ("1.mp4", {"fps": NTSC, "b_frames": 2, "sound": "aac"}),
        ("2.ts", {"fps": NTSC, "b_frames": 2}),
        ("3.mp4", {"fps": NTSC, "sound": "aac", "gop": 12}),
    ]
    paths = [write_film(tmp_path / name, 40, first=40 * n, **how) for n, (name, how) in enumerate(kinds)]
    probes = [look_at(path) for path in paths]
    parts = lay_out_parts(paths, probes)
    times = [part.start_ms / 1000 + n / float(NTSC) for part in parts for n in range(40)]
    cut(paths, probes, ms(times[start]), ms(times[end]), tmp_path / "c.mp4", Settings(), whole=whole)
    seen = read_film(tmp_path / "c.mp4")
    assert [number for _, number in seen] == list(range(start, end))
    assert [at for at, _ in seen] == pytest.approx([at - times[start] for at in times[start:end]], abs=2e-5)


def joined(tmp_path: Path, **more: Any) -> tuple[Path, Clip]:
    """A clip of which the middle is copied: frames 40 to 219 of a film with key frames at 0, 90, 180, 270."""
    path = write_film(tmp_path / "a.mp4", 300, gop=90, b_frames=3, sound="aac", size=(320, 240), **more)
    return path, cut([path], [], 1600, 8800, tmp_path / "c.mp4", Settings(), whole=False)


def pictures(path: Path) -> list[numpy.ndarray]:
    with av.open(path) as film:
        return [frame.to_ndarray(format="gray").astype(float) for frame in film.decode(video=0)]


def test_pictures_at_the_joins_are_as_good_as_a_full_encode(tmp_path: Path) -> None:
    path, clip = joined(tmp_path)
    assert clip.copied > 100 and clip.encoded and clip.encoded < 80
    original = pictures(path)[40:220]
    cut([path], [], 1600, 8800, tmp_path / "full.mp4", Settings(), whole=True)
    noise = {
        name: [psnr(mine, theirs) for mine, theirs in zip(pictures(tmp_path / name), original, strict=True)]
        for name in ("c.mp4", "full.mp4")
    }
    # Frame 50 of the clip is the first that is copied. Copied pictures are the original's own, bit for bit.
    assert min(noise["c.mp4"][50 : 50 + clip.copied]) == 99.0
    assert min(noise["c.mp4"]) > min(noise["full.mp4"]) - 0.5
    assert numpy.mean(noise["c.mp4"][:50]) > numpy.mean(noise["full.mp4"][:50]) - 0.5


def psnr(mine: numpy.ndarray, theirs: numpy.ndarray) -> float:
    """Peak signal-to-noise ratio in decibels; 99 for equal pictures."""
    error = float(((mine - theirs) ** 2).mean())
    return 99.0 if error == 0 else 10 * numpy.log10(255**2 / error)


def test_both_parameter_sets_stand_in_the_record_and_none_among_the_pictures(tmp_path: Path) -> None:
    from indexer.footage import parameter_sets

    _, clip = joined(tmp_path)
    with av.open(clip.path) as film:
        record = parameter_sets.read_record(bytes(film.streams.video[0].codec_context.extradata))
        assert record is not None and len(record.sequence) == len(record.picture) == 2 and len(record.ids) == 2
        kinds = {
            parameter_sets.kind(unit)
            for packet in film.demux(video=0)
            for unit in parameter_sets.units(bytes(packet), record.length_size)
        }
    assert parameter_sets.SEQUENCE not in kinds and parameter_sets.PICTURE not in kinds


@pytest.mark.parametrize("whole", [False, True], ids=["inside", "leaving"])
def test_sound_is_cut_where_the_pictures_are(whole: bool, tmp_path: Path) -> None:
    # Tone in the first and the third part; the clip begins 0.4 s before the join.
    paths = [write_film(tmp_path / f"{n}.mp4", 50, first=50 * n, sound="aac" if n != 1 else None) for n in range(3)]
    probes = [look_at(path) for path in paths]
    cut(paths, probes, 1600, 4400, tmp_path / "c.mp4", Settings(), whole=whole)
    heard = tone_stretches(tmp_path / "c.mp4")
    assert all(heard[2:18]) and not any(heard[22:118]) and all(heard[122:138])


@pytest.mark.parametrize("whole", [False, True], ids=["inside", "leaving"])
def test_muted_spans_are_silent_and_the_rest_is_heard(whole: bool, tmp_path: Path) -> None:
    path = write_film(tmp_path / "a.mp4", 250, sound="aac", gop=25)
    cut([path], [], 2000, 8000, tmp_path / "c.mp4", Settings(), whole=whole, mute=[Span(3000, 4000), Span(7500, 9000)])
    heard = tone_stretches(tmp_path / "c.mp4")
    # A stretch of 20 ms; the encoder's own blocks of 21 ms smear an edge by two at most.
    assert all(heard[2:46]) and not any(heard[52:98]) and all(heard[104:270]) and not any(heard[278:])


def test_a_clip_without_sound(tmp_path: Path) -> None:
    path = write_film(tmp_path / "a.mp4", 100, sound="aac")
    cut([path], [], 1000, 2000, tmp_path / "c.mp4", Settings(), whole=True, silent=True)
    assert look_at(tmp_path / "c.mp4").audio_codec is None


def test_a_covered_region_is_black_on_every_frame_of_its_span_and_on_no_other(tmp_path: Path) -> None:
    path = write_film(tmp_path / "a.mp4", 150, NTSC, size=(320, 240), gop=50)
    cover = [Covered(left=0.5, top=0.25, width=0.25, height=0.5, start_ms=2000, end_ms=3000)]
    cut([path], [], 1000, 4000, tmp_path / "c.mp4", Settings(), whole=True, cover=cover)
    first = int(1 * NTSC)
    for number, picture in enumerate(pictures(tmp_path / "c.mp4"), start=first):
        region = picture[60:180, 160:240]
        shown = (Fraction(number) / NTSC, Fraction(number + 1) / NTSC)
        if shown[1] > 2 and shown[0] < 3:
            assert region.max() < 24, number
        else:
            assert region.mean() > 60, number
        assert picture[60:180, 20:150].mean() > 40


def test_a_smaller_picture_keeps_its_shape(tmp_path: Path) -> None:
    path = write_film(tmp_path / "a.mp4", 50, size=(320, 240))
    cut([path], [], 0, 1000, tmp_path / "c.mp4", Settings(), whole=True, size=(200, 100))
    made = look_at(tmp_path / "c.mp4")
    assert (made.width, made.height) == (134, 100)


PLANTED = (b"Aldous Nobody", b"4711-0815", b"2031-05-06", b"user data of nobody")


def planted(path: Path) -> Path:
    """A film with names, numbers and times in its metadata, a time code, and free text in the stream itself."""
    import ffmpeg as graph

    source = graph.input(str(write_film(path.with_name("plain.mp4"), 100, sound="aac", b_frames=2, gop=25)))
    made = graph.output(
        source.video,
        source.audio,
        str(path),
        c="copy",
        timecode="10:11:12:00",
        movflags="use_metadata_tags",
        # Free text as H.264, D.1.6, has it: 16 bytes of identity, then anything.
        **{"bsf:v": "h264_metadata=sei_user_data=086f3693-b7b3-4f2c-9653-21492feee5b8+user data of nobody"},
        metadata=["title=Aldous Nobody", "creation_time=2031-05-06T07:08:09Z", "comment=4711-0815 2031-05-06"],
        **{"metadata:s:v:0": "handler_name=Aldous Nobody"},
    )
    ffmpeg.run(made, timeout_s=60, settings=Settings())
    return path


def test_nothing_rides_along_with_a_clip_that_leaves(tmp_path: Path) -> None:
    path = planted(tmp_path / "a.mp4")
    data = path.read_bytes()
    assert all(each in data for each in PLANTED)
    cut([path], [look_at(path)], 1000, 3000, tmp_path / "c.mp4", Settings(), whole=True)
    made = (tmp_path / "c.mp4").read_bytes()
    assert not [each for each in PLANTED if each in made]
    assert not re.search(rb"x264|[Ll]av[cf]|tmcd|chap|uuid|loci|\xa9[a-z]{3}", made)
    # The list of tags (ilst) is there, and empty: its length is that of its own head.
    assert all(made[at.start() - 4 : at.start()] == b"\0\0\0\x08" for at in re.finditer(b"ilst", made))
    with av.open(tmp_path / "c.mp4") as film:
        assert "creation_time" not in film.metadata and len(film.streams) == 2
        kinds = [unit_kinds(packet) for packet in film.demux(video=0) if packet.size]
    assert set().union(*kinds) <= {1, 5}
    for box in (b"mvhd", b"tkhd", b"mdhd"):
        for found in re.finditer(box, made):
            version = made[found.end()]
            assert not any(made[found.end() + 4 : found.end() + 4 + (16 if version else 8)]), box


def unit_kinds(packet: Any) -> set[int]:
    from indexer.footage import parameter_sets

    return {parameter_sets.kind(unit) for unit in parameter_sets.units(bytes(packet), 4)}


def test_inside_the_library_no_metadata_of_the_file_is_kept_either(tmp_path: Path) -> None:
    path = planted(tmp_path / "a.mp4")
    clip = cut([path], [], 1000, 3000, tmp_path / "c.mp4", Settings(), whole=False)
    assert clip.copied
    assert not [each for each in PLANTED[:3] if each in clip.path.read_bytes()]


@pytest.mark.parametrize(("start_ms", "end_ms"), [(2000, 2000), (3000, 2000), (-1, 2000)])
def test_a_span_that_is_none(start_ms: int, end_ms: int, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="no stretch of time"):
        cut([tmp_path / "a.mp4"], [], start_ms, end_ms, tmp_path / "c.mp4", Settings(), whole=True)


@pytest.mark.parametrize("whole", [False, True], ids=["inside", "leaving"])
def test_a_clip_behind_the_end(whole: bool, tmp_path: Path) -> None:
    path = write_film(tmp_path / "a.mp4", 50)
    with pytest.raises(RecordingUnreadable, match="behind the end"):
        cut([path], [], 5000, 6000, tmp_path / "out" / "c.mp4", Settings(), whole=whole)
    assert not list((tmp_path / "out").iterdir())


@pytest.mark.parametrize("whole", [False, True], ids=["inside", "leaving"])
@pytest.mark.parametrize("data", [b"", b"not a film at all" * 50, bytes(10_000)])
def test_what_is_no_film(whole: bool, data: bytes, tmp_path: Path) -> None:
    (tmp_path / "a.mp4").write_bytes(data)
    (tmp_path / "out").mkdir()
    with pytest.raises(RecordingUnreadable) as told:
        cut([tmp_path / "a.mp4"], [], 0, 6000, tmp_path / "out" / "c.mp4", Settings(), whole=whole)
    assert "\n" not in str(told.value) and not list((tmp_path / "out").iterdir())


@pytest.mark.parametrize("whole", [False, True], ids=["inside", "leaving"])
def test_no_space_left_leaves_nothing_and_what_was_there_stays(
    whole: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_film(tmp_path / "a.mp4", 300, size=(320, 240), gop=25, sound="aac")
    target = tmp_path / "out" / "c.mp4"
    target.parent.mkdir()
    target.write_bytes(b"the clip of before")
    limited(monkeypatch, 20_000)
    with pytest.raises(ToolFailed):
        cut([path], [], 0, 10_000, target, Settings(), whole=whole)
    assert [each.name for each in target.parent.iterdir()] == ["c.mp4"]
    assert target.read_bytes() == b"the clip of before"


def limited(monkeypatch: pytest.MonkeyPatch, most: int) -> None:
    """Let no process that is started write a file larger than `most` bytes: it is told so, as on a full disk."""
    import resource
    import signal
    import subprocess

    begun = subprocess.Popen

    def bound() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))

    def begin(*given: Any, **more: Any) -> Any:
        return begun(*given, **{**more, "preexec_fn": bound})

    monkeypatch.setattr("indexer.footage.bounded.subprocess.Popen", begin)


@pytest.mark.parametrize("whole", [False, True], ids=["inside", "leaving"])
def test_a_kill_leaves_no_half_clip_and_the_next_sweeps_up(whole: bool, tmp_path: Path) -> None:
    import signal
    import subprocess
    import sys
    import time

    path = write_film(tmp_path / "a.mp4", 750, size=(320, 240), gop=125, b_frames=2, sound="aac")
    target = tmp_path / "out" / "c.mp4"
    work = (
        "import sys; from pathlib import Path; from indexer.config import Settings; from indexer.footage.cutting import cut; "
        f"cut([Path(sys.argv[1])], [], 1000, 29000, Path(sys.argv[2]), Settings(), whole={whole})"
    )
    process = subprocess.Popen([sys.executable, "-c", work, str(path), str(target)])
    try:
        begun = time.monotonic()
        while not list(target.parent.glob(".c-*")) and process.poll() is None and time.monotonic() < begun + 60:
            time.sleep(0.01)
    finally:
        process.send_signal(signal.SIGKILL)
        process.wait()
    assert not target.exists()
    cut([path], [], 1000, 29000, target, Settings(), whole=whole)
    assert [each.name for each in target.parent.iterdir()] == ["c.mp4"]
    assert [number for _, number in read_film(target)] == list(range(25, 725))
