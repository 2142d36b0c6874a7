"""Every step is drawn, moves, and passes into the next one without a jump."""

from __future__ import annotations

import numpy as np
import pytest

from demo_clips.acts import ACTS
from demo_clips.film import still
from demo_clips.geometry import FRAME, LIMBUS, Picture
from demo_clips.painter import Painter
from demo_clips.scenario import Scenario, scenarios
from demo_clips.strip import read_strip

ALL = {one.key: one for one in scenarios()}


@pytest.fixture(params=ALL, scope="module")
def drawn(request: pytest.FixtureRequest) -> tuple[Scenario, Painter]:
    plan = ALL[request.param]
    return plan, Painter(plan.look)


def picture(drawn: tuple[Scenario, Painter], frame: int) -> Picture:
    plan, painter = drawn
    return painter.frame(plan.eye_at(frame), float(frame / plan.film.rate))


def difference(one: Picture, other: Picture) -> float:
    return float(np.abs(one.astype(int) - other).mean())


def test_each_scene_shows_something_going_on(drawn: tuple[Scenario, Painter]) -> None:
    plan = drawn[0]
    for scene, start, end in zip(plan.scenes, plan.starts, plan.starts[1:], strict=False):
        about = f"{plan.key}, {scene.step}"
        middle, later = (picture(drawn, start + (end - start) * k // 20) for k in (8, 14))
        assert middle.shape == (FRAME[1], FRAME[0], 3) and middle.dtype == np.uint8
        assert middle.std() > 20 or plan.eye_at(start + (end - start) * 8 // 20).title
        if scene.act != "look":
            assert any(plan.eye_at(f).tools for f in range(start, end, 5)), f"{about}: no instrument"
            assert difference(middle, later) > 0.4, f"{about}: nothing moves"


def test_whole_films_do_not_jump(drawn: tuple[Scenario, Painter]) -> None:
    plan = drawn[0]
    if plan.kind == "edited":
        return  # it jumps on purpose, see the next test
    for scene, frame in zip(plan.scenes[1:], plan.starts[1:], strict=False):
        assert difference(picture(drawn, frame - 1), picture(drawn, frame)) < 3.0, f"a jump into {scene.step}"


def test_edited_film_does_jump() -> None:
    plan = next(one for one in ALL.values() if one.kind == "edited")
    drawn = plan, Painter(plan.look)
    jumps = [difference(picture(drawn, f - 1), picture(drawn, f)) for f in plan.starts[1:-1]]
    assert sum(jump > 1.0 for jump in jumps) >= 4


def test_frames_are_the_same_in_any_order() -> None:
    plan = ALL["milk-and-blue"]
    forth, back = Painter(plan.look), Painter(plan.look)
    wanted = [start + 40 for start in plan.starts[:-1]]
    first = {f: picture((plan, forth), f) for f in wanted}
    for frame in reversed(wanted):
        assert np.array_equal(first[frame], picture((plan, back), frame))


def test_a_still_bears_its_number() -> None:
    assert read_strip(still(ALL["ink-and-axis"], 333)) == 333


@pytest.mark.parametrize("key", ALL)
def test_instruments_stand_at_the_wound_when_a_step_begins(key: str) -> None:
    """Whatever was not in the eye before comes from outside it in the first frame of a step of a whole film."""
    plan = ALL[key]
    if plan.kind == "edited":
        return
    for index, scene in enumerate(plan.scenes):
        before = {tool.kind for tool in plan.eye_at(plan.starts[index] - 1).tools} if index else set()
        for tool in plan.eye_at(plan.starts[index]).tools:
            if tool.kind not in before:
                assert np.hypot(*tool.tip) > LIMBUS, f"{key}: {tool.kind} appears inside the eye in {scene.step}"


def test_what_is_there_at_the_end_of_a_step() -> None:
    def after(key: str, step: str) -> object:
        plan = ALL[key]
        last = max(k for k, scene in enumerate(plan.scenes) if scene.step == step)
        return plan.eye_at(plan.starts[last + 1])

    assert len(after("four-hooks", "capsule-support").hooks) == 4  # type: ignore[attr-defined]
    assert after("four-hooks", "support-removal").hooks == ()  # type: ignore[attr-defined]
    assert after("four-hooks", "fragment-removal").pieces == ()  # type: ignore[attr-defined]
    assert after("narrow-ring", "pupil-expansion").ring == 1  # type: ignore[attr-defined]
    assert after("torn-bag", "anterior-vitrectomy").vitreous == 0  # type: ignore[attr-defined]
    assert after("torn-bag", "lens-implantation").implant.place == "sulcus"  # type: ignore[attr-defined]
    toric = after("ink-and-axis", "toric-alignment")
    assert abs((toric.implant.turn + 90 - toric.axis + 90) % 180 - 90) < 1  # type: ignore[attr-defined]


@pytest.mark.parametrize("key", ALL)
def test_cortex_goes_where_it_is_aspirated(key: str) -> None:
    plan = ALL[key]
    for index, scene in enumerate(plan.scenes):
        if scene.act == "cortex":
            assert min(plan.eye_at(plan.starts[index]).cortex) > 0.5
            assert max(plan.eye_at(plan.starts[index + 1] - 1).cortex) < 0.1


def test_every_act_is_used() -> None:
    used = {scene.act for plan in ALL.values() for scene in plan.scenes}
    assert set(ACTS) - used <= {"enlarge", "tension_ring"}
