"""Words and texts without the identifiers that must go, and where the sound has to be silent."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from indexer.models.identifying import WORDS, DecidedIdentifier, Identifier, IdentifierDecision, Masked
from indexer.models.identifying import IdentifierKind as Kind
from indexer.models.timed import Word
from indexer.privacy.dating import MONTHS, SHORT, day_at, year_at
from indexer.privacy.text import Text
from indexer.timespan import Span

MARGIN_MS = 250
"""How much longer than a word its silence is, on either side."""
MARGIN_SPREAD_MS = 900
"""The same where the times of words were only spread over their cue."""
ISO = re.compile(r"((?:18|19|20)\d\d)[-/._]?(\d\d?)[-/._]?(\d\d?)")


def to_remove(found: Iterable[Identifier], decisions: Iterable[IdentifierDecision]) -> list[Identifier]:
    """What must go: all of it but what a person decided to keep. A case's decision goes before the library's."""
    kept: dict[str, bool] = {}
    for decision in sorted(decisions, key=_weight):
        kept[decision.key] = not decision.remove
    return [one for one in found if not kept.get(one.key, False)]


def _weight(decision: IdentifierDecision) -> tuple[bool, float]:
    at = decision.decided_at.timestamp() if isinstance(decision, DecidedIdentifier) else 0.0
    return decision.case_id is not None, at


def masked(
    words: Sequence[Word],
    found: Iterable[Identifier],
    decisions: Iterable[IdentifierDecision] = (),
    *,
    shift_days: int | None = None,
) -> Masked:
    """Words with each identifier as one word like `[name]`, and the stretches to mute.

    Dates are shifted by `shift_days` where they are whole and it is given, else cut to the year. Decisions: see `to_remove`.
    """
    gone = [one for one in to_remove(found, decisions) if one.field == WORDS]
    starting = {one.first: one for one in gone}
    kept: list[Word] = []
    index = 0
    while index < len(words):
        one = starting.get(index)
        if one is None:
            kept.append(words[index])
            index += 1
            continue
        kept.append(_instead(words[one.first : one.last], mask(one, shift_days)))
        index = one.last
    return Masked(words=tuple(kept), mute=_silences(words, gone))


def masked_text(
    text: str,
    found: Iterable[Identifier],
    field: str,
    decisions: Iterable[IdentifierDecision] = (),
    *,
    shift_days: int | None = None,
) -> str:
    """A text of that field with each identifier as `[name]`, dates as in `masked`."""
    gone = [one for one in to_remove(found, decisions) if one.field == field]
    for one in sorted(gone, key=lambda one: -one.first):
        text = text[: one.first] + mask(one, shift_days) + text[one.last :]
    return text


def mask(one: Identifier, shift_days: int | None = None) -> str:
    """What stands in an identifier's place."""
    if one.kind is Kind.DATE:
        return _date_instead(one.text, shift_days)
    return "[90 or older]" if one.kind is Kind.AGE else f"[{one.kind.value}]"


def read_date(text: str) -> tuple[int | None, date | None]:
    """The year of a date as it is said or written, and the whole day where all of it is there."""
    iso = ISO.search(text)
    if iso:
        year, month, day = (int(part) for part in iso.groups())
        return year, _day(year, month, day)
    words = Text(text).words
    said = next((read for at in range(len(words)) if (read := year_at(words, at))), None)
    if said is None:
        return None, None
    month_of = MONTHS | SHORT
    named = next((month_of[word] for word in words if word in month_of), None)
    days = [read.value for at in range(len(words)) if (read := day_at(words, at)) and at < said.last - 1]
    return said.value, _day(said.value, named, days[0]) if named and days else None


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _date_instead(text: str, shift_days: int | None) -> str:
    year, day = read_date(text)
    if day is not None and shift_days is not None:
        moved = day + timedelta(days=shift_days)
        return f"[{moved.isoformat()}]"
    return f"[{year}]" if year is not None else "[date]"


def _instead(gone: Sequence[Word], text: str) -> Word:
    """One word for those that go; the end of the sentence stays."""
    end = gone[-1].text[-1:]
    said = text + (end if end in ".,;:!?" else "")
    return gone[0].model_copy(update={"text": said, "end_ms": gone[-1].end_ms})


def _silences(words: Sequence[Word], gone: Iterable[Identifier]) -> tuple[Span, ...]:
    spans: list[Span] = []
    for one in sorted(gone, key=lambda one: one.first):
        spread = any(word.timing == "spread" for word in words[one.first : one.last])
        margin = MARGIN_SPREAD_MS if spread else MARGIN_MS
        start, end = max(0, words[one.first].start_ms - margin), words[one.last - 1].end_ms + margin
        if spans and start <= spans[-1].end_ms:
            spans[-1] = Span(spans[-1].start_ms, max(end, spans[-1].end_ms))
        else:
            spans.append(Span(start, end))
    return tuple(spans)
