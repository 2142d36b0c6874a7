"""What the API takes and gives for marking. All times are whole milliseconds of the recording."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from indexer.models.frozen import Frozen


class DeedIn(Frozen):
    """Something that a person does to the steps of a recording."""

    verb: Literal["keep", "refuse", "name", "split", "join", "edge", "begin", "rest"] = Field(
        description="keep: accept a step with both its edges. refuse: it is no step. name: it is another one, and kept. "
        "split: cut it in two. join: take in the step that follows. edge: move its start or end. begin: from a moment on "
        "another step goes on. rest: from a moment on none does."
    )
    segment: str | None = Field(None, description="Id of the step; not for begin and rest.")
    at_ms: int | None = Field(
        None, ge=0, description="For split, edge, begin and rest; taken to the picture then shown."
    )
    edge: Literal["start", "end"] | None = None
    step: str | None = Field(None, description="Id in the vocabulary, for name and begin.")
    spread_ms: int = Field(0, ge=0, le=60_000, description="How far off the moment may be.")
    seen: dict[str, int] = Field({}, description="Ids and versions of all steps as they were looked at.")


class EdgeOut(Frozen):
    """Where a step starts or ends."""

    at_ms: int
    source: str = Field(description="What put it there: word, cut, order, person or edge (of the recording).")
    spread_ms: int
    at: float = Field(description="The same in seconds.")
    seek: float = Field(description="Seconds that a browser has to be sent to so that it paints just this picture.")
    frame: float | None = Field(description="Seconds at which that picture is first shown, where that is known.")


class MarkOut(Frozen):
    """One step as it stands."""

    id: str
    version: int
    step: str
    label: str
    number: int | None = Field(description="Place in the usual order.")
    start: EdgeOut
    end: EdgeOut
    confidence: float
    sure: str = Field(description="The same in words.")
    standing: Literal["proposed", "accepted", "refused"]
    settled: bool = Field(description="Accepted, and a person looked at both edges.")
    why: str = Field(description="One line: what speaks for this step.")
    rather: tuple[str, ...] = Field(description="Ids of other steps, the likeliest between its neighbours first.")


class DoneOut(Frozen):
    """Something that was done lately."""

    verb: str
    by: str
    at: str = Field(description="ISO 8601, UTC.")
    undone: bool


class MarkingOut(Frozen):
    """The steps of a recording as they stand."""

    marks: tuple[MarkOut, ...]
    may_mark: bool
    undo: str | None = Field(description="The verb that an undo would take back.")
    redo: str | None
    lately: tuple[DoneOut, ...]


class StepName(Frozen):
    """A step or part of the vocabulary."""

    id: str
    label: str
    number: int


class WordOut(Frozen):
    """A word of the narration."""

    at_ms: int
    text: str


class GroundOut(Frozen):
    """What marking needs to know and what does not change by it."""

    length_ms: int
    frame_rate: float
    steps: tuple[StepName, ...] = Field(description="All that can be marked, in the usual order.")
    first: tuple[str, ...] = Field(description="Ids of the steps that operations begin with, likeliest first.")
    then: dict[str, tuple[str, ...]] = Field(description="For each step the likeliest to come next.")
    cuts_ms: tuple[int, ...] = Field(description="Cuts of the film; empty where it was not surveyed or has none.")
    words: tuple[WordOut, ...]
