"""What the API answers with. All times are whole milliseconds of the recording; addresses are paths of this site."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from indexer.models.frozen import Frozen


class Piece(Frozen):
    """A piece of an excerpt."""

    text: str
    matched: bool = Field(description="Whether this piece is what was asked for.")


class Understood(Frozen):
    """A concept that was read from the question."""

    text: str = Field(description="The words that it was read from.")
    concept: str = Field(description="Id in the vocabulary.")
    facet: str
    label: str
    how: str = Field(description="label, spoken, short, plural, typing or sound.")
    found: int = Field(description="How many passages match it.")


class FoundPassage(Frozen):
    """A stretch that answers the question, and why."""

    case_id: str
    recording_id: str
    segment_id: str
    title: str = Field(description="Title of the case.")
    step: str = Field(description="Id of the step.")
    step_label: str
    start_ms: int = Field(description="Where playing begins.")
    segment_start_ms: int = Field(description="Where the step begins.")
    end_ms: int = Field(description="Where the step ends.")
    excerpt: tuple[Piece, ...] = Field(description="The words around; joined, the pieces are the text.")
    why: tuple[str, ...] = Field(description="Plain sentences that say why this answers.")
    missing: tuple[str, ...] = Field(description="What of the question it does not meet.")
    score: float
    standing: Literal["proposed", "accepted", "refused"]
    page: str = Field(description="Where a person watches it.")
    still: str | None = Field(description="Address of a picture of it.")


class Count(Frozen):
    """How many of the passages would be left by choosing this."""

    facet: str
    id: str
    label: str
    count: int


class FindAnswer(Frozen):
    """The answer to a question."""

    total: int
    understood: tuple[Understood, ...]
    words: tuple[str, ...] = Field(description="The rest of the question, as plain words.")
    unmatched: tuple[str, ...] = Field(description="Words and labels that nothing here matches.")
    passages: tuple[FoundPassage, ...]
    counts: tuple[Count, ...] = Field(description="Filters that would narrow the answer.")
    nearest: tuple[Count, ...] = Field(description="Concepts near to what had nothing.")


class StepOut(Frozen):
    """One step of a recording."""

    id: str
    step: str
    label: str
    number: int | None = Field(description="Place in the usual order of the vocabulary.")
    start_ms: int
    end_ms: int
    start_from: str = Field(description="What put the start there: word, cut, order, person or edge.")
    start_spread_ms: int = Field(
        description="Half width of the stretch in which the true start lies with a probability of 0.8."
    )
    confidence: float
    standing: Literal["proposed", "accepted", "refused"]
    used: tuple[str, ...] = Field(description="Ids of the concepts done or used within it.")


class MentionOut(Frozen):
    """A concept named at a moment."""

    concept: str
    assertion: Literal["done", "planned", "absent", "considered", "earlier"]
    start_ms: int
    end_ms: int
    heard: str
    confidence: float


class MeasureOut(Frozen):
    """A number with a meaning; `low` equals `high` for a single number."""

    measure: str
    low: float
    high: float
    unit: str = Field(description="UCUM code.")
    start_ms: int
    end_ms: int


class RecordingOut(Frozen):
    """One recording of a case."""

    id: str
    kind: Literal["whole", "edited", "excerpt", "logged"]
    film: str = Field(description="Address of the film; ranges are answered.")
    film_there: bool = Field(description="Whether the file that plays is there now.")
    captions: str = Field(description="Address of the transcript as WebVTT.")
    length_ms: int
    frame_rate: float
    steps: tuple[StepOut, ...]
    mentions: tuple[MentionOut, ...]
    measures: tuple[MeasureOut, ...]


class CaseOut(Frozen):
    """A case: one operation on one eye."""

    id: str
    title: str
    eye: Literal["right", "left"] | None
    operator: str | None = Field(description="A pseudonym.")
    release: Literal["private", "teaching", "public"]
    findings: tuple[str, ...] = Field(description="Ids of the findings of this eye.")
    recordings: tuple[RecordingOut, ...]


class Fault(Frozen):
    """What every answer that is no success looks like."""

    error: str = Field(description="One sentence for a person.")
    status: int
