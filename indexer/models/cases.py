"""Cases as they are begun, kept, read and asked for. Ids are short random strings, with nothing of the patient."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field

from indexer.models.footage import Part, Survey
from indexer.models.frozen import Frozen
from indexer.models.tagged import (
    AssertionKind,
    FoundFinding,
    Measure,
    Mention,
    Segment,
    Standing,
    Tagging,
)
from indexer.models.timed import Cue, Transcript, Word

Eye = Literal["right", "left"]
ReleaseName = Literal["private", "teaching", "public"]
"""The values of `consent.Release`, which stands a floor above; `Release(name)` makes one of it."""


class Kind(StrEnum):
    """What a recording is: only a whole one and a log have the times of the operation."""

    WHOLE = "whole"
    """Unbroken and at real speed."""
    EDITED = "edited"
    EXCERPT = "excerpt"
    LOGGED = "logged"
    """No film at all: somebody wrote down when each step began."""


class JobState(StrEnum):
    """Where an intake stands."""

    RUNNING = "running"
    """Begun and neither published nor given up; the next start goes on with it."""
    FAILED = "failed"
    DONE = "done"


class ConsentEntry(Frozen):
    """What was said of a case's release, and by whom. The newest entry that holds counts; without one: private."""

    release: ReleaseName
    stated_on: date
    stated_by: str
    """Pseudonym of the person who recorded it."""
    evidence: str = ""
    """Where the signed paper lies; empty: to follow."""
    until: date | None = None
    """The last day on which it holds."""
    withdrawn_on: date | None = None
    purpose: str = ""
    """What it was given for."""
    stated_at: datetime | None = None
    """None for entries that were made before the moment was kept."""
    withdrawn_by: str | None = None


class CaseDraft(Frozen):
    """All that is needed to begin an intake and to go on with it after a stop. Times in milliseconds."""

    title: str = Field(max_length=300)
    sources: tuple[Path, ...]
    """The part files of one recording in their order, as absolute paths."""
    kind: Kind = Kind.WHOLE
    eye: Eye | None = None
    findings: tuple[str, ...] = ()
    """Ids of findings that a person stated: they are kept as accepted."""
    operator: str | None = None
    """Pseudonym; the person is made where nobody has it yet."""
    operated_on: date | None = None
    """Private: read by the owner and the operator alone."""
    release: ReleaseName = "private"
    consent_evidence: str = ""
    transcript: Path | None = None
    offset_ms: int = 0
    """What is added to the transcript's times to make them times of the recording."""
    copies: bool = False
    """Whether the originals are taken into the library."""
    case_id: str | None = None
    """An existing case that the recording is added to; its title, eye and consent stay as they are."""


class Job(Frozen):
    """One intake: it owns the ids that its case and recording will have once published."""

    id: str
    case_id: str
    recording_id: str
    draft: CaseDraft
    state: JobState
    stage: str
    """The last stage that was noted; empty at the beginning."""
    detail: Mapping[str, Any]
    """What that stage and those before it left for the next, as JSON."""
    reason: str = ""
    """Why it failed."""
    begun_at: datetime
    changed_at: datetime


class CaseContent(Frozen):
    """What an intake found out, published in one go."""

    parts: tuple[Part, ...]
    """Where each original lies now (inside the library where it was copied)."""
    film: str | None
    """Name of the playable copy within the recording's media folder; None: the single original plays as it is."""
    film_reasons: tuple[str, ...] = ()
    """Why a copy had to be made."""
    length_ms: int
    frame_rate: float
    width: int
    height: int
    has_sound: bool
    stills_ms: tuple[int, ...] = ()
    """Stills kept as `stills/<ms>.jpg` in the media folder."""
    transcript: Transcript | None = None
    transcript_name: str | None = None
    transcript_bytes: bytes | None = None
    """The file as it came in."""
    tagging: Tagging | None = None
    survey: Survey | None = None
    """What one look at every frame found; None where that could not be done."""
    remarks: tuple[str, ...] = ()
    """What a person should know: what was left out, what a file claimed."""


class Still(Frozen):
    """A picture from a recording."""

    at_ms: int
    path: Path


class PartFile(Frozen):
    """An original and whether its drive is there now."""

    path: Path
    content_hash: str
    size_bytes: int
    start_ms: int
    duration_ms: int
    there: bool


class SegmentView(Segment):
    """A segment as it is kept. `version` goes up with each decision and is handed back with the next one."""

    id: str
    version: int
    used: tuple[str, ...] = ()
    """Concepts `done` within it (techniques, devices, agents, events, other steps), in order of their first naming."""
    stills: tuple[Still, ...] = ()


class MentionView(Mention):
    """A mention as it is kept."""

    id: str
    version: int
    segment_id: str | None = None


class MeasureView(Measure):
    """A measure as it is kept."""

    id: str
    version: int
    segment_id: str | None = None


class FindingView(FoundFinding):
    """A finding of the case as it is kept."""

    id: str
    version: int


class CaseSummary(Frozen):
    """A case as it stands in a list."""

    id: str
    title: str
    eye: Eye | None
    operator: str | None
    release: ReleaseName
    """What holds today."""
    findings: tuple[str, ...]
    """Not refused; stated ones first."""
    kinds: tuple[Kind, ...]
    """One for each recording."""
    length_ms: int
    segments: int
    decided: int
    """How many of the segments a person accepted."""
    added_at: datetime
    still: Still | None = None


class RecordingDetail(Frozen):
    """One recording with all that is known of it. Refused marks are left out."""

    id: str
    case_id: str
    kind: Kind
    parts: tuple[PartFile, ...]
    film: Path
    """The file that plays: the playable copy, or the single original."""
    film_there: bool
    film_is_copy: bool
    film_reasons: tuple[str, ...]
    length_ms: int
    frame_rate: float
    width: int
    height: int
    has_sound: bool
    language: str
    """ISO 639-1, or `und`."""
    cues: tuple[Cue, ...]
    words: tuple[Word, ...]
    offset_ms: int
    """Already added to all times here."""
    segments: tuple[SegmentView, ...]
    mentions: tuple[MentionView, ...]
    measures: tuple[MeasureView, ...]
    stills: tuple[Still, ...]
    remarks: tuple[str, ...]


class CaseDetail(CaseSummary):
    """A case with its recordings."""

    finding_views: tuple[FindingView, ...]
    operated_on: date | None
    """None for a viewer who may not know it."""
    consents: tuple[ConsentEntry, ...]
    """Newest first; empty for a viewer who neither owns the library nor operated."""
    may_state_consent: bool = False
    """Whether this viewer may state and withdraw consents of it, and tie it to others."""
    tied_cases: tuple[tuple[str, str], ...] = ()
    """Id and title of other cases of the same patient; empty for a viewer who may not state consents."""
    recordings: tuple[RecordingDetail, ...]


MarkKind = Literal["segment", "mention", "measure", "finding"]


class Decision(Frozen):
    """What a person decides about a mark. Fields left None stay as they are."""

    mark: MarkKind
    id: str
    version: int
    """The version that the person looked at; another one in the catalogue is a Conflict."""
    standing: Standing = Standing.ACCEPTED
    concept: str | None = None
    """Another step, concept, measure or finding."""
    assertion: AssertionKind | None = None
    start_ms: int | None = None
    end_ms: int | None = None


class DecisionEvent(Frozen):
    """Something that a person decided: undo and "who changed this" are read from these."""

    id: int
    at: datetime
    by: str
    """Pseudonym."""
    case_id: str
    mark: str
    mark_id: str
    before: Mapping[str, Any]
    """Empty for a mark that was new."""
    after: Mapping[str, Any]


class MeasureRange(Frozen):
    """A measure asked for between two values, both included; None is open."""

    measure: str
    low: float | None = None
    high: float | None = None


class Query(Frozen):
    """What is asked: words, and filters that every passage has to meet."""

    text: str = Field("", max_length=1000)
    filters: Mapping[str, tuple[str, ...]] = {}
    """Facet to concept ids: each facet has to match in one of its ids at least; narrower concepts count."""
    assertion: AssertionKind | None = None
    """How the things asked for have to be meant; None: any way, `done` first."""
    measures: tuple[MeasureRange, ...] = ()
    case_id: str | None = None
    counts: bool = True
    """Whether facets are counted; who does not show them saves the time."""
    limit: Annotated[int, Field(ge=1, le=1000)] = 20
    offset: Annotated[int, Field(ge=0)] = 0


class ConceptRead(Frozen):
    """A concept that was read from the query, with the words it was read from."""

    text: str
    concept: str
    facet: str
    label: str
    how: str
    """label, spoken, short, plural, typing, sound, or asked: in words that ask for what is told in others."""
    found: int
    """How many passages match it."""


class Passage(Frozen):
    """A stretch that answers a query, and why. Times in milliseconds of the recording."""

    case_id: str
    recording_id: str
    segment_id: str
    title: str
    """Of the case."""
    eye: Eye | None
    step: str
    step_label: str
    start_ms: int
    """Where playing begins."""
    segment_start_ms: int
    end_ms: int
    """Of the segment."""
    excerpt: tuple[tuple[str, bool], ...]
    """Pieces of the words around, and whether each is what was asked for; joined they are the text."""
    why: tuple[str, ...]
    """Plain sentences, without a full stop."""
    score: float
    whole: bool
    """Whether all the concepts asked for are met, and in a query without any, all the words."""
    missing: tuple[str, ...] = ()
    """What of the query it does not meet: labels and words."""
    standing: Standing = Standing.PROPOSED
    still: Still | None = None


class FacetCount(Frozen):
    """How many of all passages that answer would be left by choosing this."""

    facet: str
    """A vocabulary facet, or `assertion`."""
    id: str
    label: str
    count: int


class Nearest(Frozen):
    """A concept near to one that had nothing, which has something."""

    concept: str
    facet: str
    label: str
    count: int


class Answer(Frozen):
    """What a query found."""

    passages: tuple[Passage, ...]
    """The page asked for, best first."""
    total: int
    whole: int
    """How many of all answer the whole query."""
    understood: tuple[ConceptRead, ...]
    words: tuple[str, ...]
    """The rest of the query, as plain words."""
    unmatched: tuple[str, ...]
    """Words and labels of the query that nothing here matches."""
    facets: tuple[FacetCount, ...]
    """Counted over all passages that answer; most frequent first within a facet."""
    nearest: tuple[Nearest, ...]
    """Filled where nothing was found or something is unmatched."""


class PersonView(Frozen):
    """Somebody who works here."""

    id: int
    pseudonym: str
    roles: tuple[str, ...]
    may_sign_in: bool = False
    """Whether there is a password."""


class LibraryFault(Frozen):
    """Something that a look through the library found wrong."""

    what: str
    remedy: str
    passing: bool = False
    """Whether nothing is broken: a drive is away, and the library goes on without it."""
