"""What a person does to the steps of a recording, and how they stand then. All times in milliseconds."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Literal

from pydantic import Field

from indexer.models.cases import SegmentView
from indexer.models.frozen import Frozen

Verb = Literal["keep", "refuse", "name", "split", "join", "edge", "begin", "rest"]


class Deed(Frozen):
    """One change of the steps of a recording; what a verb does not need stays None.

    keep: accept with both edges. refuse: it is no step. name: it is another step, and accepted. split: cut it in two at
    a moment. join: take in the step that follows. edge: move its start or end. begin: from a moment on another step
    goes on, until the next one that is marked. rest: from a moment on no step goes on.
    """

    verb: Verb
    segment: str | None = None
    at_ms: int | None = Field(None, ge=0)
    edge: Literal["start", "end"] | None = None
    step: str | None = None
    spread_ms: int = Field(0, ge=0, le=60_000)
    """How far off the moment may be: half the width of what holds the true one with a probability of 0.8."""
    seen: Mapping[str, int] = {}
    """Ids and versions of the segments that the person looked at; another version in the catalogue is a Conflict."""


class DeedLine(Frozen):
    """A deed as the history tells it."""

    verb: str
    by: str
    """Pseudonym."""
    at: datetime
    undone: bool


class Marking(Frozen):
    """The steps of a recording as they stand, and what can be taken back."""

    recording_id: str
    segments: tuple[SegmentView, ...]
    may_mark: bool
    """Whether this viewer may change them: the owner of the library and the operator."""
    undo: str | None
    """The verb that an undo of this viewer would take back."""
    redo: str | None
    lately: tuple[DeedLine, ...]
    """What everybody did last, newest first; empty for who may not mark."""
