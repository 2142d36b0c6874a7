"""Taggings as one compact JSON object a line, or for a person; many files by two processes at once."""

from __future__ import annotations

import gc
import json
import os
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from indexer.errors import TranscriptUnreadable
from indexer.models import Tagging
from indexer.timespan import clock, seconds
from indexer.vocabulary.vocabulary import Vocabulary

PROCESSES = 2
FEWEST_FOR_PROCESSES = 8

_vocabulary: Vocabulary | None = None


def taggings(paths: Sequence[Path]) -> Iterator[dict[str, Any]]:
    """The JSON object of each file, in order; a file that cannot be read has `error`."""
    # Each process counts for itself: threads of the linear algebra would only wait for one another. What a vocabulary
    # is made ready with is never garbage, and looking through it time and again costs more than the command has to spare.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    gc.disable()
    try:
        yield from _taggings(paths)
    finally:
        gc.enable()


def _taggings(paths: Sequence[Path]) -> Iterator[dict[str, Any]]:
    vocabulary = _prepare()
    if len(paths) < FEWEST_FOR_PROCESSES:
        yield from map(_document, paths)
        return
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    # Where a process can be split in two, what is loaded here need not be loaded again.
    split = sys.platform == "linux"
    context = multiprocessing.get_context("fork" if split else "spawn")
    if split:
        _warm(vocabulary)
        gc.freeze()
    with ProcessPoolExecutor(PROCESSES, context, gc.enable) as pool:
        yield from pool.map(_document, paths, chunksize=2)


def _prepare() -> Vocabulary:
    from indexer.vocabulary.loading import load_vocabulary

    global _vocabulary
    if _vocabulary is None:
        _vocabulary = load_vocabulary()
    return _vocabulary


def _warm(vocabulary: Vocabulary) -> None:
    """Have the tagger made ready before the processes part."""
    from indexer.tagging import tag
    from indexer.transcripts.reading import parse_transcript

    tag(parse_transcript(b"[0:01] now the rhexis", "warm.txt"), vocabulary)


def _document(path: Path) -> dict[str, Any]:
    from indexer.tagging import tag
    from indexer.transcripts.reading import read_transcript

    try:
        transcript = read_transcript(path)
    except TranscriptUnreadable as fault:
        return document(path, Tagging(language="und")) | {"error": str(fault)}
    told = document(path, tag(transcript, _prepare()))
    left_out = [f"line {each.line}: {each.reason}" for each in transcript.left_out]
    return told | ({"left_out": left_out} if left_out else {})


def document(path: Path, tagging: Tagging) -> dict[str, Any]:
    """A tagging as the document that we exchange: times in seconds."""
    told: dict[str, Any] = {
        "file": str(path),
        "language": tagging.language,
        "segments": [
            {
                "start": seconds(each.start_ms),
                "end": seconds(each.end_ms),
                "step": each.step,
                "confidence": round(each.confidence, 3),
                "start_source": each.start.source,
                "start_spread": seconds(each.start.spread_ms),
                "evidence": [reason.text for reason in each.evidence],
            }
            for each in tagging.segments
        ],
        "mentions": [
            {
                "concept": each.concept,
                "assertion": each.assertion.value,
                "start": seconds(each.start_ms),
                "end": seconds(each.end_ms),
                "heard": each.heard,
                "confidence": round(each.confidence, 3),
            }
            for each in tagging.mentions
        ],
        "measures": [
            {
                "measure": each.measure,
                "low": each.low,
                "high": each.high,
                "unit": each.unit,
                "start": seconds(each.start_ms),
                "heard": each.heard,
                "confidence": round(each.confidence, 3),
            }
            for each in tagging.measures
        ],
        "findings": [each.concept for each in tagging.findings],
    }
    return told | ({"remarks": list(tagging.remarks)} if tagging.remarks else {})


def as_json(told: dict[str, Any]) -> str:
    """One compact line."""
    return json.dumps(told, ensure_ascii=False, separators=(",", ":"))


def for_a_person(told: dict[str, Any]) -> Iterator[str]:
    """The lines that tell a tagging on a terminal."""
    labels = {concept.id: concept.label for concept in _prepare().concepts.values()}
    yield told["file"]
    if "error" in told:
        return
    if told["findings"]:
        yield f"  This eye: {', '.join(labels[each] for each in told['findings'])}"
    for each in told["segments"]:
        length = _clock(each["end"] - each["start"])
        yield f"  {_clock(each['start']):>8}  {labels[each['step']]} ({length}, {each['confidence']:.0%} sure)"
        yield from _used(told, each, labels)
    for each in told.get("remarks", ()):
        yield f"  Note: {each}"
    for each in told.get("left_out", ()):
        yield f"  Left out: {each}"


def _used(told: dict[str, Any], segment: dict[str, Any], labels: dict[str, str]) -> Iterator[str]:
    here = [each for each in told["mentions"] if segment["start"] <= each["start"] < segment["end"]]
    done = [labels[each["concept"]] for each in here if each["assertion"] == "done"]
    if done:
        yield f"            {', '.join(dict.fromkeys(done))}"
    rest = [f"{labels[each['concept']]} ({each['assertion']})" for each in here if each["assertion"] != "done"]
    if rest:
        yield f"            not done here: {', '.join(dict.fromkeys(rest))}"
    for each in told["measures"]:
        if segment["start"] <= each["start"] < segment["end"]:
            span = f"{each['low']:g}" if each["low"] == each["high"] else f"{each['low']:g} to {each['high']:g}"
            label = labels[each["measure"]]
            yield f"            {label}: {span}" + ("" if label.endswith(")") else f" {each['unit']}")


def _clock(at_s: float) -> str:
    return clock(round(at_s * 1000))
