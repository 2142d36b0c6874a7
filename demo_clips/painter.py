"""One frame of a film: an eye and the instruments in it, drawn as the microscope's camera sees them."""

from __future__ import annotations

import math

import cv2
import numpy as np

from demo_clips.brush import Brush, arc, blend, paste, tint
from demo_clips.front import Front
from demo_clips.geometry import CANVAS, CENTRE, FRAME, PX, Picture, camera, mix, polar, tremor, wobble
from demo_clips.instruments import draw_shadow, draw_tool
from demo_clips.iris import SIDE as CORNEA_SIDE
from demo_clips.iris import Iris
from demo_clips.lens import HALF, Cortex, implant, nucleus, plane, reflex, shell, whole_cover
from demo_clips.lens import SIDE as LENS_SIDE
from demo_clips.stage import draw_glints, draw_stage
from demo_clips.state import Eye, Look

IODINE = (38, 82, 150)
BLUE = (168, 70, 28)


class Painter:
    """Draws one operation. Frames may be asked for in any order."""

    def __init__(self, look: Look) -> None:
        cv2.setNumThreads(1)  # each film has a process of its own
        self.look = look
        self.stage = draw_stage(look)
        half = CORNEA_SIDE // 2
        self.left, self.top = int(CENTRE[0]) - half, int(CENTRE[1]) - half
        self.iris = Iris(look, self._square(self.stage).copy())
        self.cortex = Cortex(look)
        self.glints = draw_glints(look.seed)
        self.front = Front(look)
        self.washed = cv2.addWeighted(self.stage, 0.35, np.full_like(self.stage, IODINE), 0.65, 0)
        self.washed = cv2.multiply(self.washed, cv2.add(self.stage, 70), scale=1 / 255)
        self.mark = self._burnt_in(look.burnt_in)
        self.x, self.y, self.far = plane()
        self._seen: tuple[object, Picture] | None = None

    def _square(self, canvas: Picture) -> Picture:
        return canvas[self.top : self.top + CORNEA_SIDE, self.left : self.left + CORNEA_SIDE]

    def frame(self, eye: Eye, seconds: float) -> Picture:
        """The picture (360, 640, 3) of an eye at a moment of the film; without its frame number."""
        if eye.title:
            return self._card(eye.title)
        canvas = self.stage.copy()
        square = self._square(canvas)
        iris, pupil, shade = self.iris.draw(eye)
        square[:] = iris
        off = (CORNEA_SIDE - LENS_SIDE) // 2
        window = square[off : off + LENS_SIDE, off : off + LENS_SIDE]
        part = slice(off, off + LENS_SIDE)
        lens = self._lens(eye)
        lit = cv2.multiply(lens, cv2.merge([shade[part, part] * 255] * 3).astype(np.uint8), scale=1 / 255)
        blend(window, lit, np.ascontiguousarray(pupil[part, part]))
        brush = Brush(canvas, CENTRE)
        self.front.draw(brush, eye, seconds)
        self._gloss(canvas, eye)
        if eye.iodine > 0:
            cv2.addWeighted(self.washed, eye.iodine, canvas, 1 - eye.iodine, 0, dst=canvas)
        self._tools(brush, eye, seconds)
        dx, dy = camera(seconds, self.look.seed)
        middle = ((CANVAS[0] - 1) / 2 + dx, (CANVAS[1] - 1) / 2 + dy)
        shown = cv2.getRectSubPix(canvas, FRAME, middle)
        if eye.light < 0.995:
            shown = cv2.convertScaleAbs(shown, alpha=eye.light)
        if self.mark is not None:
            view = shown[-30:-6, 8 : 8 + self.mark.shape[1]]
            np.maximum(view, self.mark, out=view)
        return shown

    def _gloss(self, canvas: Picture, eye: Eye) -> None:
        side = self.glints.shape[0]
        x, y = int(CENTRE[0] - side / 2), int(CENTRE[1] - side / 2)
        view = canvas[y : y + side, x : x + side]
        cv2.add(view, self.glints, dst=view)

    def _tools(self, brush: Brush, eye: Eye, seconds: float) -> None:
        for who, tool in enumerate(eye.tools):
            dx, dy = tremor(seconds, who)
            moved = type(tool)(tool.kind, (tool.tip[0] + dx, tool.tip[1] + dy), tool.to_handle, tool.gape, tool.turn)
            draw_shadow(brush, moved)
            draw_tool(brush, moved)

    def _lens(self, eye: Eye) -> Picture:
        key = (
            eye.pieces, eye.grooves, eye.bowl, eye.milk, eye.shell, eye.shell_at, eye.shell_size, eye.cortex, eye.turn,
            eye.lift, eye.wave, eye.stain, eye.radius, eye.torn, eye.torn_from, eye.hoop, eye.implant, eye.tear,
            eye.specks, eye.tear_at,
        )
        if self._seen and self._seen[0] == key:
            return self._seen[1]
        view = reflex(self.look.seed).copy()
        brush = Brush(view, (HALF, HALF))
        origin = (HALF, HALF)
        self._back(brush, eye)
        if max(eye.cortex) > 0:
            blend(view, self.cortex.colour, self.cortex.mask(eye.cortex))
        if eye.shell > 0.01:
            paste(view, shell(self.look.lens, self.look.seed), eye.shell_at, origin, eye.turn, eye.shell_size, eye.shell)
        for piece in eye.pieces:
            if piece.size > 0.03:
                sprite = nucleus(
                    self.look.lens, self.look.seed, piece.start, piece.end, eye.grooves, round(eye.bowl * 12) / 12
                )
                grow = piece.size * (1 + 0.05 * eye.lift)
                turn = math.radians(eye.turn)
                # A piece shrinks about its own middle, not about the middle of the lens.
                mid = polar(piece.middle, 2.0) if piece.end - piece.start < 359 else (0.0, 0.0)
                x, y = piece.at[0] + mid[0] * (1 - piece.size), piece.at[1] + mid[1] * (1 - piece.size)
                at = (x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn))
                paste(view, sprite, at, origin, eye.turn + piece.turn, (grow, grow))
        if eye.milk > 0.01:
            paste(view, whole_cover(self.look.lens, self.look.seed), (0, 0), origin, 0, (1, 1), eye.milk)
        if eye.wave:
            self._wave(view, *eye.wave)
        if eye.hoop > 0:
            self._hoop(brush, eye)
        if eye.implant and eye.implant.place == "bag":
            self._implant(view, eye)
        self._capsule(view, brush, eye)
        if eye.implant and eye.implant.place == "sulcus":
            self._implant(view, eye)
        self._seen = (key, view)
        return view

    def _implant(self, view: Picture, eye: Eye) -> None:
        lens = eye.implant
        if lens:
            paste(view, implant(lens.kind), lens.at, (HALF, HALF), lens.turn, (1.0, lens.opened), lens.seen)

    def _back(self, brush: Brush, eye: Eye) -> None:
        rng = np.random.default_rng(self.look.seed + 51)
        for k in range(16):
            spot = polar(rng.uniform(0, 360), 3.2 * math.sqrt(rng.uniform(0, 1)))
            if eye.specks > k / 16:
                brush.disc(spot, rng.uniform(0.07, 0.2), (150, 176, 208), 0.42)
        if eye.tear > 0:
            x, y = eye.tear_at
            edge = [
                (x + eye.tear * r * math.cos(a) * 1.25, y + eye.tear * r * math.sin(a) * 0.85)
                for a, r in ((k * math.pi / 14, 1.35 + 0.28 * math.sin(k * 2.3) + 0.2 * math.sin(k * 5.1)) for k in range(28))
            ]
            brush.shape(edge, (14, 18, 58), 0.82)
            brush.line(edge, (190, 206, 232), 0.09, 0.9, closed=True)
            brush.line([(px + 0.10, py + 0.12) for px, py in edge], (60, 80, 150), 0.05, 0.6, closed=True)

    def _wave(self, view: Picture, direction: float, run: float) -> None:
        c, s = math.cos(math.radians(direction)), math.sin(math.radians(direction))
        front = self.x * c + self.y * s + 0.10 * (self.x * s - self.y * c) ** 2
        at = mix(-4.6, 5.2, run)
        swept = np.clip((at - front) * 2, 0, 1) * 0.16 * (self.far < 3.9)
        bright = np.exp(-(((front - at) / 0.26) ** 2)) * 0.62
        dark = np.exp(-(((front - at - 0.42) / 0.28) ** 2)) * 0.5
        tint(view, np.clip(dark, 0, 1).astype(np.float32), (20, 30, 70))
        tint(view, np.clip(bright + swept, 0, 1).astype(np.float32), (196, 216, 238))

    def _hoop(self, brush: Brush, eye: Eye) -> None:
        points = arc(eye.hoop_from, eye.hoop_from + 330 * eye.hoop, 3.55 if self.look.pupil > 3 else 3.1, count=60)
        brush.line(points, (60, 40, 30), 0.26, 0.6)
        brush.line(points, (206, 150, 96), 0.16, 0.95)

    def _capsule(self, view: Picture, brush: Brush, eye: Eye) -> None:
        open_part = [polar(a, eye.radius * wobble(a)) for a in np.linspace(eye.torn_from, eye.torn_from + eye.torn, 90)]
        if eye.stain > 0.01:
            mask = np.full((LENS_SIDE, LENS_SIDE), eye.stain * 0.5, np.float32)
            if eye.torn > 12:
                spots = np.rint((np.array(open_part) * PX + HALF) * 16).astype(np.int32).reshape(-1, 1, 2)
                hole = np.zeros((LENS_SIDE, LENS_SIDE), np.uint8)
                cv2.fillPoly(hole, [spots], 255, cv2.LINE_AA, 4)
                mask *= 1 - hole.astype(np.float32) / 255
            tint(view, mask, BLUE)
        if eye.torn > 3:
            edge = (206, 120, 60) if eye.stain > 0.2 else (214, 226, 236)
            closed = eye.torn >= 359
            brush.line([(x + 0.05, y + 0.07) for x, y in open_part], (36, 48, 90), 0.07, 0.45, closed)
            brush.line(open_part, edge, 0.08, 0.85 if eye.stain > 0.2 else 0.62, closed)

    def _burnt_in(self, words: str) -> Picture | None:
        if not words:
            return None
        width = cv2.getTextSize(words, cv2.FONT_HERSHEY_SIMPLEX, 0.42, 1)[0][0]
        mark = np.zeros((24, width + 8, 3), np.uint8)
        cv2.putText(mark, words, (4, 16), cv2.FONT_HERSHEY_SIMPLEX, 0.42, (206, 214, 210), 1, cv2.LINE_AA)
        return mark

    def _card(self, lines: tuple[str, ...]) -> Picture:
        card = np.full((FRAME[1], FRAME[0], 3), (20, 24, 18), np.uint8)
        for k, words in enumerate(lines):
            size = 0.95 if k == 0 else 0.55
            width = cv2.getTextSize(words, cv2.FONT_HERSHEY_DUPLEX, size, 1)[0][0]
            at = ((FRAME[0] - width) // 2, 160 + 42 * k)
            cv2.putText(card, words, at, cv2.FONT_HERSHEY_DUPLEX, size, (206, 216, 214) if k == 0 else (140, 152, 146), 1, cv2.LINE_AA)
        return card

