"""One frame of a film: an eye and the instruments in it, drawn as the microscope's camera sees them."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np

from demo_clips.brush import Brush, blend
from demo_clips.front import Front
from demo_clips.geometry import CANVAS, CENTRE, FRAME, Picture, Plane, camera, tremor
from demo_clips.instruments import draw_shadow, draw_tool
from demo_clips.iris import SIDE, Iris
from demo_clips.lens import SIDE as PUPIL_SIDE
from demo_clips.outside import draw_outside
from demo_clips.stage import draw_glints, draw_stage
from demo_clips.state import Eye, Look
from demo_clips.through_pupil import PupilView

IODINE = (38, 82, 150)
CARD = (20, 24, 18)


class Painter:
    """Draws one operation. Frames may be asked for in any order; what has not changed is kept from the last one."""

    def __init__(self, look: Look) -> None:
        cv2.setNumThreads(1)  # each film has a process of its own
        self.look = look
        self.stage = draw_stage(look)
        half = SIDE // 2
        self.left, self.top = int(CENTRE[0]) - half, int(CENTRE[1]) - half
        self.iris = Iris(look, self._square(self.stage).copy())
        self.lens = PupilView(look)
        self.glints = draw_glints(look.seed)
        self.front = Front(look)
        brown = cv2.addWeighted(self.stage, 0.35, np.full_like(self.stage, IODINE), 0.65, 0)
        self.washed = cv2.multiply(brown, cv2.add(self.stage, np.full_like(self.stage, 70)), scale=1 / 255)
        self.mark = _burnt_in(look.burnt_in) if look.burnt_in else None
        self._ground: tuple[object, Picture, Plane, Picture] | None = None
        self._settled: tuple[object, Picture] | None = None

    def _square(self, canvas: Picture) -> Picture:
        return canvas[self.top : self.top + SIDE, self.left : self.left + SIDE]

    def frame(self, eye: Eye, seconds: float) -> Picture:
        """The picture (360, 640, 3) of an eye at a moment of the film; without its frame number."""
        if eye.title:
            return _card(eye.title)
        canvas = self._quiet(eye).copy()
        brush = Brush(canvas, CENTRE)
        self.front.draw(brush, eye, seconds)
        self._gloss(canvas)
        if eye.iodine > 0:
            cv2.addWeighted(self.washed, eye.iodine, canvas, 1 - eye.iodine, 0, dst=canvas)
        for who, tool in enumerate(eye.tools):
            dx, dy = tremor(seconds, who)
            moved = replace(tool, tip=(tool.tip[0] + dx, tool.tip[1] + dy))
            draw_shadow(brush, moved)
            draw_tool(brush, moved)
        shown = _seen_by(canvas, *camera(seconds, self.look.seed))
        if eye.light < 0.995:
            shown = cv2.convertScaleAbs(shown, alpha=eye.light)
        if self.mark is not None:
            view = shown[-30:-6, 8 : 8 + self.mark.shape[1]]
            np.maximum(view, self.mark, out=view)
        return shown

    def _quiet(self, eye: Eye) -> Picture:
        """The eye without what moves before the lens."""
        about, ground, pupil, shade = self._lit_ground(eye)
        key = (about, self.lens.key(eye))
        if self._settled and self._settled[0] == key:
            return self._settled[1]
        canvas = ground.copy()
        off = (SIDE - PUPIL_SIDE) // 2
        window = self._square(canvas)[off : off + PUPIL_SIDE, off : off + PUPIL_SIDE]
        blend(window, cv2.multiply(self.lens.draw(eye), shade, scale=1 / 255), pupil)
        self._settled = (key, canvas)
        return canvas

    def _lit_ground(self, eye: Eye) -> tuple[object, Picture, Plane, Picture]:
        """White of the eye, iris and wounds; where the pupil is, and how light it is there."""
        held = tuple(h for h in eye.hooks if h.holds == "iris")
        key = (eye.pupil, held, eye.ring, eye.billow, eye.prolapse, eye.wounds, eye.haze, eye.marks, eye.sutures)
        if not self._ground or self._ground[0] != key:
            canvas = self.stage.copy()
            iris, pupil, shade = self.iris.draw(eye)
            self._square(canvas)[:] = iris
            draw_outside(Brush(canvas, CENTRE), eye, self.look)
            off = (SIDE - PUPIL_SIDE) // 2
            part = (slice(off, off + PUPIL_SIDE), slice(off, off + PUPIL_SIDE))
            light = cv2.cvtColor((shade[part] * 255).astype(np.uint8), cv2.COLOR_GRAY2BGR)
            self._ground = (key, canvas, np.ascontiguousarray(pupil[part]), light)
        return self._ground

    def _gloss(self, canvas: Picture) -> None:
        side = self.glints.shape[0]
        x, y = int(CENTRE[0] - side / 2), int(CENTRE[1] - side / 2)
        view = canvas[y : y + side, x : x + side]
        cv2.add(view, self.glints, dst=view)


def _seen_by(canvas: Picture, dx: float, dy: float) -> Picture:
    """The frame cut out of the canvas at a place between the pixels (two blends take half the time of a warp)."""
    x, y = (CANVAS[0] - FRAME[0]) / 2 + dx, (CANVAS[1] - FRAME[1]) / 2 + dy
    left, top = int(x), int(y)
    cut = canvas[top : top + FRAME[1] + 1, left : left + FRAME[0] + 1]
    across = cv2.addWeighted(cut[:, :-1], 1 - (x - left), cut[:, 1:], x - left, 0)
    return cv2.addWeighted(across[:-1], 1 - (y - top), across[1:], y - top, 0)


def _burnt_in(words: str) -> Picture:
    """Words as an old recorder writes them into the picture."""
    width = cv2.getTextSize(words, cv2.FONT_HERSHEY_SIMPLEX, 0.42, 1)[0][0]
    mark = np.zeros((24, width + 8, 3), np.uint8)
    cv2.putText(mark, words, (4, 16), cv2.FONT_HERSHEY_SIMPLEX, 0.42, (206, 214, 210), 1, cv2.LINE_AA)
    return mark


def _card(lines: tuple[str, ...]) -> Picture:
    """A title on a dark ground."""
    card = np.full((FRAME[1], FRAME[0], 3), CARD, np.uint8)
    for k, words in enumerate(lines):
        size, colour = (0.95, (206, 216, 214)) if k == 0 else (0.55, (140, 152, 146))
        width = cv2.getTextSize(words, cv2.FONT_HERSHEY_DUPLEX, size, 1)[0][0]
        at = ((FRAME[0] - width) // 2, 165 + 42 * k)
        cv2.putText(card, words, at, cv2.FONT_HERSHEY_DUPLEX, size, colour, 1, cv2.LINE_AA)
    return card
