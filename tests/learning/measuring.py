"""Learn the weights of the clues to measures, and judge them on narrations left out.

    python -m tests.learning.measuring CORPUS OURS [--rounds K] [--ship]

CORPUS holds marked narrations under `dev/` and `build.py`; OURS more marked narrations. In each round the narrations of
`dev/` that fall to it are read with weights learned from all the others. `--ship` learns from all and writes the weights
to `schemas/learned/`.
"""

from __future__ import annotations

import argparse
import importlib
import random
import sys
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from scipy.optimize import minimize
from scipy.sparse import csr_matrix

from indexer.models.tagged import AssertionKind, Boundary, Measure, Mention, Segment
from indexer.models.timed import Word
from indexer.narration.clues import Clues, Reading
from indexer.narration.measures import MeasureReader
from indexer.narration.surroundings import Seen, context
from indexer.narration.tokens import Tokens, tokens_of
from indexer.narration.weighing import NOTHING, ClueWeights, written_weights
from indexer.vocabulary.loading import load_vocabulary
from indexer.vocabulary.vocabulary import Vocabulary
from tests.learning import marked

SHARED_PENALTY, WORD_PENALTY = 0.05, 0.8
FEWEST_NARRATIONS = 2
TIMES = 2
"""How often each narration is learned from, with other marks hidden each time."""
SMALLEST = 0.04
LOST_MENTIONS, LOST_STEPS = 0.3, 0.2
"""Shares of mentions and steps that are hidden in learning, as a tagger misses some."""


class Told(NamedTuple):
    """One narration in one speech, with what is known of it."""

    name: str
    lines: list[dict[str, Any]]
    words: list[Word]
    tokens: Tokens
    segments: list[Segment]
    mentions: list[Mention]


class Example(NamedTuple):
    """One amount: what it may be, the words around it, and which reading is right."""

    name: str
    readings: list[Reading]
    context: list[tuple[str, float]]
    right: int


def lay_out(case: dict[str, Any], speech: str, build: Any) -> Told:
    """Lay a narration out in time, its marks as segments and mentions."""
    lines, spoken = build.lay_out(case, speech)
    words = [Word(text=text, start_ms=round(a * 1000), end_ms=round(b * 1000), cue=0) for a, b, text in spoken]
    tokens = tokens_of(words)
    spans: list[list[Any]] = []
    for line in lines:
        start, end = round(line["t0"] * 1000), round(line["t1"] * 1000)
        if spans and spans[-1][2] == line["step"]:
            spans[-1][1] = end
        else:
            spans.append([start, end, line["step"]])
    segments = [
        Segment(step=step, start=_edge(start), end=_edge(max(end, start + 1)), confidence=1.0)
        for start, end, step in spans
        if step
    ]
    carried = marked.mark(case, speech)
    mentions = [
        Mention(
            concept=concept,
            assertion=AssertionKind(assertion),
            start_ms=tokens.starts_ms[first],
            end_ms=tokens.ends_ms[last - 1],
            first_word=tokens.words[first],
            last_word=tokens.words[last - 1] + 1,
            heard=" ".join(tokens.texts[first:last]),
            confidence=1.0,
        )
        for first, last, concept, assertion in carried.mentions
        if carried.tokens.texts == tokens.texts
    ]
    return Told(case["id"], lines, words, tokens, segments, sorted(mentions, key=lambda one: one.start_ms))


def _edge(at_ms: int) -> Boundary:
    return Boundary(at_ms=at_ms, source="edge", spread_ms=0)


def examples(told: Told, clues: Clues, chance: random.Random) -> Iterator[Example]:
    """Every amount of a narration whose right reading is known."""
    names = [measure.id for measure in clues.measures]
    mentions = [one for one in told.mentions if chance.random() > LOST_MENTIONS]
    around = clues.surroundings(told.tokens, told.words, told.segments, mentions)
    around = around._replace(steps=[step if chance.random() > LOST_STEPS else None for step in around.steps])
    true = [
        [line["t0"] * 1000 - 1500, line["t1"] * 1000 + 1500, names.index(measure), low, high]
        for line in told.lines
        for measure, low, high, _ in line.get("measures", [])
    ]
    before: list[Seen] = []
    for index, amount in enumerate(around.amounts):
        at = told.tokens.starts_ms[amount.first]
        readings = clues.readings(around, index, before)
        near = [one for one in true if one[0] <= at <= one[1]]
        match = next((one for one in near for r in readings if _is(r, one)), None)
        # A mark of this line that nothing fits may be this very amount, misheard: nothing can be learned from it.
        doubtful = match is None and any(not _told_later(one, around, index, clues, before) for one in near)
        found = list(context(around, index, before, names))
        if match is not None:
            true.remove(match)
            right = next(place for place, reading in enumerate(readings) if _is(reading, match))
            yield Example(told.name, readings, found, right)
            before = [*before[-60:], Seen(match[2], match[3], match[4], index, at)]
        elif not doubtful:
            yield Example(told.name, readings, found, 0)


def _is(reading: Reading, true: Sequence[Any]) -> bool:
    return reading.measure == true[2] and abs(reading.low - true[3]) < 1e-3 and abs(reading.high - true[4]) < 1e-3


def _told_later(one: Sequence[Any], around: Any, index: int, clues: Clues, before: Sequence[Seen]) -> bool:
    for later in range(index + 1, len(around.amounts)):
        if around.tokens.starts_ms[around.amounts[later].first] > one[1]:
            return False
        if any(_is(reading, one) for reading in clues.readings(around, later, before)):
            return True
    return False


def weights_from(cases: Sequence[dict[str, Any]], vocabulary: Vocabulary, build: Any) -> ClueWeights:
    """Weights learned from these narrations, in every speech they have; `measures.read_with` puts them to use."""
    clues, chance = Clues(vocabulary), random.Random(7)
    told = [lay_out(case, speech, build) for case in cases for speech in marked.speeches(case)]
    given = [example for _ in range(TIMES) for one in told for example in examples(one, clues, chance)]
    return learn(given, [measure.id for measure in clues.measures], words=True)


def learn(given: Sequence[Example], names: Sequence[str], *, words: bool) -> ClueWeights:
    """Fit the weights: a softmax over the readings of each amount, with a penalty on large weights."""
    kept = _kept(given) if words else set()
    columns: dict[tuple[str, str], int] = {}
    rows, cols, values, starts, right = [], [], [], [], []
    row = 0
    for example in given:
        starts.append(row)
        right.append(row + example.right)
        for reading in example.readings:
            label = NOTHING if reading.measure < 0 else names[reading.measure]
            own = [(("", clue), loud) for clue, loud in reading.clues.items()]
            own += [((label, clue), loud) for clue, loud in example.context if clue in kept]
            for key, loud in own:
                rows.append(row)
                cols.append(columns.setdefault(key, len(columns)))
                values.append(loud)
            row += 1
    matrix = csr_matrix((values, (rows, cols)), shape=(row, len(columns)))
    penalty = np.array([SHARED_PENALTY if label == "" else WORD_PENALTY for label, _ in columns])
    fitted = _fit(matrix, np.array(starts), np.array(right), penalty)
    shared: dict[str, float] = {}
    by_word: dict[str, dict[str, float]] = defaultdict(dict)
    for (label, clue), column in columns.items():
        weight = round(float(fitted[column]), 3)
        if label == "":
            shared[clue] = weight
        elif abs(weight) >= SMALLEST or clue == "always":
            by_word[clue][label] = weight
    return ClueWeights(shared, dict(by_word))


def _kept(given: Sequence[Example]) -> set[str]:
    """Context clues that turn up in enough narrations."""
    pairs = {(example.name, clue) for example in given for clue, _ in example.context}
    counts = Counter(clue for _, clue in pairs)
    return {clue for clue, count in counts.items() if count >= FEWEST_NARRATIONS}


def _fit(matrix: Any, starts: Any, right: Any, penalty: Any) -> Any:
    sizes = np.diff(np.append(starts, matrix.shape[0]))

    def loss(weights: Any) -> tuple[float, Any]:
        scores = matrix @ weights
        top = np.repeat(np.maximum.reduceat(scores, starts), sizes)
        shares = np.exp(scores - top)
        total = np.add.reduceat(shares, starts)
        shares /= np.repeat(total, sizes)
        gradient = shares.copy()
        gradient[right] -= 1
        value = -np.log(np.maximum(shares[right], 1e-300)).sum() + 0.5 * (penalty * weights**2).sum()
        return float(value), matrix.T @ gradient + penalty * weights

    found = minimize(loss, np.zeros(matrix.shape[1]), jac=True, method="L-BFGS-B", options={"maxiter": 150})
    return found.x


def matched(told: Told, said: Sequence[Measure]) -> tuple[int, list[Any], list[Measure]]:
    """How many measures are right, the marks that were missed, and the measures that are wrong."""
    free = [(line, *mark) for line in told.lines for mark in line.get("measures", [])]
    wrong = []
    right = 0
    for one in said:
        for mark in free:
            line, measure, low, high, _ = mark
            alike = measure == one.measure and abs(low - one.low) < 1e-6 and abs(high - one.high) < 1e-6
            if alike and line["t0"] - 4 <= one.start_ms / 1000 <= line["t1"] + 4:
                free.remove(mark)
                right += 1
                break
        else:
            wrong.append(one)
    return right, free, wrong


def main() -> None:
    """Run the rounds, or learn what ships."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("corpus", type=Path)
    parser.add_argument("ours", type=Path)
    parser.add_argument("--rounds", type=int, default=10)
    parser.add_argument("--ship", action="store_true")
    parser.add_argument("--errors", action="store_true", help="print what was missed and what was wrong")
    options = parser.parse_args()
    sys.path.insert(0, str(options.corpus))
    build = importlib.import_module("build")
    vocabulary = load_vocabulary()
    clues = Clues(vocabulary)
    names = [measure.id for measure in clues.measures]
    cases = {"dev": marked.load(options.corpus / "dev"), "ours": marked.load(options.ours)}
    told = {
        (of, c["id"], s): lay_out(c, s, build) for of, many in cases.items() for c in many for s in marked.speeches(c)
    }
    chance = random.Random(7)
    known = {key: [e for _ in range(TIMES) for e in examples(one, clues, chance)] for key, one in told.items()}
    if options.ship:
        every = [example for many in known.values() for example in many]
        folder = Path("schemas/learned")
        (folder / "cataract-measures.json").write_text(written_weights(learn(every, names, words=True)))
        (folder / "any-measures.json").write_text(written_weights(learn(every, names, words=False)))
        return
    ids = [case["id"] for case in cases["dev"]]
    counts: dict[tuple[str, bool], list[int]] = defaultdict(lambda: [0, 0, 0])
    sure: dict[int, list[float]] = defaultdict(list)
    for number in range(options.rounds):
        out = set(ids[number :: options.rounds])
        rest = [example for (_, name, _), many in known.items() if name not in out for example in many]
        for words in (True, False):
            reader = MeasureReader(vocabulary, learn(rest, names, words=words))
            for (_, name, speech), one in told.items():
                if name not in out:
                    continue
                said = reader.read(one.tokens, one.words, one.segments, one.mentions)
                right, missed, wrong = matched(one, said)
                total = counts[speech, words]
                for place, value in enumerate((right, len(said), right + len(missed))):
                    total[place] += value
                if words:
                    for measure in said:
                        sure[int(measure.confidence * 10)].append(float(measure not in wrong))
                if words and options.errors:
                    _print_errors(one, speech, missed, wrong)
    for (speech, words), (right, said, true) in sorted(counts.items()):
        figures = f"F1 {2 * right / (said + true):.3f}  precision {right / said:.3f}  recall {right / true:.3f}"
        print(f"{'learned' if words else 'shared '} {speech:8} {figures}")
    for tenth, hits in sorted(sure.items()):
        print(f"said {tenth / 10:.1f} to {tenth / 10 + 0.1:.1f} sure: {sum(hits) / len(hits):.2f} right of {len(hits)}")


def _print_errors(told: Told, speech: str, missed: Sequence[Any], wrong: Sequence[Measure]) -> None:
    for line, measure, low, high, _ in missed:
        heard = " ".join(w.text for w in told.words if line["t0"] * 1000 - 500 <= w.start_ms <= line["t1"] * 1000 + 500)
        print(f"MISSED {told.name} {speech} {measure} {low} {high} [{line['step']}] | {heard}")
    for one in wrong:
        text = " ".join(w.text for w in told.words[max(0, one.first_word - 8) : one.last_word + 7])
        print(
            f"WRONG {told.name} {speech} {one.measure} {one.low} {one.high} {one.confidence:.2f} <{one.heard}> | {text}"
        )


if __name__ == "__main__":
    main()
