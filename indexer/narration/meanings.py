"""What common words mean, as vectors: words used alike lie near each other, also where no marked narration had them.

The table was made by `tests/learning/common_words.py` from published word vectors; DEVELOPERS.md names their source.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from importlib import resources
from io import BytesIO

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float32]
WIDTH = 64


@cache
def _table() -> tuple[dict[str, int], Floats]:
    """The row of each word, and the rows; the first row, of words that are not known, is zero."""
    data = resources.files("schemas").joinpath("learned", "words.npz").read_bytes()
    with np.load(BytesIO(data), allow_pickle=False) as stored:
        words = bytes(stored["words"]).decode().split()
        rows = np.zeros((len(words) + 1, WIDTH), np.float32)
        rows[1:] = stored["rows"]
        rows *= np.float32(stored["scale"])
    return {word: number for number, word in enumerate(words, 1)}, rows


def meanings(texts: Sequence[str]) -> Floats:
    """The vector of each word: (n, WIDTH); zero for a word that is not known."""
    places, rows = _table()
    return rows[[places.get(text, 0) for text in texts]] if texts else np.zeros((0, WIDTH), np.float32)
