"""Whether a picture is a card with writing: an even ground, and thin shapes on it."""

from __future__ import annotations

import cv2
import numpy

from indexer.footage.survey_small import Grey

_GROUND = 0.55
"""Least share of the picture that has the ground's brightness."""
_NEAR = 6
_WRITTEN = (0.004, 0.4)
"""Share of the picture that the writing takes."""
_THICK = 0.35
"""Share of the writing that is still there when a few pixels are taken from every edge."""

_CHANGED, _BY = 0.03, 4
"""Share of the picture that may change from look to look on a card, and by how much it has to, to count."""


def stands(before: Grey, small: Grey) -> bool:
    """Whether hardly anything changed from one look to the next."""
    if before.shape != small.shape:
        return False
    return float((cv2.absdiff(before, small) > _BY).mean()) < _CHANGED


def is_card(small: Grey) -> bool:
    """Whether a small picture may be a title; one that moves is none (see `stands`)."""
    counts = cv2.calcHist([small], [0], None, [64], [0, 256]).ravel()
    ground = int(counts.argmax()) * 4 + 2
    written = cv2.absdiff(small, numpy.full_like(small, ground)) > _NEAR
    share = float(written.mean())
    if share > 1 - _GROUND or not _WRITTEN[0] <= share <= _WRITTEN[1]:
        return False
    thick = cv2.erode(written.astype(numpy.uint8), numpy.ones((7, 7), numpy.uint8))
    # What is left of a shape after a closing is its body: a letter leaves nothing, an eye or a hand most of it.
    return float(thick.sum()) <= _THICK * 0.25 * float(written.sum())
