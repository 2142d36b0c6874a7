"""The invented operations, read from their files: what happens when, what is said, how film and transcript are made.

All of them take place in the Marrowmere eye unit, which does not exist, and every name is a pseudonym.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from pathlib import Path
from typing import Any

from demo_clips.acts import ACTS
from demo_clips.geometry import clamp
from demo_clips.state import Eye, Look

FOLDER = Path(__file__).parent / "scenarios"
UNIT = "Marrowmere eye unit (invented)"


@dataclass(frozen=True)
class Scene:
    """One act of an operation."""

    step: str
    """Concept id of the step or part that it shows."""
    length_s: float
    act: str
    options: Mapping[str, Any]
    says: tuple[str, ...]
    begins: float = 0.0
    """Share of the act that an edited film has cut away at its beginning."""
    ends: float = 1.0
    """Where an edited film leaves the act."""


@dataclass(frozen=True)
class FilmPlan:
    """How the film is stored."""

    rate: Fraction
    container: str
    key_frames: int
    """Frames from one key frame to the next."""
    parts: int
    sound: bool


@dataclass(frozen=True)
class SpeechPlan:
    """How the narration is spoken and written down."""

    style: str
    """sentences, short, blocks, rolling or recogniser."""
    pace: float
    """Words a second."""
    lags: tuple[float, ...]
    """Seconds by which the words of one scene after the other lag (or, below zero, lead) the hands."""
    heard: Mapping[str, str]
    """Terms that the captioner mishears, and what it writes."""


@dataclass(frozen=True)
class Scenario:
    """One invented operation."""

    key: str
    title: str
    eye: str
    operator: str
    kind: str
    release: str
    findings: tuple[str, ...]
    look: Look
    film: FilmPlan
    speech: SpeechPlan
    scenes: tuple[Scene, ...] = field(repr=False)

    @cached_property
    def starts(self) -> tuple[int, ...]:
        """First frame of each scene, and the number of frames of the film at the end."""
        at, frames = 0.0, [0]
        for scene in self.scenes:
            at += scene.length_s
            frames.append(round(at * self.film.rate))
        return tuple(frames)

    @property
    def frames(self) -> int:
        """Number of frames of the film."""
        return self.starts[-1]

    @property
    def step_starts(self) -> list[tuple[str, int]]:
        """First frame of each step; scenes of one step that follow each other are one."""
        found: list[tuple[str, int]] = []
        for scene, frame in zip(self.scenes, self.starts, strict=False):
            if not found or found[-1][0] != scene.step:
                found.append((scene.step, frame))
        return found

    @cached_property
    def _before(self) -> list[Eye]:
        """The eye before each scene."""
        eye = Eye(pupil=self.look.pupil, milk=1.0)
        eyes = []
        for scene in self.scenes:
            eyes.append(eye)
            eye = copy.copy(eye)
            ACTS[scene.act](eye, 1.0, scene.length_s, scene.options)
            eye.tools, eye.title = [], ()
        return eyes

    def eye_at(self, frame: int) -> Eye:
        """What is to be seen in a frame."""
        index = max(k for k, start in enumerate(self.starts[:-1]) if start <= frame)
        scene, start, end = self.scenes[index], self.starts[index], self.starts[index + 1]
        eye = copy.copy(self._before[index])
        eye.tools = []
        u = scene.begins + (scene.ends - scene.begins) * clamp((frame - start) / max(end - start, 1))
        ACTS[scene.act](eye, u, float((frame - start) / self.film.rate), scene.options)
        return eye

    def part_bounds(self) -> list[tuple[int, int]]:
        """First frame and the frame behind the last one of each part file; parts are alike in length."""
        parts = self.film.parts
        cuts = [round(self.frames * k / parts) for k in range(parts + 1)]
        return list(pairwise(cuts))


def read_scenario(path: Path) -> Scenario:
    """One operation from its file."""
    raw = json.loads(path.read_text(encoding="utf-8"))
    film, words, look = raw["film"], raw["words"], raw["look"]
    unknown = set(look) - {one.name for one in fields(Look)}
    if unknown:
        raise ValueError(f"{path.name}: an eye has no {', '.join(sorted(unknown))}")
    return Scenario(
        key=raw["key"], title=raw["title"], eye=raw["eye"], operator=raw["operator"], kind=raw["kind"],
        release=raw["release"], findings=tuple(raw["findings"]), look=Look(**look),
        film=FilmPlan(
            Fraction(film["rate"]), film["container"], int(film["keys"]), int(film.get("parts", 1)), bool(film["sound"])
        ),
        speech=SpeechPlan(words["style"], float(words["pace"]), tuple(words["lags"]), words["heard"]),
        scenes=tuple(
            Scene(
                s["step"], float(s["s"]), s["act"], s.get("with", {}), tuple(s.get("says", ())),
                float(s.get("from", 0)), float(s.get("until", 1)),
            )
            for s in raw["steps"]
        ),
    )


def scenarios(folder: Path = FOLDER) -> Iterator[Scenario]:
    """All operations of a folder, by name of their files."""
    for path in sorted(folder.glob("*.json")):
        yield read_scenario(path)
