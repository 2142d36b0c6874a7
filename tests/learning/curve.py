"""What accepted marks teach, without any new lesson for the reader.

    python -m tests.learning.curve --corpus DIR [--reader FILE.npz] [--speech heard] [--counts 0 5 10 20]

The marks of the first so many narrations of DIR are accepted, as a surgeon would accept them: their changes of step and
lengths are counted, and the words that stand for a term in them are known from then on. The figures are those of the
last narrations, which are never accepted, so that the rows compare. A reader is one that saw none of DIR; without one
the vocabulary works alone.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from indexer.models.tagged import Given, HeardForm
from indexer.narration.reader import read_learned
from indexer.steps.flow import Flow
from indexer.tagging import Tagger
from indexer.vocabulary.loading import load_vocabulary
from tests.learning import marked
from tests.learning.bench import Bench, told
from tests.learning.marked import Marked
from tests.learning.visiting import visits

JUDGED = 20
"""The last so many narrations are judged."""
LONGEST_FORM = 4


def assigned(heard: Marked, clean: Marked) -> set[tuple[str, str]]:
    """Words of a captioner that stand for a term, where the captioner did not write the term itself."""
    written = {(concept, " ".join(clean.tokens.texts[first:last])) for first, last, concept, _ in clean.mentions}
    found = set()
    for first, last, concept, _ in heard.mentions:
        words = " ".join(heard.tokens.texts[first:last])
        if (concept, words) not in written and last - first <= LONGEST_FORM and len(words) > 3:
            found.add((words, concept))
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--corpus", type=Path, required=True)
    parser.add_argument("--reader", type=Path)
    parser.add_argument("--speech", default="heard", choices=("clean", "heard", "machine"))
    parser.add_argument("--counts", type=int, nargs="+", default=[0, 5, 10, 20])
    options = parser.parse_args()
    vocabulary = load_vocabulary()
    reader = read_learned(options.reader.read_bytes()) if options.reader else None
    for count in options.counts:
        bench = Bench(options.corpus, (options.speech,))
        accepted = bench.cases[: min(count, len(bench.cases) - JUDGED)]
        forms: set[tuple[str, str]] = set()
        for case in accepted:
            forms |= assigned(marked.mark(case, options.speech), marked.mark(case, "clean"))
        known = Given(
            heard=tuple(HeardForm(heard=words, concept=concept) for words, concept in sorted(forms)),
            operations=tuple(tuple(visits(marked.mark(case, "clean"))) for case in accepted),
        )
        tagger = Tagger(vocabulary, reader, Flow(vocabulary))
        for case in bench.cases[-JUDGED:]:
            bench.judge(case, lambda transcript: told(tagger.tag(transcript, known)))  # noqa: B023
        print(
            f"{len(accepted):2} accepted, {len(forms):4} forms  {next(row for row in bench.rows() if row[0] == '=')}",
            flush=True,
        )


if __name__ == "__main__":
    main()
