"""The frame number in the picture comes back, also after encoding, and with a reader that was written apart from it."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from demo_clips.strip import draw_strip, read_strip
from tests import films


@pytest.mark.parametrize("frame", [0, 1, 2, 3, 255, 256, 4095, 21845, 43690, 65535])
@pytest.mark.parametrize("width", [640, 1280])
def test_number_comes_back(frame: int, width: int) -> None:
    picture = np.full((360, width, 3), 120, np.uint8)
    draw_strip(picture, frame)
    assert read_strip(picture) == frame
    assert films.read_strip(picture) == frame


def test_number_survives_strong_compression() -> None:
    picture = np.random.default_rng(1).integers(0, 255, (360, 640, 3)).astype(np.uint8)
    draw_strip(picture, 12345)
    jpeg = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 30])[1]
    assert read_strip(cv2.imdecode(jpeg, cv2.IMREAD_COLOR)) == 12345


@pytest.mark.parametrize("square", range(20))
def test_one_wrong_square_is_noticed(square: int) -> None:
    picture = np.zeros((360, 640, 3), np.uint8)
    draw_strip(picture, 1000)
    part = picture[:16, square * 16 : square * 16 + 16]
    part[:] = 255 - part
    assert read_strip(picture) is None


def test_picture_without_strip_has_no_number() -> None:
    assert read_strip(np.full((360, 640, 3), 90, np.uint8)) is None
