"""Times of steps: what the catalogue keeps of an operation, and what was counted of it. All times in milliseconds."""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

from pydantic import Field

from indexer.models.cases import Kind
from indexer.models.frozen import Frozen


class TimesAsked(Frozen):
    """Which operations are to be counted, and how."""

    steps: tuple[str, ...] = ()
    """Only these steps are told; empty: all."""
    used: tuple[str, ...] = ()
    """Techniques, devices, agents or events, each of which has to be done in the operation."""
    findings: tuple[str, ...] = ()
    """Findings, each of which the eye has to have."""
    since: date | None = None
    until: date | None = None
    """The last day that counts."""
    operator: str | None = None
    """Pseudonym."""
    proposals: bool = False
    """Whether steps that nobody confirmed count too; then every figure has to say so."""
    told: tuple[str, ...] = ()
    """Concepts of whose being done the answer has to tell, though they choose nothing."""


class Stay(NamedTuple):
    """A stretch in one step, as the catalogue keeps it."""

    step: str
    start_ms: int
    end_ms: int
    confirmed: bool
    """Accepted, with both edges put or confirmed by a person."""


class TimedOperation(NamedTuple):
    """An operation that was recorded unbroken, or logged, with its stays in order of time."""

    case_id: str
    recording_id: str
    title: str
    operator: str | None
    day: date
    """Of the operation; where that is not known, the day on which it was added."""
    dated: bool
    """Whether the day is the operation's own."""
    kind: Kind
    length_ms: int
    stays: tuple[Stay, ...]
    findings: frozenset[str]
    done: frozenset[str]
    """Events, and of other things those that were asked for."""
    events: frozenset[str]
    unconfirmed: frozenset[str]
    """Which of findings and done are only proposed."""


class StepTime(NamedTuple):
    """What one step took in one operation: the sum of its visits."""

    step: str
    time_ms: int
    visits: int
    first_ms: int
    """Where the first visit begins."""


class OperationTimes(NamedTuple):
    """An operation counted. Steps under a broader one stand for themselves and in the broader one as well."""

    operation: TimedOperation
    steps: tuple[StepTime, ...]
    """Of those only whose every visit counts, in order of first visit."""
    no_step_ms: int
    """Under no step at all."""
    unconfirmed_ms: int
    """Under steps that do not count, because nobody confirmed them."""
    left_out: tuple[str, ...]
    """Steps that are not told here, because a visit is not confirmed."""

    @property
    def counted_ms(self) -> int:
        """Time under steps that count."""
        return self.operation.length_ms - self.no_step_ms - self.unconfirmed_ms


class Spread(Frozen):
    """How values lie: their number, median, quartiles and range."""

    n: int
    median: float
    lower: float
    """First quartile; quartiles are interpolated linearly between the order statistics."""
    upper: float
    low: float
    high: float


class StepFigures(Frozen):
    """A step over all operations that have it. Times in milliseconds, shares of the whole recording from 0 to 1."""

    step: str
    label: str
    place: int
    within: str | None
    """The broader step that its time is part of."""
    time: Spread
    share: Spread
    visits_median: float
    visits_high: int


class TimesReport(Frozen):
    """All figures that were asked for, with what has to be said of them."""

    operations: int
    films: int
    logs: int
    steps: tuple[StepFigures, ...]
    """In the usual order."""
    length: Spread | None
    no_step: Spread | None
    """Time under no step, its own row; of operations in which everything is confirmed, unless proposals count."""
    no_step_share: Spread | None
    proposals: bool
    notes: tuple[str, ...]
    """What has to be known to read the figures, as plain sentences."""
    cautions: tuple[str, ...]


class StepLogRow(NamedTuple):
    """A line of a step log that could not be used, and why."""

    line: int
    reason: str


class LoggedOperation(Frozen):
    """An operation as a log of step changes tells it."""

    name: str
    length_ms: int = Field(gt=0)
    stays: tuple[Stay, ...]
    day: date | None = None
