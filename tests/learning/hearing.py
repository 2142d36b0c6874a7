"""Let a recogniser hear marked narrations: writes `ID.machine.json` beside each narration that has none.

    python -m tests.learning.hearing FOLDER [--voices ...] [--only ID ...]

A speech synthesiser (`espeak-ng`, a Debian package) reads each line in one of several voices, with some noise, and a
small general recogniser writes down what it hears (`moonshine-voice==0.0.49` of PyPI, which carries its model). Neither
is needed for anything else than making these files. Words share the time of their line by their length.
"""

from __future__ import annotations

import argparse
import io
import json
import os
import random
import subprocess
import wave
from pathlib import Path
from typing import Any

import numpy as np

VOICES = (
    "en-us",
    "en-gb",
    "en-gb-x-rp",
    "en-gb-scotland",
    "en-gb-x-gbclan",
    "en-gb-x-gbcwmd",
    "en-029",
    "en-us+f2",
    "en-us+m4",
    "en-gb+f4",
    "en-gb+m1",
    "en-us+f5",
)
SPEECH_HZ = 16_000
WORDS_A_MINUTE = 68
"""Words a minute of the synthesiser for each word a second of the narration; its own words are long."""
LEAD_S = 0.3
"""Silence put before and behind a line, since a recogniser swallows the first sound otherwise."""


def spoken(text: str, voice: str, rate: float) -> np.ndarray:
    """A line as sound: float32 at SPEECH_HZ."""
    speed = str(int(max(120, min(260, rate * WORDS_A_MINUTE))))
    run = subprocess.run(
        ["espeak-ng", "-v", voice, "-s", speed, "--stdout"], input=text.encode(), capture_output=True, check=True
    )
    with wave.open(io.BytesIO(run.stdout)) as sound:
        hz = sound.getframerate()
        samples = np.frombuffer(sound.readframes(sound.getnframes()), np.int16).astype(np.float32) / 32768
    wanted = np.arange(0, len(samples) / hz, 1 / SPEECH_HZ)
    return np.interp(wanted, np.arange(len(samples)) / hz, samples).astype(np.float32)


def heard(case: dict[str, Any], transcriber: Any, voice: str, noise: float) -> dict[str, Any]:
    """What the recogniser makes of a narration, in the form of `ID.machine.json`."""
    chance = np.random.default_rng(len(case["id"]) + int(noise * 1e5))
    now, lines, words = 0.0, [], []
    for line in case["lines"]:
        now += line.get("gap", 0.0)
        sound = spoken(line["clean"], voice, case["rate"])
        padding = np.zeros(int(LEAD_S * SPEECH_HZ), np.float32)
        padded = np.concatenate([padding, sound, padding])
        padded = padded + chance.normal(0, noise, len(padded)).astype(np.float32)
        found = transcriber.transcribe_without_streaming(padded.tolist(), SPEECH_HZ)
        length = len(sound) / SPEECH_HZ
        pieces = " ".join(one.text.strip() for one in found.lines).split()
        share = length / max(1, sum(len(piece) + 1 for piece in pieces))
        at = now
        for piece in pieces:
            end = at + share * (len(piece) + 1)
            words.append([round(at, 2), round(end, 2), piece])
            at = end
        lines.append([round(now, 3), round(now + length, 3)])
        now += length
    return {"id": case["id"], "voice": voice, "lines": lines, "words": words}


def written(machine: dict[str, Any]) -> str:
    """The file's text: a line for the lines, then a line for each word's neighbourhood, so that it stays readable."""
    rows = [
        json.dumps(machine["words"][at : at + 12], ensure_ascii=False)[1:-1]
        for at in range(0, len(machine["words"]), 12)
    ]
    head = json.dumps({"id": machine["id"], "voice": machine["voice"], "lines": machine["lines"]})[:-1]
    return head + ', "words": [\n' + ",\n".join(rows) + "\n]}\n"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--only", nargs="*")
    parser.add_argument("--into", type=Path, help="write here instead of beside the narrations")
    parser.add_argument("--share", default="0/1", help="K/N: every Nth narration from the Kth")
    options = parser.parse_args()
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    from moonshine_voice import ModelArch, Transcriber, get_model_path

    transcriber = Transcriber(str(get_model_path("tiny-en")), ModelArch.TINY)
    which, of = map(int, options.share.split("/"))
    paths = [path for path in sorted(options.folder.glob("*.json")) if not path.name.endswith(".machine.json")]
    for path in paths[which::of]:
        target = (options.into or path.parent) / f"{path.stem}.machine.json"
        if target.exists() or (options.only and path.stem not in options.only):
            continue
        case = json.loads(path.read_text(encoding="utf-8"))
        chance = random.Random(path.stem)
        machine = heard(case, transcriber, chance.choice(VOICES), chance.choice((0.0, 0.0, 0.001, 0.002)))
        target.write_text(written(machine), encoding="utf-8")
        print(path.stem, len(machine["words"]), flush=True)


if __name__ == "__main__":
    main()
