"""A folder of broken and odd films, made by script: what a card from a recorder, a download or a wrong click brings."""

from __future__ import annotations

import os
import struct
import zipfile
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

import av
import cv2
import numpy

from indexer.config import Settings
from indexer.footage import ffmpeg
from tests.films import draw_frame, write_film


class Odd(NamedTuple):
    """One odd film: how it is made, and what is said of it."""

    name: str
    make: Callable[[Path], object]
    refused: str | None = None
    """Part of the reason for which it is refused; None where it is taken."""
    remark: str | None = None
    """Part of a remark that a film that is taken carries."""


def good(path: Path, frames: int = 100) -> Path:
    """A sound film with its index in front."""
    return write_film(path, frames, sound="aac", options={"movflags": "faststart"})


def index_behind(path: Path) -> bytes:
    """The bytes of a film with its index at the end."""
    return write_film(path, 100).read_bytes()


def cut(path: Path, share: float, make: Callable[[Path], object] = good) -> None:
    """Keep the first `share` of a film."""
    make(path)
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * share)])


def noise(size: int) -> bytes:
    """Bytes without any order, the same each time."""
    return numpy.random.default_rng(7).bytes(size)


def flip(path: Path, kind: bytes, share: float, many: int = 200) -> None:
    """Turn over every seventh byte from `share` of the way through the box `kind` on, `many` of them."""
    data = bytearray(good(path).read_bytes())
    start = data.index(kind) + 4
    (length,) = struct.unpack(">I", data[start - 8 : start - 4])
    begin = start + int(length * share)
    for place in range(begin, min(begin + 7 * many, start + length - 8), 7):
        data[place] ^= 0xFF
    path.write_bytes(data)


def patch(path: Path, kind: bytes, behind: int, value: bytes) -> None:
    """Write `value` over what lies `behind` bytes after each box `kind` of a sound film."""
    data = bytearray(good(path).read_bytes())
    place = data.index(kind)
    while place >= 0:
        data[place + 4 + behind : place + 4 + behind + len(value)] = value
        place = data.find(kind, place + 4)
    path.write_bytes(data)


def blank_pictures(path: Path) -> None:
    """A film whose pictures are all zeros, behind a sound index."""
    data = bytearray(good(path).read_bytes())
    start = data.index(b"mdat") + 4
    data[start:] = bytes(len(data) - start)
    path.write_bytes(data)


def sound_only(path: Path, codec: str = "aac") -> None:
    """A tone of two seconds."""
    from tests.films import _audio_stream, _write_tone

    with av.open(path, "w") as film:
        _write_tone(film, _audio_stream(film, codec), 2.0)


def sound_with_cover(path: Path) -> None:
    """A narration with a cover picture, as recorders on a telephone write it."""
    import ffmpeg as graph

    tone, cover = path.with_name("tone.m4a"), path.with_name("cover.png")
    sound_only(tone)
    cv2.imwrite(str(cover), draw_frame(1, (64, 64)))
    inputs = graph.input(str(tone)).audio, graph.input(str(cover)).video
    made = graph.output(*inputs, str(path), c="copy", **{"disposition:v": "attached_pic"}, f="mp4")
    ffmpeg.run(made, timeout_s=30, settings=Settings())


def encrypted(path: Path) -> None:
    """A film under common encryption (ISO/IEC 23001-7), by ffmpeg's own writer of it."""
    import ffmpeg as graph

    plain = good(path.with_name("plain.mp4"))
    key = "00112233445566778899aabbccddeeff"
    made = graph.output(
        graph.input(str(plain)).video,
        str(path),
        c="copy",
        encryption_scheme="cenc-aes-ctr",
        encryption_key=key,
        encryption_kid=key,
    )
    ffmpeg.run(made, timeout_s=30, settings=Settings())


def subtitles_only(path: Path) -> None:
    """A container with nothing in it but subtitles."""
    import ffmpeg as graph

    lines = path.with_name("lines.srt")
    lines.write_text("1\n00:00:00,000 --> 00:00:02,000\nA line.\n")
    ffmpeg.run(graph.output(graph.input(str(lines)), str(path)), timeout_s=30, settings=Settings())


def picture_file(path: Path) -> None:
    """A photograph with the wrong name."""
    done, data = cv2.imencode(".png", draw_frame(3, (160, 120)))
    assert done
    path.write_bytes(data.tobytes())


def archive(path: Path) -> None:
    """A compressed archive with the wrong name."""
    with zipfile.ZipFile(path, "w") as file:
        file.writestr("film.txt", "nothing")


def spoilt_stream(path: Path) -> None:
    """A transport stream that begins in the middle of something else and has a hole of noise."""
    data = write_film(path, 100, sound="aac").read_bytes()
    middle = len(data) // 2
    path.write_bytes(noise(5000) + data[:middle] + noise(3000) + data[middle + 3000 :])


def two_sizes(path: Path) -> None:
    """A transport stream in which the recorder changes the size of the picture."""
    small = write_film(path.with_name("small.ts"), 40, size=(160, 120)).read_bytes()
    path.write_bytes(write_film(path, 60, size=(240, 180)).read_bytes() + small)


def raw_pixels(path: Path, width: int) -> None:
    """An AVI of bare pixels whose head claims another width."""
    data = bytearray(write_film(path, 5, codec="rawvideo", pixel_format="bgr24").read_bytes())
    place = data.index(b"strf") + 8
    data[place + 4 : place + 8] = struct.pack("<i", width)
    path.write_bytes(data)


def endless_head(path: Path) -> None:
    """A Matroska file whose head claims to run for thirty years: its element Duration (0x4489), a number of 8 bytes."""
    data = bytearray(write_film(path, 50).read_bytes())
    place = data.index(b"\x44\x89\x88") + 3
    data[place : place + 8] = struct.pack(">d", 1e12)
    path.write_bytes(data)


def stopped_clock(path: Path) -> None:
    """A film whose index gives every picture the same time: its table of durations (`stts`) holds zeros."""
    data = bytearray(write_film(path, 50).read_bytes())
    place = data.index(b"stts") + 4
    (entries,) = struct.unpack(">I", data[place + 4 : place + 8])
    for entry in range(entries):
        data[place + 12 + 8 * entry : place + 16 + 8 * entry] = bytes(4)
    path.write_bytes(data)


ODD_FILMS: tuple[Odd, ...] = (
    Odd("nothing.mp4", lambda path: path.write_bytes(b""), "empty"),
    Odd("missing.mp4", lambda path: None, "no such file"),
    Odd("folder.mp4", lambda path: path.mkdir(), "folder"),
    Odd("pipe.mp4", os.mkfifo if hasattr(os, "mkfifo") else lambda path: path.mkdir(), ""),
    Odd("loop.mp4", lambda path: path.symlink_to(path), "cannot be opened"),
    Odd("one-byte.mp4", lambda path: path.write_bytes(b"\0"), "not a film"),
    Odd("text.mp4", lambda path: path.write_text("This is the letter to the patient.\n" * 200), "not a film"),
    Odd("noise.mp4", lambda path: path.write_bytes(noise(100_000)), ""),
    Odd("noise.ts", lambda path: path.write_bytes(noise(100_000)), ""),
    Odd("zeros.mkv", lambda path: path.write_bytes(bytes(1_000_000)), "not a film"),
    Odd("archive.mov", archive, "not a film"),
    Odd("photograph.mp4", picture_file, "not a film"),
    Odd(
        "playlist.mp4",
        lambda path: path.write_text("#EXTM3U\n#EXTINF:2,\nfile:///etc/hostname\n#EXT-X-ENDLIST\n"),
        "not a film",
    ),
    Odd("list.mp4", lambda path: path.write_text("ffconcat version 1.0\nfile good.mp4\n"), "not a film"),
    Odd("narration.m4a", sound_only, "sound but no moving picture"),
    Odd("narration.mp3", lambda path: sound_only(path, "libmp3lame"), "sound but no moving picture"),
    Odd("narration.mp4", sound_with_cover, "sound but no moving picture"),
    Odd("subtitles.mkv", subtitles_only, "no moving picture"),
    Odd("one-frame.mp4", lambda path: write_film(path, 1), "single picture"),
    Odd("head-only.mp4", lambda path: cut(path, 0.003), ""),
    Odd("index-cut-off.mp4", lambda path: cut(path, 0.6, index_behind), "index is missing"),
    Odd("half-index.mp4", lambda path: cut(path, 0.02), ""),
    Odd("half.mp4", lambda path: cut(path, 0.5), remark="its head says 0:04"),
    Odd("half.mkv", lambda path: cut(path, 0.5, lambda film: write_film(film, 100)), remark="its head says 0:04"),
    Odd("half.avi", lambda path: cut(path, 0.5, lambda film: write_film(film, 100, codec="mpeg4"))),
    Odd("half.ts", lambda path: cut(path, 0.5, lambda film: write_film(film, 100))),
    Odd("spoilt.ts", spoilt_stream),
    Odd("flipped-pictures.mp4", lambda path: flip(path, b"mdat", 0.45)),
    Odd("spoilt-half.mp4", lambda path: flip(path, b"mdat", 0.4, 1_000_000), remark="damaged (near 0:0"),
    Odd("flipped-index.mp4", lambda path: flip(path, b"moov", 0.2), ""),
    Odd("blank.mp4", blank_pictures, "none of its pictures can be decoded"),
    Odd("unknown-codec.mp4", lambda path: patch(path, b"avc1", -4, b"qqqq"), "kind that cannot be decoded here"),
    Odd("endless-head.mkv", endless_head, remark="its head says"),
    Odd("endless.mkv", lambda path: write_film(path, 4, vfr=[0, 1, 2, 200_000]), "hours"),
    Odd("stopped-clock.mp4", stopped_clock, remark="but its head says"),
    Odd("same-time.mp4", lambda path: write_film(path, 50, vfr=[n / 120_000 for n in range(50)]), "same time"),
    Odd(
        "before-zero.mp4",
        lambda path: write_film(
            path,
            50,
            vfr=[(n - 25) / 25 for n in range(50)],
            options={"avoid_negative_ts": "disabled", "use_editlist": "0"},
        ),
    ),
    Odd("late.mkv", lambda path: write_film(path, 50, vfr=[5 + n / 25 for n in range(50)])),
    Odd("pause.mp4", lambda path: write_film(path, 50, vfr=[n / 25 + 30 * (n > 25) for n in range(50)])),
    Odd("speck.mkv", lambda path: write_film(path, 10, size=(2, 2), codec="ffv1"), "2 x 2 pixels"),
    Odd("wide.avi", lambda path: raw_pixels(path, 60_000), "60000 x"),
    Odd("no-width.avi", lambda path: raw_pixels(path, 0), ""),
    Odd("matroska.mp4", lambda path: write_film(path, 50, container="matroska")),
    Odd("encrypted.mp4", encrypted, "encrypted"),
    Odd("two-sizes.ts", two_sizes, remark="clock goes back at 0:02"),
    Odd("-i 50% öäü 'q' [x].mp4", good),
    Odd("slow.mp4", lambda path: write_film(path, 4, Fraction(1, 2))),
)
