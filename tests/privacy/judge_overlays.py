"""Judges the finding of text in pictures on planted overlays, by the pixels at the places where they were planted.

    python -m tests.privacy.judge_overlays FOLDER [--half judging] [--most 100] [--exports 0]

A frame counts as covered where 0.98 of the pixels of its line of letters are. With `--exports`, clips are cut with those
covers and looked at: by pixels (nothing of the letters differs from the filling), and by another reader (tesseract,
where it is installed), which found none of them.
"""

from __future__ import annotations

import argparse
import json
import random
import subprocess
import time
from collections.abc import Sequence
from pathlib import Path

import av
import cv2
import numpy as np
from numpy.typing import NDArray

from indexer.config import Settings
from indexer.models.covered import Covered
from indexer.models.pictured import TextKind
from indexer.privacy import picture, picture_watching
from tests.privacy import planted_overlays as planted

Mask = NDArray[np.bool_]
ENOUGH = 0.98
FRAME_MS = 1000 // planted.RATE


def mask_at(covers: Sequence[Covered], frame: int) -> Mask:
    """The pixels that are covered in a frame."""
    width, height = planted.SIZE
    mask = np.zeros((height, width), bool)
    for each in covers:
        if each.start_ms < (frame + 1) * FRAME_MS and frame * FRAME_MS < each.end_ms:
            left, top = round(each.left * width), round(each.top * height)
            mask[top : round((each.top + each.height) * height), left : round((each.left + each.width) * width)] = True
    return mask


def judge(folder: Path, overlays: Sequence[planted.Planted], threads: int) -> dict[str, float]:
    """Look at each film and count frames with the overlay, frames covered, and what was covered for nothing."""
    frames = covered = 0
    bare: list[float] = []
    lost, partly, kinds, elapsed, used = [], [], [], 0.0, 0.0
    for each in overlays:
        began, spent = time.monotonic(), time.process_time()
        told = picture_watching.watch(folder / each.film, threads)
        elapsed += time.monotonic() - began
        used += time.process_time() - spent
        texts = picture.texts_of(told)
        covers = picture.covers(texts)
        shares = []
        for frame in range(planted.FRAMES):
            mask, letters = mask_at(covers, frame), planted.letters_at(each, frame)
            if letters is None:
                bare.append(float(mask.mean()))
            else:
                shares.append(float(mask[letters].mean()))
                bare.append(float(mask[~letters].mean()))
        good = sum(share >= ENOUGH for share in shares)
        frames, covered = frames + len(shares), covered + good
        if good < len(shares):
            (lost if max(shares) < 0.5 else partly).append((each.number, round(good / len(shares), 2)))
        box = planted.box_at(each, each.first)
        kinds.append((each.kind, _kind(texts, box)))
    settings = [found for kind, found in kinds if kind == "setting"]
    named = [found for kind, found in kinds if kind == "identifier"]
    seconds = len(overlays) * planted.FRAMES / planted.RATE
    print("lost", lost, "\npartly", partly)
    return {
        "films": len(overlays),
        "frames": frames,
        "covered": round(covered / max(frames, 1), 4),
        "overlays_whole": round(1 - (len(lost) + len(partly)) / max(len(overlays), 1), 3),
        "covered_for_nothing": round(float(np.mean(bare)), 4),
        "settings_offered": round(np.mean([k is TextKind.SETTING for k in settings]), 3) if settings else -1,
        "identifiers_offered_as_settings": sum(found is TextKind.SETTING for found in named),
        "time_of_film": round(elapsed / seconds, 2),
        "processor_time_of_two_cores": round(used / seconds / 2, 2),
    }


def _kind(texts: Sequence[picture.PictureText], box: tuple[int, int, int, int] | None) -> TextKind | None:
    if box is None:
        return None
    x, y = (box[0] + box[2]) / 2 / planted.SIZE[0], (box[1] + box[3]) / 2 / planted.SIZE[1]
    here = [t for t in texts if t.box.left <= x <= t.box.right and t.box.top <= y <= t.box.bottom]
    return max(here, key=lambda text: len(text.read)).kind if here else None


def judge_exports(folder: Path, overlays: Sequence[planted.Planted], work: Path) -> dict[str, float]:
    """Cut clips with the covers that were found, and look for what is left in them."""
    from indexer.footage.cutting import cut

    work.mkdir(parents=True, exist_ok=True)
    by_pixels, read, films = [], [], 0
    for each in overlays:
        texts = picture.find_picture_text(folder / each.film, Settings(), length_ms=4000)
        target = work / f"export-{each.number:03d}.mp4"
        cut([folder / each.film], (), 0, 4000, target, Settings(), whole=True, cover=picture.covers(texts))
        films += 1
        with av.open(str(target)) as container:
            for frame, shown in enumerate(container.decode(video=0)):
                letters = planted.letters_at(each, frame)
                if letters is None:
                    continue
                gray = shown.to_ndarray(format="gray")[: planted.SIZE[1], : planted.SIZE[0]]
                if float((gray[letters] > 40).mean()) > 1 - ENOUGH:
                    by_pixels.append(each.number)
                if frame % 10 == 0 and _reads(gray, each.words):
                    read.append(each.number)
        target.unlink()
    print("by pixels", sorted(set(by_pixels)), "\nread", sorted(set(read)))
    return {"exports": films, "left_by_pixels": len(set(by_pixels)), "left_readable": len(set(read))}


def _reads(gray: NDArray[np.uint8], words: str) -> bool:
    """Whether the other reader finds four signs in a row of what was planted, anywhere in the picture."""
    larger = cv2.resize(gray, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)
    _, png = cv2.imencode(".png", larger)
    done = subprocess.run(
        ["tesseract", "stdin", "stdout", "--psm", "11"], input=png.tobytes(), capture_output=True, timeout=120
    )
    said = _plain(done.stdout.decode("utf-8", "replace"))
    wanted = _plain(words)
    return any(wanted[at : at + 4] in said for at in range(max(1, len(wanted) - 3)))


def _plain(text: str) -> str:
    return "".join(letter for letter in text.casefold() if letter.isalnum())


def main() -> None:
    """Judge one half."""
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("folder", type=Path)
    reader.add_argument("--half", choices=("tuning", "judging"), default="tuning")
    reader.add_argument("--most", type=int, default=1000)
    reader.add_argument("--exports", type=int, default=0)
    reader.add_argument("--threads", type=int, default=2)
    given = reader.parse_args()
    overlays = [each for each in planted.read(given.folder) if each.half == given.half]
    random.Random(5).shuffle(overlays)
    if given.exports:
        print(json.dumps(judge_exports(given.folder, overlays[: given.exports], given.folder / "exports")))
    else:
        print(json.dumps(judge(given.folder, overlays[: given.most], given.threads)))


if __name__ == "__main__":
    main()
