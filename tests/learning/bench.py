"""The corpus of marked narrations, its scorer, and a tagger judged by them."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from indexer.models.tagged import Tagging
from indexer.models.timed import Transcript
from indexer.transcripts.reading import parse_transcript
from tests.learning import marked

SPEECHES = ("clean", "heard", "machine")
STYLES = ("sentence", "block", "rolling", "short")


def told(tagging: Tagging) -> dict[str, Any]:
    """A tagging in the terms of the scorer."""
    return {
        "segments": [{"start": s.start_ms / 1000, "end": s.end_ms / 1000, "step": s.step} for s in tagging.segments],
        "mentions": [
            {"concept": m.concept, "assertion": m.assertion.value, "start": m.start_ms / 1000, "end": m.end_ms / 1000}
            for m in tagging.mentions
        ],
        "measures": [
            {"measure": m.measure, "low": m.low, "high": m.high, "unit": m.unit, "start": m.start_ms / 1000}
            for m in tagging.measures
        ],
        "findings": [finding.concept for finding in tagging.findings],
    }


class Bench:
    """The corpus, its scorer, and the figures gathered so far."""

    def __init__(self, corpus: Path, speeches: tuple[str, ...]) -> None:
        sys.path.insert(0, str(corpus))
        self.build, self._score = importlib.import_module("build"), importlib.import_module("score")
        self.cases = marked.load(corpus / "dev")
        self.speeches = speeches
        self.tallies = {(style, speech): self._score.Tally() for speech in speeches for style in STYLES}

    def judge(self, case: dict[str, Any], tag: Callable[[Transcript], dict[str, Any]]) -> None:
        """Tag one narration in all styles and speeches; `tag` answers in the scorer's terms."""
        for speech in self.speeches:
            lines, _ = self.build.lay_out(case, speech)
            for style, extension, text in self.build.transcripts(case, speech):
                transcript = parse_transcript(text.encode(), f"{case['id']}.{extension}")
                self.tallies[style, speech].add(case, lines, tag(transcript))

    def lines(self, case: dict[str, Any], speech: str) -> list[dict[str, Any]]:
        """The lines of a narration with their times, t0 and t1 in seconds."""
        lines: list[dict[str, Any]] = self.build.lay_out(case, speech)[0]
        return lines

    def written(self, case: dict[str, Any], speech: str, style: str) -> bytes:
        """A narration as a transcript of one style."""
        return next(text.encode() for name, _, text in self.build.transcripts(case, speech) if name == style)

    def rows(self) -> Iterator[str]:
        """The figures, a row for each style and speech, and the mean of the styles."""
        for speech in self.speeches:
            every = []
            for style in STYLES:
                figures = self.tallies[style, speech].figures()
                every.append(figures)
                yield self._score.row(f"{style} {speech}", figures)
            mean = {key: sum(f[key] or 0 for f in every) / len(every) for key in every[0]}
            yield self._score.row(f"= {speech}", mean)

    def mean(self, speech: str) -> dict[str, float]:
        """The mean of the styles."""
        every = [self.tallies[style, speech].figures() for style in STYLES]
        return {key: sum(f[key] or 0 for f in every) / len(every) for key in every[0]}
