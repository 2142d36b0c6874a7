"""Text in the pictures of films: found where it was planted, for as long as it stands; the second reader sees it too."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from indexer.config import Settings
from indexer.models.pictured import Box, PictureText, TextKind, TextPiece
from indexer.privacy import picture
from indexer.privacy.picture_second import likely_lines
from indexer.privacy.picture_watching import lines
from tests.privacy import planted_overlays as planted
from tests.privacy.judge_overlays import ENOUGH, mask_at


def _text(box: Box, kind: TextKind = TextKind.UNKNOWN) -> PictureText:
    piece = TextPiece(box=box, start_ms=0, end_ms=1000)
    return PictureText(pieces=(piece,), read="VAC 20", kind=kind, certainty=0.9, at_ms=0)


def test_everything_is_covered_but_what_a_person_keeps() -> None:
    inside = _text(Box(left=0.7, top=0.9, right=0.9, bottom=0.95), TextKind.SETTING)
    across = _text(Box(left=0.5, top=0.7, right=0.65, bottom=0.75))
    assert len(picture.covers([inside, across])) == 2
    kept = picture.covers([inside, across], [Box(left=0.6, top=0.85, right=1, bottom=1)])
    assert [round(each.left, 2) for each in kept] == [0.5]


def test_what_lies_between_two_pieces_of_a_line_is_covered_too() -> None:
    name = _text(Box(left=0.1, top=0.50, right=0.2, bottom=0.54))
    number = _text(Box(left=0.3, top=0.51, right=0.4, bottom=0.55))
    below = _text(Box(left=0.3, top=0.70, right=0.4, bottom=0.74))
    far = _text(Box(left=0.8, top=0.50, right=0.9, bottom=0.54))
    gaps = [one for one in picture.covers([name, number, below, far]) if round(one.left, 2) == 0.2]
    assert [(round(one.width, 2), one.top) for one in gaps] == [(0.1, 0.5)]


def test_lines_have_a_margin_and_lie_within_the_picture() -> None:
    likeness = np.zeros((100, 200), np.float32)
    likeness[2:10, 20:120] = 0.9
    likeness[60:64, 30:90] = 0.3
    (line,) = lines(likeness)
    assert line.rect.left < 18 and line.rect.right > 122 and line.rect.bottom > 13
    assert line.rect.top == 0


def test_strokes_side_by_side_are_a_line() -> None:
    each = planted.plan(1)[0]
    from dataclasses import replace

    words = replace(each, words="MRN 40718823", contrast=1.0, plate=False, tilt=0.0, first=0, place=(0.5, 0.5))
    words = replace(words, colour=(240, 240, 240), font="hershey-simplex", size=24, changing=False, drift=(0.0, 0.0))
    ground = np.full((480, 854, 3), 90, np.uint8)
    assert likely_lines(ground[..., 0]) == []
    planted.plant(words, 0, ground)
    box = planted.box_at(words, 0)
    found = likely_lines(np.ascontiguousarray(ground[..., 0]))
    assert box is not None and found
    assert min(left for left, *_ in found) <= box[0] + 6 and max(place[2] for place in found) >= box[2] - 6


@pytest.mark.slow
def test_a_planted_number_is_covered_while_it_stands(tmp_path: Path) -> None:
    each = next(one for one in planted.plan() if one.size >= 20 and one.last - one.first < 60 and not one.plate)
    pictures = list(planted.background(each.ground))
    each = planted.made_visible(each, pictures[each.first])
    for frame, shown in enumerate(pictures):
        planted.plant(each, frame, shown)
    film = tmp_path / each.film
    planted.write_film(film, iter(pictures))
    texts = picture.find_picture_text(film, Settings(), length_ms=4000, threads=1)
    covers = picture.covers(texts)
    for frame in range(each.first, each.last):
        letters = planted.letters_at(each, frame)
        assert letters is not None and mask_at(covers, frame)[letters].mean() >= ENOUGH, frame
