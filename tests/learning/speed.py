"""How fast the tagger is: python -m tests.learning.speed FOLDER [--processes 2]

FOLDER holds marked narrations. Prints, in one run on one machine: a one-hour transcript from a cold start of the
command; ten-minute narrations a minute on so many processes; the share of each stage; how long the straightforward way
takes for the same words (every form of every concept held against every run of as many words with rapidfuzz), as a
ratio; and the most memory that the command took.
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from indexer.models.tagged import Given
from indexer.models.timed import Transcript
from indexer.narration.lexicon import form_words
from indexer.narration.measures import measures_of
from indexer.narration.tokens import tokens_of
from indexer.tagging import Tagger, shipped_tagger
from indexer.timespan import clock
from indexer.transcripts.reading import parse_transcript
from indexer.vocabulary.loading import load_vocabulary
from tests.learning import marked

TEN_MINUTES, HOUR = 1_500, 9_000
"""Words."""


def pasted(texts: list[str], words: int) -> str:
    """So many words as people paste them from a player: a stamp every 40 seconds, 2.5 words a second."""
    spoken = " ".join(texts).split()
    while len(spoken) < words:
        spoken += spoken
    return "\n".join(f"[{clock(at * 400)}] " + " ".join(spoken[at : at + 100]) for at in range(0, words, 100))


def timed(what: str, seconds: float, whole: float) -> None:
    print(f"  {what:22} {seconds * 1000:7.0f} ms  {seconds / whole:5.1%}")


def stages(tagger: Tagger, transcript: Transcript) -> None:
    """The share of each stage of one narration; what sounds like what is not remembered from before."""
    marks = [time.perf_counter()]
    tokens = tokens_of(transcript.words)
    others = tagger.ear.alternatives(tokens.texts, tokens.starts_ms, tokens.ends_ms)
    marks.append(time.perf_counter())
    hits = tagger.lexicon.hits(tokens.texts, others)
    marks.append(time.perf_counter())
    reading = tagger.read(tokens, hits)
    marks.append(time.perf_counter())
    mentions = tagger.mentions(tokens, transcript.words, hits, reading)
    marks.append(time.perf_counter())
    segments = tagger.segments(tokens, transcript.words, hits, mentions, reading, Given())
    marks.append(time.perf_counter())
    measures_of(tokens, transcript.words, tagger.vocabulary, segments, mentions)
    marks.append(time.perf_counter())
    names = ("hearing sounds", "finding forms", "reading", "mentions", "steps", "measures")
    for name, start, end in zip(names, marks, marks[1:], strict=False):
        timed(name, end - start, marks[-1] - marks[0])


def straightforward(tagger: Tagger, transcript: Transcript) -> float:
    """Seconds that it takes to hold every form against every run of words."""
    from rapidfuzz import fuzz, process

    tokens = tokens_of(transcript.words).texts
    forms: dict[int, list[str]] = {}
    for concept in tagger.vocabulary.concepts.values():
        for form in (concept.label, *concept.spoken, *concept.verbs, *concept.loose, *concept.heard_as, *concept.cues):
            words = form_words(form)
            forms.setdefault(len(words), []).append(" ".join(words))
    began = time.perf_counter()
    for size, texts in forms.items():
        for at in range(len(tokens) - size + 1):
            process.extract(" ".join(tokens[at : at + size]), texts, scorer=fuzz.ratio, score_cutoff=85, limit=3)
    return time.perf_counter() - began


_TAGGERS: list[Tagger] = []


def _ready() -> None:
    _TAGGERS.append(shipped_tagger(load_vocabulary()))


def _tag(text: str) -> int:
    return len(_TAGGERS[0].tag(parse_transcript(text.encode(), "narration.txt")).mentions)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--processes", type=int, default=2)
    options = parser.parse_args()
    cases = marked.load(options.folder)
    heard = [" ".join(line["heard"] for line in case["lines"]) for case in cases]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "hour.txt"
        path.write_text(pasted(heard, HOUR))
        began = time.perf_counter()
        subprocess.run(
            [sys.executable, "-m", "web.console", "tag", "--json", str(path)], check=True, capture_output=True
        )
        print(f"one hour of words from a cold start: {time.perf_counter() - began:.2f} s")
        most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
        print(f"most memory of it: {most:.0f} MB")
    texts = [pasted(heard[at:] + heard[:at], TEN_MINUTES) for at in range(len(heard))][:60]
    with ProcessPoolExecutor(options.processes, initializer=_ready) as pool:
        list(pool.map(_tag, texts[: 2 * options.processes]))
        began = time.perf_counter()
        list(pool.map(_tag, texts, chunksize=2))
        spent = time.perf_counter() - began
    print(f"ten-minute narrations a minute on {options.processes} processes: {60 * len(texts) / spent:.0f}")
    tagger = shipped_tagger(load_vocabulary())
    transcript = parse_transcript(texts[-1].encode(), "narration.txt")
    print("stages of one ten-minute narration:")
    stages(tagger, transcript)
    fresh = shipped_tagger(tagger.vocabulary)
    began = time.perf_counter()
    fresh.tag(transcript)
    ours = time.perf_counter() - began
    slow = straightforward(tagger, transcript)
    print(f"the straightforward way, forms alone: {slow:.1f} s, {slow / ours:.0f} times our whole")


if __name__ == "__main__":
    main()
