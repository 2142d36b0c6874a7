"""Films as they are written: frames, rate, numbers, key frames, sound, and work that goes on after a stop."""

from __future__ import annotations

import json
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import av
import pytest

from demo_clips import make_demo
from demo_clips.making import operation
from demo_clips.scenario import FOLDER, Scenario, read_scenario
from tests.films import read_film


def shortened(folder: Path, name: str, seconds: float, scenes: int = 3, **film: object) -> Path:
    """A plan with only the first scenes of one of ours, each of the given length."""
    raw = json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    raw["steps"] = [step | {"s": seconds, "says": ["Side port."]} for step in raw["steps"][:scenes]]
    raw["film"] |= film
    path = folder / f"{name}.json"
    path.write_text(json.dumps(raw), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A folder of short films and the folder of their plans."""
    plans, films = tmp_path_factory.mktemp("plans"), tmp_path_factory.mktemp("films")
    shortened(plans, "milk_and_blue", 0.4)
    shortened(plans, "narrow_ring", 0.5)
    shortened(plans, "torn_bag", 0.5)
    shortened(plans, "soft_flip", 4.2)
    shortened(plans, "short_eye", 0.3)
    heard: list[float] = []
    make_demo(films, lambda _, share: heard.append(share), plans)
    assert heard == sorted(heard) and heard[-1] == 1.0
    return films, plans


@pytest.mark.parametrize("name", ["milk_and_blue", "narrow_ring", "torn_bag", "soft_flip", "short_eye"])
def test_every_frame_is_there_and_bears_its_number(made: tuple[Path, Path], name: str) -> None:
    plan = read_scenario(made[1] / f"{name}.json")
    one = operation(plan, made[0])
    seen: list[int | None] = []
    for path in one.recordings:
        shown = read_film(path)
        seen += [number for _, number in shown]
        gaps = [b - a for (a, _), (b, _) in pairwise(shown)]
        assert max(abs(gap - float(1 / plan.film.rate)) for gap in gaps) < 0.001
    assert seen == list(range(plan.frames)) and one.frames == plan.frames


def opened(made: tuple[Path, Path], name: str) -> tuple[Scenario, list[Path]]:
    plan = read_scenario(made[1] / f"{name}.json")
    return plan, list(operation(plan, made[0]).recordings)


def test_rates_sound_and_parts_are_as_planned(made: tuple[Path, Path]) -> None:
    for name in ("milk_and_blue", "narrow_ring", "torn_bag", "short_eye"):
        plan, paths = opened(made, name)
        assert len(paths) == plan.film.parts
        for path in paths:
            with av.open(str(path)) as film:
                assert film.streams.video[0].average_rate == plan.film.rate
                assert (film.streams.video[0].width, film.streams.video[0].height) == (640, 360)
                assert bool(film.streams.audio) == plan.film.sound
    assert opened(made, "torn_bag")[0].film.rate == Fraction(30000, 1001)
    assert [path.name for path in opened(made, "narrow_ring")[1]] == ["narrow-ring_001.mp4", "narrow-ring_002.mp4"]


def test_sparse_film_has_a_key_frame_every_ten_seconds(made: tuple[Path, Path]) -> None:
    plan, (path,) = opened(made, "soft_flip")
    with av.open(str(path)) as film:
        keys = [packet.pts * packet.time_base for packet in film.demux(video=0) if packet.is_keyframe]
    assert [key * plan.film.rate for key in keys] == [0, 250]


def test_made_again_only_what_is_missing_is_drawn(made: tuple[Path, Path]) -> None:
    films, plans = made
    _, (gone,) = opened(made, "torn_bag")
    gone.unlink()
    gone.with_name(f".{gone.name}.unfinished").write_bytes(b"half a film")
    before = {path.name: path.stat().st_mtime_ns for path in films.glob("*") if path.suffix in (".mp4", ".ts")}
    done: list[str] = []
    make_demo(films, lambda what, _: done.append(what), plans)
    after = {path.name: path.stat().st_mtime_ns for path in films.glob("*") if path.suffix in (".mp4", ".ts")}
    assert {name: after[name] for name in before} == before and gone.name in after
    plan = read_scenario(plans / "torn_bag.json")
    assert {what for what in done if what.startswith("Drawing")} == {f"Drawing: {plan.title}"}
    assert not list(films.glob("*.unfinished")) and len(read_film(gone)) == plan.frames
