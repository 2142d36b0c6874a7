"""A recording as a document: rows of time, each with its step, its words and what was used and seen.

Pure functions from a RecordingDetail to frozen values; the templates only write them down.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from indexer.models.cases import MeasureView, MentionView, RecordingDetail, SegmentView, Still
from indexer.models.frozen import Frozen
from indexer.models.tagged import AssertionKind, Evidence
from indexer.models.timed import Word
from web.terms import Terms, written_unit

PAUSE_MS = 4_000
"""A silence from here on begins a new paragraph."""
STAMP_EVERY_MS = 12_000
"""How far apart the times in the margin stand at least, in time"""
STAMP_EVERY_LETTERS = 85
"""and in letters, so that no line has two."""
GAP_MS = 2_000
"""Time without a step that is shorter than this gets no row of its own, unless something is said in it."""


class Named(Frozen):
    """A concept that some words name."""

    concept: str
    label: str
    facet: str
    assertion: AssertionKind


class Run(Frozen):
    """Words of a paragraph that belong together: named by one mention, or by none."""

    words: tuple[Word, ...]
    named: Named | None = None
    stamp_ms: int | None = None
    """A time to write into the margin where this run begins."""


class Paragraph(Frozen):
    """Words without a longer silence between them."""

    id: str
    start_ms: int
    silence_ms: int
    """How long nothing was said before it, within its row."""
    runs: tuple[Run, ...]


class Thing(Frozen):
    """What was used or seen, or only spoken of, within a row."""

    concept: str
    label: str
    facet: str
    assertion: AssertionKind
    at_ms: int
    amount: str = ""


class Row(Frozen):
    """A stretch of the recording: one segment, or time without a step."""

    id: str
    step: str
    """Empty where there is none."""
    label: str
    number: int | None
    """Place in the usual order."""
    start_ms: int
    end_ms: int
    standing: str
    """accepted, proposed, or none."""
    sure: str
    paragraphs: tuple[Paragraph, ...]
    things: tuple[Thing, ...]
    evidence: tuple[Evidence, ...]
    still: Still | None

    @property
    def length_ms(self) -> int:
        """How long the row goes on."""
        return self.end_ms - self.start_ms

    @property
    def silence_after_ms(self) -> int:
        """How long nothing was said at its end."""
        last = self.paragraphs[-1].runs[-1].words[-1].end_ms if self.paragraphs else self.start_ms
        return max(0, self.end_ms - last)


def sureness(confidence: float) -> str:
    """A probability in plain words."""
    return "quite sure" if confidence >= 0.85 else "likely" if confidence >= 0.6 else "unsure"


def rows_of(recording: RecordingDetail, terms: Terms) -> tuple[Row, ...]:
    """All rows of a recording, in order, from its beginning to its end; the words of each stand in one of them."""
    named = _named_words(recording.mentions, terms)
    return tuple(
        _row(f"r{number}", recording, terms, named, segment, start_ms, end_ms)
        for number, (segment, start_ms, end_ms) in enumerate(_stretches(recording), start=1)
    )


def things_of(mentions: Iterable[MentionView], measures: Iterable[MeasureView], terms: Terms) -> tuple[Thing, ...]:
    """What some mentions and measures name, each once for every way it is meant, in order of first naming."""
    found: dict[tuple[str, str, str], Thing] = {}
    for mention in mentions:
        concept, facet = mention.concept, terms.facet(mention.concept)
        if facet not in ("step", "part"):
            thing = Thing(
                concept=concept,
                label=terms.label(concept),
                facet=facet,
                assertion=mention.assertion,
                at_ms=mention.start_ms,
            )
            found.setdefault((concept, mention.assertion, ""), thing)
    for measure in measures:
        concept, amount = measure.measure, amount_of(measure)
        thing = Thing(
            concept=concept,
            label=terms.label(concept),
            facet="measure",
            assertion=AssertionKind.DONE,
            at_ms=measure.start_ms,
            amount=amount,
        )
        found.setdefault((concept, "", amount), thing)
    return tuple(sorted(found.values(), key=lambda thing: thing.at_ms))


def amount_of(measure: MeasureView) -> str:
    """The number with its unit: `5 to 5.5 mm`."""
    low, high = f"{measure.low:g}", f"{measure.high:g}"
    unit = written_unit(measure.unit)
    number = low if low == high else f"{low} to {high}"
    return f"{number}{unit}" if unit in ("%", "°") else f"{number} {unit}".strip()


def pixels_a_second(rows: Sequence[Row]) -> float:
    """How tall a second has to be for most of the words to fit beside their band, between 3 and 9 pixels."""
    need = sorted((_text_height(row) / (row.length_ms / 1000), row.length_ms) for row in rows if row.length_ms > 0)
    half, seen = sum(length for _, length in need) * 0.75, 0
    for scale, length in need:
        seen += length
        if seen >= half:
            return round(min(9.0, max(3.0, scale)), 1)
    return 5.0


def _text_height(row: Row) -> float:
    """About how many pixels the words of a row take, in lines of 62 letters and 25 pixels."""
    letters = sum(len(word.text) + 1 for part in row.paragraphs for run in part.runs for word in run.words)
    return 25 * (letters / 62 + 0.5 * len(row.paragraphs)) + 24 if letters else 0.0


def _stretches(recording: RecordingDetail) -> Iterator[tuple[SegmentView | None, int, int]]:
    at_ms = 0
    for segment in sorted(recording.segments, key=lambda segment: segment.start_ms):
        if _worth_a_row(recording, at_ms, segment.start_ms):
            yield None, at_ms, segment.start_ms
        yield segment, segment.start_ms, segment.end_ms
        at_ms = max(at_ms, segment.end_ms)
    end_ms = max(recording.length_ms, recording.words[-1].end_ms if recording.words else 0)
    if _worth_a_row(recording, at_ms, end_ms):
        yield None, at_ms, end_ms


def _worth_a_row(recording: RecordingDetail, start_ms: int, end_ms: int) -> bool:
    """Whether time without a step is long, or has words."""
    said = any(start_ms <= word.start_ms < end_ms for word in recording.words)
    return end_ms - start_ms >= GAP_MS or said


def _row(
    row_id: str,
    recording: RecordingDetail,
    terms: Terms,
    named: dict[int, tuple[int, Named]],
    segment: SegmentView | None,
    start_ms: int,
    end_ms: int,
) -> Row:
    inside = [index for index, word in enumerate(recording.words) if start_ms <= word.start_ms < end_ms]
    return Row(
        id=row_id,
        step=segment.step if segment else "",
        label=terms.label(segment.step) if segment else "No step marked",
        number=terms.place(segment.step) if segment else None,
        start_ms=start_ms,
        end_ms=end_ms,
        standing=segment.standing.value if segment else "none",
        sure=sureness(segment.confidence) if segment else "",
        paragraphs=tuple(_paragraphs(row_id, recording.words, inside, named, start_ms)),
        things=things_of(
            (mention for mention in recording.mentions if start_ms <= mention.start_ms < end_ms),
            (measure for measure in recording.measures if start_ms <= measure.start_ms < end_ms),
            terms,
        ),
        evidence=tuple(sorted(segment.evidence, key=lambda reason: -reason.weight)[:6]) if segment else (),
        still=segment.stills[0] if segment and segment.stills else None,
    )


def _named_words(mentions: Iterable[MentionView], terms: Terms) -> dict[int, tuple[int, Named]]:
    """First word to (index behind the last word, what is named); of mentions that overlap the longest is kept."""
    taken: set[int] = set()
    found: dict[int, tuple[int, Named]] = {}
    for mention in sorted(mentions, key=lambda mention: mention.first_word - mention.last_word):
        span = range(mention.first_word, mention.last_word)
        if span and taken.isdisjoint(span):
            taken.update(span)
            label, facet = terms.label(mention.concept), terms.facet(mention.concept)
            named = Named(concept=mention.concept, label=label, facet=facet, assertion=mention.assertion)
            found[mention.first_word] = (mention.last_word, named)
    return found


def _paragraphs(
    row_id: str,
    words: Sequence[Word],
    inside: Sequence[int],
    named: dict[int, tuple[int, Named]],
    start_ms: int,
) -> Iterator[Paragraph]:
    before_ms, group, number = start_ms, list[int](), 0
    for index in [*inside, None]:
        if group and (index is None or words[index].start_ms - words[group[-1]].end_ms >= PAUSE_MS):
            number += 1
            first_ms, last_ms = words[group[0]].start_ms, words[group[-1]].end_ms
            silence_ms = max(0, first_ms - before_ms)
            runs = tuple(_runs(words, group, named))
            yield Paragraph(id=f"{row_id}p{number}", start_ms=first_ms, silence_ms=silence_ms, runs=runs)
            before_ms, group = last_ms, []
        if index is not None:
            group.append(index)


def _runs(words: Sequence[Word], group: Sequence[int], named: dict[int, tuple[int, Named]]) -> Iterator[Run]:
    """Cut a paragraph where a mention begins or ends and where a time is due in the margin."""
    stamp_ms: int | None = None
    current: list[Word] = []
    mark: tuple[int, Named] | None = None
    due: int | None = None
    letters = 0
    for index in group:
        word = words[index]
        ended = mark is not None and index >= mark[0]
        begins = index in named and (mark is None or ended)
        late = (mark is None or ended) and (
            stamp_ms is None or (word.start_ms - stamp_ms >= STAMP_EVERY_MS and letters >= STAMP_EVERY_LETTERS)
        )
        if current and (ended or begins or late):
            yield Run(words=tuple(current), named=mark[1] if mark else None, stamp_ms=due)
            current, due = [], None
        if ended:
            mark = None
        if begins:
            mark = named[index]
        if late:
            stamp_ms, due, letters = word.start_ms, word.start_ms, 0
        letters += len(word.text) + 1
        current.append(word)
    if current:
        yield Run(words=tuple(current), named=mark[1] if mark else None, stamp_ms=due)
