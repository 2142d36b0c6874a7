"""One text followed: it stands, comes and goes, wanders, and is seen in pieces."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from indexer.privacy.picture_tracks import Crop, Moment, Rect, Sighting, Track, detail

RECT = Rect(100, 60, 260, 90)
NOTHING = np.zeros((4, 4, 3), np.uint8)


def _moment(at_ms: int, x: int | None, dice: np.random.Generator) -> Moment:
    """A noisy picture, with words beginning at `x` where it is given."""
    picture = dice.normal(110, 6, (180, 400)).astype(np.uint8)
    if x is not None:
        cv2.putText(picture, "MRN 407188", (x + 4, 82), cv2.FONT_HERSHEY_SIMPLEX, 0.8, 230, 2, cv2.LINE_AA)
    return Moment(at_ms, detail(picture))


def _track(now: Moment) -> Track:
    return Track(Sighting(now.at_ms, RECT, 0.9, True), now, Crop(now.at_ms, 0.9, NOTHING))


@pytest.fixture
def dice() -> np.random.Generator:
    return np.random.default_rng(3)


def test_what_stands_is_followed_and_what_is_gone_is_not(dice: np.random.Generator) -> None:
    track = _track(_moment(0, 100, dice))
    assert all(track.follow(_moment(at, 100, dice)) for at in (100, 200, 300))
    assert not track.follow(_moment(400, None, dice))
    assert track.last.at_ms == 300
    assert not track.moves
    assert track.where() == [(0, 300, RECT)]


def test_it_is_followed_back_to_when_it_came(dice: np.random.Generator) -> None:
    before = [_moment(at, 100 if at >= 300 else None, dice) for at in range(0, 600, 100)]
    track = _track(_moment(600, 100, dice))
    track.follow_back(reversed(before))
    assert track.sightings[0].at_ms == 300


def test_what_wanders_is_covered_piece_by_piece(dice: np.random.Generator) -> None:
    track = _track(_moment(0, 100, dice))
    for step in range(1, 12):
        assert track.follow(_moment(100 * step, 100 + 6 * step, dice))
    assert track.moves
    pieces = track.where()
    assert len(pieces) == 11
    assert pieces[-1][2].right == RECT.right + 66
    assert pieces[0][2].right <= RECT.right + 12


def test_a_part_that_is_seen_keeps_the_whole_that_stands(dice: np.random.Generator) -> None:
    track = _track(_moment(0, 100, dice))
    now = _moment(100, 100, dice)
    assert track.follow(now)
    track.see(Sighting(100, Rect(100, 60, 160, 90), 0.9, True), now, Crop(100, 0.9, NOTHING))
    assert track.last.rect == RECT


@pytest.mark.parametrize(
    ("rect", "same"),
    [
        (RECT, True),
        (Rect(100, 62, 170, 92), True),
        (Rect(100, 88, 260, 118), False),
        (Rect(300, 60, 380, 90), False),
    ],
)
def test_whether_two_are_one(rect: Rect, same: bool, dice: np.random.Generator) -> None:
    assert _track(_moment(0, 100, dice)).is_at(rect) is same
