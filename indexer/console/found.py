"""Answers to a query, as JSON or for a person."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from indexer.catalogue.library import Library
from indexer.errors import QueryUnreadable
from indexer.models import Answer, Passage, Query
from indexer.timespan import clock, seconds

LONGEST_QUERY = 1000


def ask(library: Library, text: str, limit: int) -> Answer:
    """What the owner's library answers. Raises QueryUnreadable."""
    if len(text) > LONGEST_QUERY:
        raise QueryUnreadable(text, f"The query is longer than {LONGEST_QUERY} letters. Ask in fewer words.")
    return library.find(library.owner, Query(text=text, limit=limit, counts=False))


def as_json(answer: Answer) -> str:
    """One array, best first."""
    return json.dumps([document(passage) for passage in answer.passages], ensure_ascii=False)


def document(passage: Passage) -> dict[str, Any]:
    """A passage as the document that we exchange: times in seconds, `start` is where playing begins."""
    return {
        "title": passage.title,
        "start": seconds(passage.start_ms),
        "segment_start": seconds(passage.segment_start_ms),
        "end": seconds(passage.end_ms),
        "step": passage.step,
        "step_label": passage.step_label,
        "eye": passage.eye,
        "excerpt": "".join(text for text, _ in passage.excerpt),
        "matched": [text for text, matched in passage.excerpt if matched],
        "why": list(passage.why),
        "missing": list(passage.missing),
        "standing": passage.standing.value,
        "score": round(passage.score, 4),
        "case": passage.case_id,
        "recording": passage.recording_id,
        "segment": passage.segment_id,
    }


def show(answer: Answer) -> None:
    """Write the answer to standard output; matched words stand out on a terminal."""
    from rich.console import Console
    from rich.padding import Padding
    from rich.text import Text

    console = Console(highlight=False)
    for line in heading(answer):
        console.print(Text(line, style="dim"))
    for number, passage in enumerate(answer.passages, start=1):
        console.print()
        top = Text(f"{number:>3}  ")
        top.append(passage.title, style="bold")
        top.append(f"  {clock(passage.start_ms)}", style="cyan")
        top.append(f"  {passage.step_label}")
        console.print(top)
        words = Text()
        for text, matched in passage.excerpt:
            words.append(text, style="bold yellow" if matched else "")
        if passage.excerpt:
            console.print(Padding(words, (0, 0, 0, 5)))
        for why in passage.why:
            console.print(Text(f"     – {why}", style="dim"))
    more = answer.total - len(answer.passages)
    if more:
        console.print(Text(f"\n{more} more: ask with --limit {min(1000, answer.total)}", style="dim"))


def heading(answer: Answer) -> Iterator[str]:
    """How the query was read, and what is to be said of the answer as a whole."""
    if answer.understood:
        yield "Read as: " + ", ".join(f"{each.label} ({each.facet})" for each in answer.understood)
    if answer.unmatched:
        yield "Nothing here for: " + ", ".join(answer.unmatched)
    if not answer.passages:
        yield "No passage answers this."
    if answer.nearest:
        yield "Near to it: " + ", ".join(f"{each.label} ({each.count})" for each in answer.nearest)
