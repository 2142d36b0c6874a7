"""A person who knows which step goes on when and puts the proposals right, by the keyboard alone; every key is counted.

The way is the one that the sheet of keys suggests. What a person would have to watch of the film is added up, not watched:
a second to either side of each edge that nobody looked at yet, and for a missing edge the film up to it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

REACTION_S = 0.35
"""How late the film is held after a missed edge; the pictures in between are walked back, a key each."""
OFF_BY_FRAMES = 1
"""An edge nearer to the true one than this is right."""
LOOK_S = 2.0
"""Film that the page plays around an edge."""


@dataclass(frozen=True)
class True_:
    """A step as it truly went on."""

    step: str
    start_ms: int
    end_ms: int


@dataclass
class Effort:
    """What it took."""

    keys: int = 0
    shifts: int = 0
    """Of the keys, those that held another one up."""
    decisions: int = 0
    """How often something had to be made up in the mind: a step looked at, a fault dealt with."""
    film_s: float = 0.0
    faults: list[str] = field(default_factory=list)


class Surgeon:
    """Sits at a page that marks a recording whose truth is known."""

    def __init__(self, page: Any, truth: Sequence[True_], frame_ms: float) -> None:
        self.page, self.truth, self.frame_ms = page, truth, frame_ms
        self.effort = Effort()

    def work(self, most: int = 200) -> Effort:
        """Until every step is kept. Raises AssertionError where that takes too many turns."""
        for _ in range(most):
            mark, after = self._in_hand()
            if mark is None or mark["settled"]:
                return self.effort
            self._watch(mark)
            self.effort.decisions += 1
            fault = self._fault(mark, after)
            if fault is None:
                self._press("k")
            else:
                self.effort.decisions += 1
                self.effort.faults.append(fault)
                getattr(self, f"_mend_{fault}")(mark, after)
        raise AssertionError("the steps were never all kept")

    def _in_hand(self) -> tuple[dict[str, Any] | None, dict[str, Any] | None]:
        read = """() => {
          const page = document.querySelector("marking-page");
          const place = page.store.marks.indexOf(page.mark);
          return [page.mark ?? null, page.store.marks[place + 1] ?? null];
        }"""
        mark, after = self.page.evaluate(read)
        return mark, after

    def _watch(self, mark: dict[str, Any]) -> None:
        self.effort.film_s += LOOK_S * sum(mark[edge]["source"] != "person" for edge in ("start", "end"))

    def _mainly(self, mark: dict[str, Any]) -> True_:
        """What truly goes on during most of a mark."""

        def shared(one: True_) -> int:
            return min(one.end_ms, mark["end"]["at_ms"]) - max(one.start_ms, mark["start"]["at_ms"])

        return max(self.truth, key=shared)

    def _fault(self, mark: dict[str, Any], after: dict[str, Any] | None) -> str | None:
        true = self._mainly(mark)
        start, end = mark["start"]["at_ms"], mark["end"]["at_ms"]
        if after and self._mainly(after) is true and after["start"]["at_ms"] == end:
            return "parted"
        inside = [one.start_ms for one in self.truth if start + 1500 < one.start_ms < end - 1500]
        if inside:
            return "merged"
        if mark["step"] != true.step:
            return "name"
        for edge, at, right in (("start", start, true.start_ms), ("end", end, true.end_ms)):
            if abs(at - right) > OFF_BY_FRAMES * self.frame_ms:
                return f"edge_{edge}"
        return None

    def _mend_parted(self, _mark: dict[str, Any], _after: dict[str, Any]) -> None:
        self._press("j")

    def _mend_merged(self, mark: dict[str, Any], _after: dict[str, Any] | None) -> None:
        start, end = mark["start"]["at_ms"], mark["end"]["at_ms"]
        edge_ms = min(one.start_ms for one in self.truth if start + 1500 < one.start_ms < end - 1500)
        walked = round(REACTION_S * 1000 / self.frame_ms)
        self.effort.film_s += (edge_ms - start) / 1000 + REACTION_S
        self._press(" ")
        late_s = edge_ms / 1000 + REACTION_S
        self.page.wait_for_function(f"() => document.querySelector('video').currentTime >= {late_s}", timeout=120_000)
        self._press(" ")
        # However late this machine was, a person's lateness is counted and the rest is walked without counting.
        self.page.wait_for_function("() => document.querySelector('video').paused")
        self.page.evaluate(
            "(s) => { const film = document.querySelector('case-film'); return film.jump(film.momentAt(s), { play: false }); }",
            (edge_ms + walked * self.frame_ms) / 1000,
        )
        for _ in range(walked):
            self._press("ArrowLeft")
            self.page.wait_for_timeout(20)
        self._press("d")

    def _mend_name(self, mark: dict[str, Any], _after: dict[str, Any] | None) -> None:
        step = self._mainly(mark).step
        start, end = mark["start"]["at_ms"], mark["end"]["at_ms"]
        true = self._mainly(mark)
        edges_right = max(abs(start - true.start_ms), abs(end - true.end_ms)) <= OFF_BY_FRAMES * self.frame_ms
        if step in mark["rather"]:
            self._press(str(mark["rather"].index(step) + 1))
        else:
            self._press("r")
            self.page.wait_for_selector(".naming:not([hidden])")
            label = self.page.evaluate("(step) => document.querySelector('marking-page').store.label(step)", step)
            self._type(label, step)
        if not edges_right:
            # A name keeps the step; the person sees that an edge is off and comes back to it.
            self._press_back_to(mark["id"])
            again, after = self._in_hand()
            assert again is not None
            fault = self._fault(again, after)
            if fault and fault.startswith("edge"):
                getattr(self, f"_mend_{fault}")(again, after)

    def _type(self, label: str, step: str) -> None:
        for letter in label.lower():
            if not self.page.locator(".naming").is_visible():
                break
            first = self.page.locator(".naming button").first
            if self.page.locator("#naming").input_value() and first.get_attribute("data-step") == step:
                break
            self._count(letter)
            self.page.keyboard.press(letter)
        if self.page.locator(".naming").is_visible():
            self._press("Enter", wait=False)
        self._settle()

    def _press_back_to(self, mark: str) -> None:
        order = """() => {
          const page = document.querySelector("marking-page");
          return [page.store.marks.map((one) => one.id), page.chosen];
        }"""
        ids, chosen = self.page.evaluate(order)
        way = ids.index(mark) - ids.index(chosen)
        for _ in range(abs(way)):
            self._press("ArrowDown" if way > 0 else "ArrowUp")

    def _mend_edge_start(self, mark: dict[str, Any], _after: dict[str, Any] | None) -> None:
        self._move(self._mainly(mark).start_ms - mark["start"]["at_ms"])

    def _mend_edge_end(self, mark: dict[str, Any], _after: dict[str, Any] | None) -> None:
        self._press("x")
        self._move(self._mainly(mark).end_ms - mark["end"]["at_ms"])

    def _move(self, by_ms: int) -> None:
        """By seconds first, then by pictures."""
        seconds = round(by_ms / 1000)
        frames = round((by_ms - 1000 * seconds) / self.frame_ms)
        self.effort.film_s += LOOK_S
        for _ in range(abs(seconds)):
            self._press("Shift+Period" if seconds > 0 else "Shift+Comma")
        for _ in range(abs(frames)):
            self._press("." if frames > 0 else ",")

    def _press(self, key: str, *, wait: bool = True) -> None:
        self._count(key)
        self.page.keyboard.press(key)
        if wait and key != "r":
            self._settle()

    def _count(self, key: str) -> None:
        shifted = key.startswith("Shift+")
        self.effort.keys += 1 + shifted
        self.effort.shifts += shifted

    def _settle(self) -> None:
        """Wait until the page has done what was wished."""
        self.page.wait_for_function("() => document.querySelector('marking-page').dataset.waiting === '0'")
