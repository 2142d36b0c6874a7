"""How fast the tagger is: python -m tests.learning.speed FOLDER

FOLDER holds marked narrations. Prints, in one run on one machine: a one-hour transcript from a cold start of the
command; ten-minute narrations a minute in one run of the command; the share of each stage; how long the straightforward way
takes for the same words (every form of every concept held against every run of as many words with rapidfuzz), as a
ratio; and the most memory that the command took.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
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
    marks = [time.process_time()]
    tokens = tokens_of(transcript.words)
    others = tagger.ear.alternatives(tokens.texts, tokens.starts_ms, tokens.ends_ms)
    marks.append(time.process_time())
    hits = tagger.lexicon.hits(tokens.texts, others)
    marks.append(time.process_time())
    reading = tagger.read(tokens, hits)
    marks.append(time.process_time())
    mentions = tagger.mentions(tokens, transcript.words, hits, reading)
    marks.append(time.process_time())
    segments = tagger.segments(tokens, transcript.words, hits, mentions, reading, Given())
    marks.append(time.process_time())
    measures_of(tokens, transcript.words, tagger.vocabulary, segments, mentions)
    marks.append(time.process_time())
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
    began = time.process_time()
    for size, texts in forms.items():
        for at in range(len(tokens) - size + 1):
            process.extract(" ".join(tokens[at : at + size]), texts, scorer=fuzz.ratio, score_cutoff=85, limit=3)
    return time.process_time() - began


def command(paths: list[Path]) -> tuple[float, float]:
    """Seconds that the command takes for some transcripts from a cold start: by the clock, and of processors."""
    before, began = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    line = [sys.executable, "-m", "web.console", "tag", "--json", *map(str, paths)]
    subprocess.run(line, check=True, capture_output=True)
    after, ended = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    return ended - began, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    options = parser.parse_args()
    cases = marked.load(options.folder)
    heard = [" ".join(line["heard"] for line in case["lines"]) for case in cases]
    texts = [pasted(heard[at:] + heard[:at], TEN_MINUTES) for at in range(len(heard))][:60]
    with tempfile.TemporaryDirectory() as folder:
        hour, *paths = [Path(folder) / f"{number}.txt" for number in range(len(texts) + 1)]
        for path, text in zip((hour, *paths), (pasted(heard, HOUR), *texts), strict=True):
            path.write_text(text)
        spent, busy = command([hour])
        print(f"one hour of words from a cold start: {spent:.2f} s, {busy:.2f} s of processor")
        print(f"most memory of it: {resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024:.0f} MB")
        spent, busy = command(paths)
        print(
            f"{len(paths)} ten-minute narrations in one run of two processes: {60 * len(paths) / spent:.0f} a minute,"
        )
        print(f"{busy / len(paths):.2f} s of processor each, the start shared out")
    tagger = shipped_tagger(load_vocabulary())
    transcript = parse_transcript(texts[-1].encode(), "narration.txt")
    tagger.tag(parse_transcript(texts[len(texts) // 2].encode(), "narration.txt"))
    print("stages of one ten-minute narration, another one read before:")
    stages(tagger, transcript)
    fresh = shipped_tagger(tagger.vocabulary)
    fresh.tag(parse_transcript(texts[len(texts) // 2].encode(), "narration.txt"))
    began = time.process_time()
    fresh.tag(transcript)
    ours = time.process_time() - began
    slow = straightforward(tagger, transcript)
    print(f"the straightforward way, forms alone: {slow:.1f} s, {slow / ours:.0f} times our whole")


if __name__ == "__main__":
    if "OPENBLAS_NUM_THREADS" not in os.environ:
        # As the command itself does: threads that wait for one another would count as work.
        os.environ["OPENBLAS_NUM_THREADS"] = "1"
        os.execv(sys.executable, [sys.executable, "-m", "tests.learning.speed", *sys.argv[1:]])
    main()
