"""Prints what the search for identifiers found of what was planted, what it missed and what it found falsely.

    python -m tests.privacy.judge_words [--tuning] [--missed] [--false]

For each class on the half of the cases for judging (or for tuning), and the false ones in ten minutes of narrations
without identifiers. Found is what is covered as a whole, whatever kind it was taken for.
"""

from __future__ import annotations

import argparse
import json
import time
from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

from indexer.models.identifying import Identifier, IdentifierKind, KnownName
from indexer.models.timed import Word
from indexer.privacy.identifiers import Finder
from indexer.vocabulary.loading import load_vocabulary
from indexer.vocabulary.vocabulary import Vocabulary
from tests.privacy.planting import NARRATIONS, Planted, PlantedCase, cases


class Judged(NamedTuple):
    """What became of the planted ones, and what else was found."""

    found: list[Planted]
    missed: list[tuple[Planted, str]]
    false: list[tuple[Identifier, str]]
    named_right: int
    minutes: float


def judge(chosen: Sequence[PlantedCase], vocabulary: Vocabulary, known: Sequence[KnownName] | None = None) -> Judged:
    """Search each case, with its own list or with one of all cases."""
    result = Judged([], [], [], 0, 0.0)
    right, minutes = 0, 0.0
    shared = Finder(known, vocabulary) if known is not None else None
    for case in chosen:
        finder = shared or Finder(case.known, vocabulary)
        found = finder.in_words(case.words)
        for field, text in case.texts.items():
            found += finder.in_text(text, field)
        found += finder.in_metadata(case.metadata)
        minutes += case.words[-1].end_ms / 60_000
        for planted in case.planted:
            over = [one for one in found if _meet(one, planted)]
            covered = {at for one in over for at in range(one.first, one.last)}
            if covered.issuperset(_needed(case, planted)):
                result.found.append(planted)
                right += any(one.kind is planted.kind for one in over)
            else:
                result.missed.append((planted, _around(case, planted.field, planted.first, planted.last)))
        for one in found:
            if not any(_meet(one, planted) for planted in case.planted):
                result.false.append((one, _around(case, one.field, one.first, one.last)))
    return result._replace(named_right=right, minutes=minutes)


def _needed(case: PlantedCase, planted: Planted) -> set[int]:
    """Words, or the letters and digits of a text, that have to be covered."""
    places = range(planted.first, planted.last)
    if planted.field == "words":
        return set(places)
    text = _text(case, planted.field)
    return {at for at in places if text[at].isalnum()}


def _text(case: PlantedCase, field: str) -> str:
    return case.texts.get(field) or case.metadata[field.removeprefix("metadata: ")]


def _meet(one: Identifier, planted: Planted) -> bool:
    return one.field == planted.field and one.first < planted.last and planted.first < one.last


def _around(case: PlantedCase, field: str, first: int, last: int) -> str:
    if field != "words":
        return _text(case, field)
    texts = [word.text for word in case.words]
    return f"{' '.join(texts[max(0, first - 4) : first])} <{' '.join(texts[first:last])}> {' '.join(texts[last : last + 3])}"


def false_in_narrations(
    vocabulary: Vocabulary, known: Sequence[KnownName] = ()
) -> tuple[list[tuple[Identifier, str]], float]:
    """What is found in narrations that name nobody but by age, both forms of each, and how many minutes they last."""
    finder, false, minutes = Finder(known, vocabulary), [], 0.0
    for path in sorted(NARRATIONS.glob("ours-???.json")):
        told = json.loads(path.read_text(encoding="utf-8"))
        for form in ("clean", "heard"):
            words = narrated(told, form)
            minutes += words[-1].end_ms / 60_000
            texts = [word.text for word in words]
            for one in finder.in_words(words):
                if one.kind is not IdentifierKind.AGE:
                    false.append((one, path.stem + " " + " ".join(texts[max(0, one.first - 4) : one.last + 3])))
    return false, minutes


def narrated(told: dict[str, object], form: str) -> list[Word]:
    """The words of a narration with times, at its rate of words a second."""
    now, words = 0, []
    for cue, line in enumerate(told["lines"]):  # type: ignore[arg-type, var-annotated]
        now += int(line["gap"] * 1000)
        for text in line[form].split():
            end = now + int(1000 / told["rate"])  # type: ignore[operator, call-overload]
            words.append(Word(text=text, start_ms=now, end_ms=end, cue=cue))
            now = end
    return words


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--tuning", action="store_true")
    parser.add_argument("--missed", action="store_true")
    parser.add_argument("--false", action="store_true")
    options = parser.parse_args()
    vocabulary = load_vocabulary()
    chosen = [case for case in cases() if case.judging is not options.tuning]
    began = time.perf_counter()
    judged = judge(chosen, vocabulary)
    took = time.perf_counter() - began
    _print(judged)
    print(f"{len(chosen)} cases in {took:.1f} s")
    for title, known in (
        ("no list", ()),
        ("a list of 40 entries", [entry for case in cases()[:8] for entry in case.known]),
    ):
        false, minutes = false_in_narrations(vocabulary, known)
        kinds = dict(Counter(f"{one.kind.value} by {one.how}" for one, _ in false))
        print(
            f"narrations, {title}: {len(false)} false in {minutes:.0f} minutes, {len(false) / minutes * 10:.2f} in ten; {kinds}"
        )
        if options.false:
            for one, around in false:
                print("   ", one.kind.value, one.how, one.certainty, repr(one.text), one.known, "|", around)
    if options.missed:
        for planted, around in judged.missed:
            print(
                "missed",
                planted.kind.value,
                planted.said,
                "listed" if planted.listed else "",
                planted.field,
                "|",
                around,
            )
    if options.false:
        for one, around in judged.false:
            print("false", one.kind.value, one.how, one.certainty, one.known, "|", around)


def _print(judged: Judged) -> None:
    print(f"{'class':<5} {'kind':<18} {'found':>6} {'of':>5} {'share':>6}")
    rows: dict[tuple[str, str], list[int]] = {}
    for planted, hit in [(p, 1) for p in judged.found] + [(p, 0) for p, _ in judged.missed]:
        listed = (
            "listed, " + planted.said
            if planted.listed
            else "found by rule" + (", misheard" if planted.said == "misheard" else "")
        )
        for key in (
            (planted.kind.letter, planted.kind.value),
            ("-", listed),
            ("-", "in words" if planted.field == "words" else "in texts and metadata"),
        ):
            row = rows.setdefault(key, [0, 0])
            row[0] += hit
            row[1] += 1
    for (letter, kind), (hit, every) in sorted(rows.items()):
        print(f"{letter:<5} {kind:<28} {hit:>6} {every:>5} {hit / every:>6.3f}")
    print(f"taken for the right kind: {judged.named_right / max(1, len(judged.found)):.3f} of those found")
    kinds = dict(Counter(one.how for one, _ in judged.false))
    print(
        f"false: {len(judged.false)} in {judged.minutes:.0f} minutes, {len(judged.false) / judged.minutes * 10:.2f} in ten; {kinds}"
    )


if __name__ == "__main__":
    main()
