"""How many terms are heard where none are spoken: python -m tests.learning.false_mentions [TEXT ...]

Without texts: the docstrings of installed packages, which serve for no learning. Prints false mentions in 1,000 words.
"""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path

from indexer.tagging import tag
from indexer.vocabulary.loading import load_vocabulary
from tests.learning.plain_english import docstrings, transcript


def main() -> None:
    vocabulary = load_vocabulary()
    named = [(path, Path(path).read_text()) for path in sys.argv[1:]] or list(docstrings())
    words = wrong = segments = 0
    which: Counter[tuple[str, str]] = Counter()
    for _, text in named:
        spoken = transcript(text)
        tagging = tag(spoken, vocabulary)
        words += len(spoken.words)
        wrong += len(tagging.mentions)
        segments += len(tagging.segments)
        which.update((mention.concept, mention.heard.lower()) for mention in tagging.mentions)
    print(
        f"{words} words of {len(named)} texts: {wrong} mentions, {1000 * wrong / max(1, words):.2f} in 1,000; {segments} segments"
    )
    for (concept, heard), count in which.most_common(30):
        print(f"  {count:3} {concept}: {heard}")


if __name__ == "__main__":
    main()
