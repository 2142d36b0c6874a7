"""One marked narration as the reader learns from it."""

from __future__ import annotations

from typing import NamedTuple

from torch import Tensor

from indexer.narration.features import Features
from tests.learning.marked import Marked


class Lesson(NamedTuple):
    """One narration in one speech, ready to be learned from."""

    marked: Marked
    features: Features
    steps: Tensor
    concepts: Tensor
    assertions: Tensor
    begins: Tensor
