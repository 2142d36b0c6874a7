"""What the words of a narration were found to say: mentions, measures, segments, findings, each with its evidence."""

from __future__ import annotations

from enum import StrEnum
from typing import Literal

from indexer.models.frozen import Frozen


class AssertionKind(StrEnum):
    """How a named concept stands to what is going on."""

    DONE = "done"
    PLANNED = "planned"
    ABSENT = "absent"
    CONSIDERED = "considered"
    EARLIER = "earlier"


class Standing(StrEnum):
    """Whether a mark is the machine's proposal or a person's decision."""

    PROPOSED = "proposed"
    ACCEPTED = "accepted"
    REFUSED = "refused"


class Evidence(Frozen):
    """One reason for a proposal: the words, the neighbours or the picture that led to it."""

    kind: Literal["word", "sound", "order", "length", "silence", "cut", "person"]
    text: str
    """What a person reads: the words themselves, or a short sentence."""
    start_ms: int | None = None
    weight: float = 0.0
    """How much it counted, in natural-log odds; above zero speaks for the proposal."""


class Mention(Frozen):
    """A concept named at a moment, with how it is meant."""

    concept: str
    assertion: AssertionKind
    start_ms: int
    end_ms: int
    first_word: int
    """Index of the first word, in the transcript's words."""
    last_word: int
    """Index behind the last word."""
    heard: str
    """The words as the transcript has them."""
    confidence: float
    """Probability that the concept was named here at all."""
    assertion_confidence: float = 1.0
    evidence: tuple[Evidence, ...] = ()
    standing: Standing = Standing.PROPOSED


class Measure(Frozen):
    """A number with a meaning. `low` equals `high` for a single number; units are UCUM."""

    measure: str
    low: float
    high: float
    unit: str
    start_ms: int
    end_ms: int
    first_word: int
    last_word: int
    heard: str
    confidence: float
    standing: Standing = Standing.PROPOSED


class Boundary(Frozen):
    """Where one edge of a segment lies, what put it there, and how far off it may be."""

    at_ms: int
    source: Literal["word", "cut", "order", "person", "edge"]
    """`edge` is the beginning or the end of the transcript."""
    spread_ms: int
    """Half width of the stretch in which the true edge lies with a probability of 0.8."""


class Segment(Frozen):
    """A stretch of a recording in which one step goes on. Segments of one recording do not overlap."""

    step: str
    start: Boundary
    end: Boundary
    confidence: float
    standing: Standing = Standing.PROPOSED
    evidence: tuple[Evidence, ...] = ()

    @property
    def start_ms(self) -> int:
        """Where the segment begins."""
        return self.start.at_ms

    @property
    def end_ms(self) -> int:
        """Where the segment ends."""
        return self.end.at_ms


class FoundFinding(Frozen):
    """A finding that this eye seems to have."""

    concept: str
    confidence: float
    evidence: tuple[Evidence, ...] = ()
    standing: Standing = Standing.PROPOSED


class Tagging(Frozen):
    """All that a transcript was found to say."""

    language: str
    """ISO 639-1 code, or `und` where there are too few words to tell."""
    segments: tuple[Segment, ...] = ()
    mentions: tuple[Mention, ...] = ()
    measures: tuple[Measure, ...] = ()
    findings: tuple[FoundFinding, ...] = ()
    remarks: tuple[str, ...] = ()


class GivenSegment(Frozen):
    """A person's word on a stretch: it is this step (`accepted`), or it is not (`refused`)."""

    step: str
    start_ms: int
    end_ms: int
    standing: Literal[Standing.ACCEPTED, Standing.REFUSED]


class GivenMention(Frozen):
    """A person's word on a mention; `concept` None says that the words name nothing."""

    concept: str | None
    assertion: AssertionKind | None
    start_ms: int
    end_ms: int
    heard: str
    refused: bool = False
    """These words do not name this concept; they may name another."""


class HeardForm(Frozen):
    """Words that a person said once to stand for a concept when this speaker is written down by a recogniser."""

    heard: str
    concept: str


class Visit(Frozen):
    """One stay in a step, as an accepted or marked operation has it."""

    step: str
    length_ms: int


class Given(Frozen):
    """What people decided about a recording; the tagger takes it as true."""

    segments: tuple[GivenSegment, ...] = ()
    mentions: tuple[GivenMention, ...] = ()
    heard: tuple[HeardForm, ...] = ()
    """Misheard forms that people assigned, in this recording or in others of the same speaker."""
    operations: tuple[tuple[Visit, ...], ...] = ()
    """The order and lengths of steps in other accepted recordings of the same operator."""
    cuts_ms: tuple[int, ...] = ()
    """Cuts of the film, as hints for a change of step."""
