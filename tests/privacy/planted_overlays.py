"""Overlays planted into drawn films: burnt-in words of many kinds, whose place in every frame is known to the pixel.

    python -m tests.privacy.planted_overlays FOLDER [--many 300]

writes one short film (480 lines, 25 frames a second, H.264) for each overlay, each background without any,
and its facts beside it as JSON. All names, numbers and places are invented. Half of them are for tuning and half for judging, by a
random number.
"""

from __future__ import annotations

import argparse
import json
import random
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import cv2
import numpy as np
from numpy.typing import NDArray

Picture = NDArray[np.uint8]

SIZE = (854, 480)
RATE = 25
FRAMES = 100
HERSHEY = {
    "hershey-simplex": cv2.FONT_HERSHEY_SIMPLEX,
    "hershey-plain": cv2.FONT_HERSHEY_PLAIN,
    "hershey-duplex": cv2.FONT_HERSHEY_DUPLEX,
    "hershey-complex": cv2.FONT_HERSHEY_COMPLEX,
    "hershey-triplex": cv2.FONT_HERSHEY_TRIPLEX,
}
FONT_FOLDERS = (Path("/usr/share/fonts/truetype/dejavu"), Path("/usr/share/fonts/truetype/liberation"))
FORENAMES = ("Oriel", "Tamsin", "Jorund", "Maren", "Quill", "Ysolde", "Bastian", "Perpetua", "Alaric", "Wenna")
SURNAMES = ("Plover", "Harrowgate", "Underfell", "Thistlewood", "Marchbank", "Ottersley", "Quennell", "Vanterpool")
PLACES = ("Marrowmere Eye Unit", "Saltfleet Infirmary", "Dunmarsh Day Theatre 3", "Ward Heron")


@dataclass(frozen=True)
class Planted:
    """One overlay and the film it is planted in."""

    number: int
    half: str
    """`tuning` or `judging`."""
    words: str
    kind: str
    """`identifier` or `setting`."""
    font: str
    size: int
    """Height of a capital letter and a little more, in pixels."""
    contrast: float
    """Share of the way from the ground to the colour."""
    colour: tuple[int, int, int]
    plate: bool
    """Whether it stands on a plate of its own, as labels do."""
    tilt: float
    """Degrees."""
    place: tuple[float, float]
    """Of the middle, as shares."""
    drift: tuple[float, float]
    """Pixels a frame."""
    first: int
    last: int
    """First frame, and the one behind the last."""
    ground: int
    """Which background."""
    changing: bool
    """Whether its figures change each second, as a clock's do."""

    @property
    def film(self) -> str:
        """Name of its film."""
        return f"planted-{self.number:03d}.mp4"


def plan(many: int = 300, seed: int = 20261125) -> list[Planted]:
    """The overlays, always the same ones for the same seed."""
    dice = random.Random(seed)
    return [_one(number, dice) for number in range(many)]


def _one(number: int, dice: random.Random) -> Planted:
    kind = "setting" if dice.random() < 0.15 else "identifier"
    moving, part = dice.random() < 0.2, dice.random() < 0.45
    length = dice.randint(12, 80) if part else FRAMES
    first = dice.randint(0, FRAMES - length)
    low = dice.random() < 0.3
    light = dice.random() < 0.75
    return Planted(
        number=number,
        half="tuning" if dice.random() < 0.5 else "judging",
        words=_words(kind, dice),
        kind=kind,
        font=dice.choice(fonts()),
        size=dice.choice((11, 12, 14, 16, 18, 20, 24, 28, 34, 42)),
        contrast=round(dice.uniform(0.25, 0.45) if low else dice.uniform(0.6, 1.0), 2),
        colour=tuple(dice.randint(200, 255) if light else dice.randint(0, 50) for _ in range(3)),  # type: ignore[arg-type]
        plate=moving or dice.random() < 0.2,
        tilt=round(dice.uniform(-14, 14), 1) if moving else 0.0,
        place=(round(dice.uniform(0.05, 0.95), 3), round(dice.uniform(0.04, 0.96), 3)),
        drift=(round(dice.uniform(-1.6, 1.6), 2), round(dice.uniform(-1.0, 1.0), 2)) if moving else (0.0, 0.0),
        first=first,
        last=first + length,
        ground=dice.randrange(GROUNDS),
        changing=not moving and dice.random() < 0.2,
    )


GROUNDS = 20


def fonts() -> list[str]:
    """Fonts that are here: OpenCV's own always, others where they are installed."""
    return [*HERSHEY, *sorted(str(path) for folder in FONT_FOLDERS for path in folder.glob("*.ttf") if _latin(path))]


def _latin(path: Path) -> bool:
    return "Math" not in path.name and "ExtraLight" not in path.name


def _words(kind: str, dice: random.Random) -> str:
    if kind == "setting":
        return dice.choice(
            (
                f"VAC {dice.randint(0, 650)} mmHg",
                f"POWER {dice.randint(0, 100)} %",
                f"ASP {dice.randint(5, 60)} cc/min",
                f"PHACO {dice.randint(0, 60)}% CDE {dice.uniform(0, 20):.2f}",
                f"IOP {dice.randint(20, 90)} mmHg",
            )
        )
    name = f"{dice.choice(SURNAMES)}, {dice.choice(FORENAMES)}"
    day = f"{dice.randint(1, 28):02d}.{dice.randint(1, 12):02d}.{dice.randint(1931, 2026)}"
    number = f"{dice.randint(10**6, 10**8 - 1)}"
    return dice.choice(
        (
            name,
            name.upper(),
            f"{name}  *{day}",
            f"MRN {number}",
            f"ID {number[:4]}-{number[4:]}",
            day,
            f"{day[6:]}-{day[3:5]}-{day[:2]} {dice.randint(7, 19):02d}:{dice.randint(0, 59):02d}:{dice.randint(0, 59):02d}",
            f"DOB {day}",
            dice.choice(PLACES),
            f"SN {dice.choice('KQRX')}{number} +{dice.randint(10, 30)}.5 D",
            f"Tel 0{dice.randint(100, 999)} {number}",
        )
    )


# Drawing


def stamp(planted: Planted, frame: int) -> tuple[NDArray[np.float32], Picture]:
    """How much of each pixel the overlay covers (height, width; 0 to 1) and its picture, both of the overlay alone."""
    words = _ticking(planted.words, frame) if planted.changing else planted.words
    ink = _ink(words, planted.font, planted.size)
    pad = max(4, planted.size // 3) if planted.plate else 2
    ink = cv2.copyMakeBorder(ink, pad, pad, pad, pad, cv2.BORDER_CONSTANT)
    cover = ink.astype(np.float32) / 255
    picture = np.empty((*ink.shape, 3), np.uint8)
    if planted.plate:
        plate = tuple(235 - channel * 3 // 4 for channel in planted.colour)
        share = cover[..., None]
        picture[:] = (share * np.array(planted.colour) + (1 - share) * np.array(plate)).astype(np.uint8)
        cover = np.ones_like(cover)
    else:
        picture[:] = planted.colour
    if planted.tilt:
        cover, picture = _turned(cover, picture, planted.tilt)
    return cover * planted.contrast, picture


def _ticking(words: str, frame: int) -> str:
    digits = [place for place, letter in enumerate(words) if letter.isdigit()]
    if not digits:
        return words
    last = digits[-1]
    return words[:last] + str((int(words[last]) + frame // RATE) % 10) + words[last + 1 :]


def _ink(words: str, font: str, size: int) -> Picture:
    if font in HERSHEY:
        face = HERSHEY[font]
        thick = 2 if size >= 28 else 1
        scale = cv2.getFontScaleFromHeight(face, max(6, round(size * 0.72)), thick)
        (width, height), base = cv2.getTextSize(words, face, scale, thick)
        ink = np.zeros((height + base + 6, width + 6), np.uint8)
        cv2.putText(ink, words, (3, height + 3), face, scale, 255, thick, cv2.LINE_AA)
        return ink
    from PIL import Image, ImageDraw, ImageFont

    face = ImageFont.truetype(font, size)
    left, top, right, bottom = face.getbbox(words)
    image = Image.new("L", (int(right - left) + 6, int(bottom - top) + 6))
    ImageDraw.Draw(image).text((3 - left, 3 - top), words, font=face, fill=255)
    return np.asarray(image)


def _turned(cover: NDArray[np.float32], picture: Picture, degrees: float) -> tuple[NDArray[np.float32], Picture]:
    height, width = cover.shape
    turn = cv2.getRotationMatrix2D((width / 2, height / 2), degrees, 1.0)
    c, s = abs(turn[0, 0]), abs(turn[0, 1])
    size = int(width * c + height * s) + 2, int(width * s + height * c) + 2
    turn[:, 2] += (size[0] / 2 - width / 2, size[1] / 2 - height / 2)
    return cv2.warpAffine(cover, turn, size), cv2.warpAffine(picture, turn, size)


LEAST_SEEN = 20.0
"""Grey values by which every third of an overlay differs from its ground: with less, a person cannot read it either."""


def made_visible(planted: Planted, ground: Picture) -> Planted:
    """The overlay with as much contrast as it takes to be seen on its ground; light where dark does not do."""
    opposite = tuple(255 - channel for channel in planted.colour)
    for colour in (planted.colour, opposite):
        tried = replace(planted, colour=colour)  # type: ignore[arg-type]
        while tried.contrast < 1 and _seen(tried, ground) < LEAST_SEEN:
            tried = replace(tried, contrast=round(min(1.0, tried.contrast + 0.05), 2))
        if _seen(tried, ground) >= LEAST_SEEN:
            return tried
    return replace(planted, plate=True, contrast=1.0)


def _seen(planted: Planted, ground: Picture) -> float:
    """By how many grey values the least visible third of the letters differs from the ground around them."""
    drawn = ground.copy()
    plant(planted, planted.first, drawn)
    cover, _ = stamp(replace(planted, plate=False, tilt=0.0, contrast=1.0), planted.first)
    left, top = _corner(planted, planted.first, stamp(planted, planted.first)[0].shape)
    if planted.plate:
        return LEAST_SEEN
    part = slice(top, top + cover.shape[0]), slice(left, left + cover.shape[1])
    here, there = (cv2.cvtColor(each[part], cv2.COLOR_BGR2GRAY).astype(np.float32) for each in (drawn, ground))
    thirds = np.array_split(np.arange(cover.shape[1]), 3)
    inks = [cover[:, third] > 0.6 for third in thirds]
    return min(
        float(np.abs(here - there)[:, third][ink].mean()) if ink.any() else LEAST_SEEN
        for third, ink in zip(thirds, inks, strict=True)
    )


def letters_at(planted: Planted, frame: int) -> NDArray[np.bool_] | None:
    """The pixels (480, 854) of the rectangle along the line of letters in a frame; None where it is not there."""
    if not planted.first <= frame < planted.last:
        return None
    words = _ticking(planted.words, frame) if planted.changing else planted.words
    ink = _ink(words, planted.font, planted.size)
    pad = max(4, planted.size // 3) if planted.plate else 2
    rows, columns = np.nonzero(ink)
    line = np.zeros_like(ink)
    line[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1] = 255
    line = cv2.copyMakeBorder(line, pad, pad, pad, pad, cv2.BORDER_CONSTANT)
    if planted.tilt:
        line = np.asarray(_turned(line.astype(np.float32), line, planted.tilt)[0], np.uint8)
    left, top = _corner(planted, frame, line.shape)
    mask = np.zeros((SIZE[1], SIZE[0]), bool)
    mask[top : top + line.shape[0], left : left + line.shape[1]] = line > 127
    return mask


def box_at(planted: Planted, frame: int) -> tuple[int, int, int, int] | None:
    """Left, top, right, bottom of the overlay in a frame, in pixels, within the picture; None where it is not there."""
    if not planted.first <= frame < planted.last:
        return None
    cover, _ = stamp(planted, frame)
    left, top = _corner(planted, frame, cover.shape)
    rows, columns = np.nonzero(cover > 0.05)
    return (
        left + int(columns.min()),
        top + int(rows.min()),
        left + int(columns.max()) + 1,
        top + int(rows.max()) + 1,
    )


def _corner(planted: Planted, frame: int, shape: tuple[int, ...]) -> tuple[int, int]:
    """Where the stamp is laid, kept within the picture."""
    height, width = shape[:2]
    gone = frame - planted.first
    x = planted.place[0] * SIZE[0] - width / 2 + planted.drift[0] * gone
    y = planted.place[1] * SIZE[1] - height / 2 + planted.drift[1] * gone
    return round(min(max(x, 0), SIZE[0] - width)), round(min(max(y, 0), SIZE[1] - height))


def plant(planted: Planted, frame: int, picture: Picture) -> None:
    """Lay the overlay onto a frame (480, 854, 3), in place."""
    if not planted.first <= frame < planted.last:
        return
    cover, drawn = stamp(planted, frame)
    if cover.shape[1] > SIZE[0]:
        raise ValueError(f"overlay {planted.number} is wider than the picture")
    left, top = _corner(planted, frame, cover.shape)
    view = picture[top : top + cover.shape[0], left : left + cover.shape[1]]
    share = cover[..., None]
    view[:] = (view * (1 - share) + drawn * share).astype(np.uint8)


def background(number: int) -> Iterator[Picture]:
    """The frames (480, 854, 3) of one of the drawn backgrounds, without end of their own: FRAMES of them."""
    from demo_clips.painter import Painter
    from demo_clips.scenario import scenarios

    dice = random.Random(7000 + number)
    plans = list(scenarios())
    chosen = plans[number % len(plans)]
    painter = Painter(replace(chosen.look, burnt_in=""))
    bounds = [(start, end) for start, end in zip(chosen.starts, chosen.starts[1:], strict=False) if end - start > 60]
    start, end = dice.choice([each for each in bounds if not chosen.eye_at(each[0]).title] or bounds)
    first = dice.randint(start, max(start, end - 2 * FRAMES))
    rate = chosen.film.rate / Fraction(RATE)
    for frame in range(FRAMES):
        at = min(round(first + frame * rate), chosen.frames - 1)
        eye = chosen.eye_at(at)
        eye.title = ()
        yield cv2.resize(painter.frame(eye, at / float(chosen.film.rate)), SIZE, interpolation=cv2.INTER_CUBIC)


def write_film(path: Path, pictures: Iterator[Picture], **options: str) -> None:
    """Write pictures as H.264."""
    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=RATE, options={"preset": "veryfast", "crf": "21", **options})
        stream.width, stream.height, stream.pix_fmt = *SIZE, "yuv420p"
        stream.codec_context.thread_count = 1
        for picture in pictures:
            container.mux(stream.encode(av.VideoFrame.from_ndarray(picture, format="bgr24")))
        container.mux(stream.encode(None))


def make(folder: Path, many: int) -> list[Planted]:
    """Draw all films that are not there yet."""
    folder.mkdir(parents=True, exist_ok=True)
    overlays = plan(many)
    for ground in range(GROUNDS):
        wanted = [each for each in overlays if each.ground == ground and not (folder / each.film).exists()]
        bare = folder / f"bare-{ground:03d}.mp4"
        if not wanted and bare.exists():
            continue
        pictures = list(background(ground))
        write_film(bare, iter(pictures))
        for each in wanted:
            seen = made_visible(each, pictures[each.first])
            write_film(folder / each.film, _with(seen, pictures))
            (folder / each.film).with_suffix(".json").write_text(json.dumps(asdict(seen), indent=1))
    return read(folder)


def read(folder: Path) -> list[Planted]:
    """The overlays that are planted in the films of a folder."""
    found = []
    for path in sorted(folder.glob("planted-*.json")):
        given = json.loads(path.read_text())
        found.append(
            Planted(**{key: tuple(value) if isinstance(value, list) else value for key, value in given.items()})
        )
    return found


def _with(planted: Planted, pictures: list[Picture]) -> Iterator[Picture]:
    for frame, picture in enumerate(pictures):
        drawn = picture.copy()
        plant(planted, frame, drawn)
        yield drawn


def main() -> None:
    """Draw them."""
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("folder", type=Path)
    reader.add_argument("--many", type=int, default=300)
    given: Any = reader.parse_args()
    print(len(make(given.folder, given.many)), "films with overlays")


if __name__ == "__main__":
    main()
