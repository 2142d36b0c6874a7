"""How well the search finds what a trainee has in mind, judged as the corpus judges the command, but by library calls.

`python -m tests.learning.known_moments --corpus DIR [--marks shipped plain gold] [--reader PATH.npz] [--misses]`

DIR holds `dev/`, `build.py`, `score.py` and `score_search.py`. For each speech a library is made of all narrations and asked:

  known    queries typed with one moment of one operation in mind: top1, top3, top10, and the mean reciprocal rank
  pairs    "thing used or done" with "finding of the eye": nDCG at 10
  held     of the known queries, the share whose moment holds more of the query, by marks and words, than any other operation;
           where another operation holds as much; where another one holds all of it and more

`--marks` says who marked the narrations: `shipped` the tagger as it ships (it has seen marked narrations), `plain` a
tagger with the vocabulary alone, `gold` the people who wrote them. `--reader` puts another reader into the tagger.
"""

from __future__ import annotations

import argparse
import importlib
import math
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from types import ModuleType
from typing import Any, NamedTuple

from indexer.catalogue.library import Library
from indexer.models import (
    AssertionKind,
    Boundary,
    CaseContent,
    CaseDraft,
    FoundFinding,
    Measure,
    Mention,
    Part,
    Passage,
    Probe,
    Query,
    Segment,
    Tagging,
    Transcript,
)
from indexer.narration.reader import read_learned
from indexer.steps.flow import Flow
from indexer.tagging import Tagger, shipped_tagger, tag
from indexer.transcripts.reading import parse_transcript
from indexer.vocabulary.loading import load_vocabulary
from indexer.vocabulary.vocabulary import Vocabulary
from tests.learning import marked

FILM = Path("/nowhere/film.mp4")
Moment = tuple[str, float, float]
"""Name of the narration, first and last second."""


class Told(NamedTuple):
    """A narration laid out in one speech."""

    case: Mapping[str, Any]
    lines: Sequence[Mapping[str, Any]]
    transcript: Transcript


class Asked(NamedTuple):
    """A query, the moments that answer it, what was found, and the rank of the first that is met."""

    query: str
    moments: Sequence[Moment]
    found: Sequence[Passage]
    rank: float


class Scorer:
    """The corpus with its own judge."""

    build: ModuleType
    score: ModuleType
    search: ModuleType

    def __init__(self, corpus: Path) -> None:
        sys.path.insert(0, str(corpus))
        self.build, self.score, self.search = map(importlib.import_module, ("build", "score", "score_search"))
        self.cases = marked.load(corpus / "dev")

    def told(self, speech: str, style: str) -> Iterator[Told]:
        """Every narration that has the speech."""
        for case in self.cases:
            if speech == "machine" and not case["machine"]:
                continue
            texts = {name: (extension, text) for name, extension, text in self.build.transcripts(case, speech)}
            extension, text = texts[style]
            transcript = parse_transcript(text.encode(), f"{case['id']}.{extension}")
            yield Told(case, self.build.lay_out(case, speech)[0], transcript)

    def known(self, every: Iterable[Told]) -> dict[str, list[Moment]]:
        """Each query with all moments it was written for."""
        found: dict[str, list[Moment]] = {}
        for told in every:
            for query in told.case["queries"]:
                moments = self.search.moments_of(told.case["id"], told.lines, query["lines"])
                found.setdefault(query["q"].casefold(), []).extend(moments)
        return found

    def gains(self, found: Iterable[Passage], moments: Sequence[Moment]) -> list[int]:
        """1 for each passage that meets a moment which no better one met."""
        answers = [{"title": each.title, "start": each.start_ms / 1000} for each in found]
        gains: list[int] = self.search.gains(answers, moments)
        return gains

    def pairs(self, every: Sequence[Told], most: int) -> list[tuple[str, list[Moment]]]:
        """Pair queries, at most so many, spread evenly."""
        laid = {told.case["id"]: told.lines for told in every}
        found = list(self.search.pairs([told.case for told in every], laid))
        return found[:: max(1, math.ceil(len(found) / max(1, most)))]

    def gold(self, told: Told) -> Tagging:
        """The marks that were written with the narration."""
        words = told.transcript.words
        spans = self.score.gold_segments(told.lines, lambda step: step)
        ends = [*(start for start, _, _ in spans[1:]), spans[-1][1]]
        segments = [
            Segment(step=step, start=_at(start), end=_at(end), confidence=0.9)
            for (start, _, step), end in zip(spans, ends, strict=True)
        ]
        mentions: list[Mention] = []
        measures: list[Measure] = []
        for line in told.lines:
            inside = [at for at, word in enumerate(words) if line["t0"] <= word.start_ms / 1000 < line["t1"]] or [0]
            for concept, kind, said in line["mentions"]:
                share = max(0, line["clean"].find(said)) / max(1, len(line["clean"]))
                at = _span(words, inside[min(len(inside) - 1, int(share * len(inside)))])
                mentions.append(Mention(concept=concept, assertion=AssertionKind(kind), confidence=0.9, **at))
            for measure, low, high, unit in line.get("measures", ()):
                at = _span(words, inside[0])
                measures.append(Measure(measure=measure, low=low, high=high, unit=unit, confidence=0.9, **at))
        findings = tuple(FoundFinding(concept=each, confidence=0.9) for each in told.case["findings"])
        return Tagging(
            language="en",
            segments=tuple(segments),
            mentions=tuple(sorted(mentions, key=lambda each: each.start_ms)),
            measures=tuple(measures),
            findings=findings,
        )


def _at(seconds: float) -> Boundary:
    return Boundary(at_ms=round(seconds * 1000), source="word", spread_ms=500)


def _span(words: Sequence[Any], at: int) -> dict[str, Any]:
    word = words[at]
    times = {"start_ms": word.start_ms, "end_ms": word.end_ms, "heard": word.text}
    return {**times, "first_word": at, "last_word": at + 1}


def fill(library: Library, every: Iterable[Told], marks: Callable[[Told], Tagging]) -> None:
    """Publish each narration as a case named after it, with a film that is not there."""
    for told in every:
        length_ms = round(told.lines[-1]["t1"] * 1000) + 3000
        probe = Probe(
            size_bytes=1, content_hash=told.case["id"], container="mp4", codec="h264", pixel_format="yuv420p", width=64,
            height=48, rotation=0, duration_ms=length_ms, claimed_ms=None, frames=length_ms // 40, frame_rate=25.0,
            constant_rate=True, key_frame_gap_ms=1000, interlaced=False, audio_codec=None,
        )  # fmt: skip
        job = library.begin_case(CaseDraft(title=told.case["id"], sources=(FILM,)))
        content = CaseContent(
            parts=(Part(path=FILM, probe=probe, start_ms=0),), film=None, length_ms=length_ms, frame_rate=25.0, width=64,
            height=48, has_sound=False, transcript=told.transcript, transcript_bytes=b"", tagging=marks(told),
        )  # fmt: skip
        library.publish(job.id, content)


class Asking:
    """A library of one speech, and what it answers."""

    def __init__(self, scorer: Scorer, library: Library, every: Sequence[Told]) -> None:
        self.scorer, self.library, self.every = scorer, library, every

    def known(self) -> list[Asked]:
        """All queries of known moments."""
        found = []
        for query, moments in self.scorer.known(self.every).items():
            passages = self.find(query)
            gains = self.scorer.gains(passages, moments)
            found.append(Asked(query, moments, passages, gains.index(1) + 1 if 1 in gains else math.inf))
        return found

    def find(self, text: str, limit: int = 10) -> tuple[Passage, ...]:
        """The best passages."""
        return self.library.find(self.library.owner, Query(text=text, limit=limit, counts=False)).passages

    def ndcg(self, most: int) -> float:
        """Of the pair queries, with binary gains."""
        total, asked = 0.0, self.scorer.pairs(self.every, most)
        for query, moments in asked:
            gains = self.scorer.gains(self.find(query), moments)
            ideal = sum(1 / math.log2(at + 2) for at in range(len(moments)))
            total += sum(gain / math.log2(at + 2) for at, gain in enumerate(gains)) / ideal
        return total / max(1, len(asked))

    def held(self, known: Iterable[Asked]) -> Counter[str]:
        """How alone each known moment is with what it holds of its query."""
        return Counter(self._held(asked) for asked in known)

    def _held(self, asked: Asked) -> str:
        """Compare what passages lack of the query: of the case meant, the one at the moment that lacks least."""
        own = {name for name, _, _ in asked.moments}
        every = self.find(asked.query, 1000)
        there = [set(each.missing) for each in every if self._overlaps(each, asked.moments)]
        if not there:
            return "nothing of it is held"
        least = min(there, key=len)
        others = [set(each.missing) for each in every if each.title not in own]
        if any(other < least for other in others):
            return "all and more elsewhere"
        return "as much elsewhere" if any(other <= least for other in others) else "most here"

    @staticmethod
    def _overlaps(passage: Passage, moments: Iterable[Moment]) -> bool:
        start, end = passage.segment_start_ms / 1000, passage.end_ms / 1000
        return any(passage.title == name and start <= last and first <= end for name, first, last in moments)


def told_of(known: Sequence[Asked]) -> str:
    """The figures of the known moments."""
    share = {top: sum(asked.rank <= top for asked in known) / len(known) for top in (1, 3, 10)}
    mean = sum(1 / asked.rank for asked in known) / len(known)
    return "  ".join(f"top{top} {value:.3f}" for top, value in share.items()) + f"  mrr {mean:.3f}"


def taggings(marks: str, reader: Path | None, scorer: Scorer, vocabulary: Vocabulary) -> Callable[[Told], Tagging]:
    """Who marks the narrations."""
    if marks == "gold":
        return scorer.gold
    if marks == "plain" or reader is not None:
        field = vocabulary.fields[0]
        alone = load_vocabulary(Path("schemas/vocabulary") / field)
        tagger = Tagger(alone, None, Flow(alone))
        if marks != "plain" and reader is not None:
            tagger = Tagger(alone, read_learned(reader.read_bytes()), shipped_tagger(alone).flow)
        return lambda told: tagger.tag(told.transcript)
    return lambda told: tag(told.transcript, vocabulary)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--corpus", type=Path, required=True)
    parser.add_argument("--reader", type=Path)
    parser.add_argument("--marks", nargs="+", default=["shipped"], choices=["shipped", "plain", "gold"])
    parser.add_argument("--speech", nargs="+", default=["heard", "machine"], choices=["clean", "heard", "machine"])
    parser.add_argument("--style", default="short", choices=["sentence", "block", "rolling", "short"])
    parser.add_argument("--pairs", type=int, default=60)
    parser.add_argument("--misses", action="store_true", help="print the queries that were not met first")
    options = parser.parse_args()
    scorer, vocabulary = Scorer(options.corpus), load_vocabulary()
    for speech in options.speech:
        every = list(scorer.told(speech, options.style))
        for marks in options.marks:
            with tempfile.TemporaryDirectory() as folder, Library.open(Path(folder), vocabulary=vocabulary) as library:
                fill(library, every, taggings(marks, options.reader, scorer, vocabulary))
                asking = Asking(scorer, library, every)
                known = asking.known()
                ndcg = asking.ndcg(options.pairs)
                print(f"{speech:8}{marks:8} known {len(known)}  {told_of(known)}  pairs ndcg10 {ndcg:.3f}", flush=True)
                held = asking.held(known)
                print("    held: " + ", ".join(f"{what} {many / len(known):.3f}" for what, many in held.most_common()))
                for asked in known if options.misses else ():
                    if asked.rank > 1:
                        print(f"    rank {asked.rank}: {asked.query!r} {asked.moments}")


if __name__ == "__main__":
    main()
