"""Invented cases for the tests of the site: a small vocabulary, narrations with their marks in the text, films.

Nothing here comes from a real person, hospital, maker or product.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

from indexer.catalogue.library import Library
from indexer.models import (
    AssertionKind,
    Boundary,
    CaseContent,
    CaseDraft,
    Cue,
    Evidence,
    FoundFinding,
    Measure,
    Mention,
    Part,
    Probe,
    Segment,
    Standing,
    Tagging,
    Transcript,
    Word,
)
from indexer.vocabulary.concepts import Concept
from indexer.vocabulary.vocabulary import Vocabulary

RATE = Fraction(25)
FRAME_MS = 40

TERMS: tuple[tuple[str, str, str, dict[str, Any]], ...] = (
    ("part", "case-introduction", "Case introduction", {}),
    ("step", "side-port", "Side-port incision", {"spoken": ("side port",)}),
    ("step", "main-incision", "Main incision", {"spoken": ("main incision",)}),
    ("step", "capsulorhexis", "Capsulorhexis", {"spoken": ("rhexis",)}),
    ("step", "capsule-support", "Capsule support", {}),
    ("step", "hydrodissection", "Hydrodissection", {"verbs": ("hydrodissect",)}),
    ("step", "phacoemulsification", "Phacoemulsification", {"spoken": ("phaco",)}),
    ("step", "chopping", "Chopping", {"broader": "phacoemulsification", "verbs": ("chop",)}),
    ("step", "cortex-aspiration", "Cortical aspiration", {}),
    ("step", "lens-implantation", "Lens implantation", {}),
    ("step", "wound-closure", "Wound closure", {}),
    ("technique", "vertical-chop", "Vertical chop", {}),
    ("device", "capsular-hooks", "Capsular hooks", {"spoken": ("hooks",)}),
    ("device", "cystotome", "Cystotome", {"spoken": ("cystotome",)}),
    ("device", "capsular-tension-ring", "Capsular tension ring", {"spoken": ("tension ring",)}),
    ("agent", "trypan-blue", "Trypan blue", {"spoken": ("blue",)}),
    ("finding", "dense-nucleus", "Dense nucleus", {"spoken": ("dense nucleus", "hard nucleus")}),
    ("finding", "weak-zonules", "Weak zonules", {"spoken": ("loose zonules",)}),
    ("event", "capsule-tear", "Capsule tear", {"spoken": ("tear",)}),
    (
        "measure",
        "capsulorhexis-diameter",
        "Capsulorhexis diameter",
        {"unit": "mm", "range": (3.0, 8.0), "usual": (5.0, 5.5), "said_with": ("rhexis",)},
    ),
)


def small_vocabulary() -> Vocabulary:
    """Twenty terms: enough for every facet."""
    return Vocabulary(
        Concept(id=key, label=label, facet=facet, field="cataract", definition=f"{label}, for these tests.", **more)  # type: ignore[arg-type]
        for facet, key, label, more in TERMS
    )


Scene = tuple[float, float, str | None, str]
"""Start and end in seconds, step, words: `{concept:assertion:words}` is a mention, `{measure=5..6:words}` a measure."""

HOOKS: tuple[Scene, ...] = (
    (0, 2, "case-introduction", "This eye has a {dense-nucleus:done:dense nucleus} and loose fibres all round."),
    (2, 3, "side-port", "Two {side-port:done:side ports} first."),
    (
        3,
        5.48,
        "capsulorhexis",
        "The {cystotome:done:cystotome} opens it, and I aim at {capsulorhexis-diameter=6.5..6.5:six and a half}.",
    ),
    (
        5.48,
        8,
        "capsule-support",
        "Now {capsular-hooks:done:four hooks}, a {capsular-tension-ring:considered:tension ring} would not hold here.",
    ),
    (8, 9.2, None, "One moment for the focus."),
    (
        9.2,
        12,
        "chopping",
        "I {chopping:done:chop} in {vertical-chop:done:vertical} halves, no {capsule-tear:absent:tear}.",
    ),
)
PLAIN: tuple[Scene, ...] = (
    (0, 3, "main-incision", "A quiet {main-incision:done:main incision} in a soft eye."),
    (
        3,
        7,
        "capsulorhexis",
        "The {capsulorhexis:done:rhexis} stays at {capsulorhexis-diameter=5..5.5:five to five and a half}.",
    ),
    (7, 12, "wound-closure", "Water into the edges, {capsular-hooks:absent:no hooks} needed today."),
)

MARK = re.compile(r"\{([a-z-]+)(?::([a-z]+)|=([\d.]+)\.\.([\d.]+)):([^}]+\}[.,;]*)|(\S+)")


def told(scenes: Sequence[Scene], vocabulary: Vocabulary, accepted: Iterable[str] = ()) -> tuple[Transcript, Tagging]:
    """A transcript and its tagging, the words of each scene spread evenly over it."""
    words: list[Word] = []
    mentions: list[Mention] = []
    measures: list[Measure] = []
    for cue, (start, end, _, text) in enumerate(scenes):
        pieces = list(MARK.finditer(text))
        total = sum(len(_words_of(piece)) for piece in pieces)
        each_ms = (end - start) * 1000 / (total + 1)
        at = 0
        for piece in pieces:
            first = len(words)
            for word in _words_of(piece):
                begin = round(start * 1000 + at * each_ms)
                words.append(Word(text=word, start_ms=begin, end_ms=round(begin + each_ms), cue=cue))
                at += 1
            place = {
                "start_ms": words[first].start_ms,
                "end_ms": words[-1].end_ms,
                "first_word": first,
                "last_word": len(words),
                "heard": " ".join(_words_of(piece)),
                "confidence": 0.9,
            }
            if piece[2]:
                mentions.append(Mention(concept=piece[1], assertion=AssertionKind(piece[2]), **place))
            elif piece[3]:
                unit = vocabulary[piece[1]].unit or "1"
                measures.append(
                    Measure(measure=piece[1], low=float(piece[3]), high=float(piece[4]), unit=unit, **place)
                )
    segments = tuple(_segment(scene, scene[2] in set(accepted)) for scene in scenes if scene[2])
    cues = tuple(
        Cue(
            start_ms=round(start * 1000),
            end_ms=round(end * 1000),
            text=" ".join(word.text for word in words if word.cue == number),
        )
        for number, (start, end, _, _) in enumerate(scenes)
    )
    findings = tuple(
        FoundFinding(concept=concept, confidence=0.8)
        for concept in dict.fromkeys(mention.concept for mention in mentions)
        if vocabulary[concept].facet == "finding"
    )
    tagging = Tagging(
        language="en", segments=segments, mentions=tuple(mentions), measures=tuple(measures), findings=findings
    )
    return Transcript(format="webvtt", cues=cues, words=tuple(words)), tagging


def _words_of(piece: re.Match[str]) -> list[str]:
    return str(piece[5] or piece[6]).replace("}", "").split()


def _segment(scene: Scene, accepted: bool) -> Segment:
    start, end, step, _ = scene
    why = Evidence(kind="order", text="usually comes at this place", weight=1.2)
    return Segment(
        step=step or "",
        start=Boundary(at_ms=round(start * 1000), source="word", spread_ms=800),
        end=Boundary(at_ms=round(end * 1000), source="order", spread_ms=1500),
        confidence=0.72,
        standing=Standing.ACCEPTED if accepted else Standing.PROPOSED,
        evidence=(why,),
    )


def put_case(
    library: Library,
    film: Path,
    title: str,
    scenes: Sequence[Scene],
    *,
    release: str = "private",
    findings: tuple[str, ...] = (),
    accepted: Iterable[str] = (),
    length_ms: int = 12_000,
    kind: str = "whole",
    stills_ms: Sequence[int] = (),
) -> tuple[str, str]:
    """Publish an invented case whose recording is `film`, which plays as it is; returns (case id, recording id)."""
    draft = CaseDraft(
        title=title, sources=(film,), eye="right", findings=findings, release=release, kind=kind, operator="Heron"
    )  # type: ignore[arg-type]
    job = library.begin_case(draft)
    transcript, tagging = told(scenes, library.vocabulary, accepted)
    content = CaseContent(
        parts=(Part(path=film, probe=probe_of(film, length_ms), start_ms=0),),
        film=None,
        length_ms=length_ms,
        frame_rate=float(RATE),
        width=320,
        height=180,
        has_sound=False,
        stills_ms=tuple(stills_ms),
        transcript=transcript if scenes else None,
        tagging=tagging if scenes else None,
    )
    library.publish(job.id, content)
    return job.case_id, job.recording_id


def probe_of(film: Path, length_ms: int) -> Probe:
    """What a look into such a film would say."""
    return Probe(
        size_bytes=film.stat().st_size if film.exists() else 0,
        content_hash=f"{abs(hash(str(film))):064x}",
        container="mp4",
        codec="h264",
        pixel_format="yuv420p",
        width=320,
        height=180,
        rotation=0,
        duration_ms=length_ms,
        claimed_ms=length_ms,
        frames=length_ms // FRAME_MS,
        frame_rate=float(RATE),
        constant_rate=True,
        key_frame_gap_ms=500,
        interlaced=False,
        audio_codec=None,
    )
