"""Words that leave: identifiers masked, dates cut to the year, laid out as captions of a clip of its own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from indexer.catalogue.library import Library
from indexer.models.cases import RecordingDetail
from indexer.models.identifying import Masked
from indexer.models.timed import Word
from indexer.privacy.identifiers import find_identifiers
from indexer.privacy.masking import masked, masked_text
from indexer.timespan import Span, webvtt_clock


def masked_words(library: Library, recording: RecordingDetail) -> Masked:
    """The words of a recording without what must go, and when its sound has to be silent."""
    names = library.names_for_search(library.owner, recording.case_id)
    decisions = library.identifier_decisions(library.owner, recording.case_id)
    found = find_identifiers(recording.words, known=names, vocabulary=library.vocabulary)
    return masked(recording.words, found, decisions)


def text_to_leave(library: Library, case_id: str, text: str, field: str) -> str:
    """A title or a note without what must go; dates are cut to the year."""
    names = library.names_for_search(library.owner, case_id)
    decisions = library.identifier_decisions(library.owner, case_id)
    found = find_identifiers(texts={field: text}, known=names, vocabulary=library.vocabulary)
    return masked_text(text, found, field, decisions)


def masked_captions(words: Sequence[Word], span: Span) -> str:
    """WebVTT of the words within a stretch, times from its start; empty where it has none."""
    inside = [word for word in words if word.start_ms < span.end_ms and word.end_ms > span.start_ms]
    return "\n".join(["WEBVTT", *_cues(inside, span), ""]) if inside else ""


def _cues(words: Sequence[Word], span: Span) -> Iterator[str]:
    for _, spoken in groupby(words, key=lambda word: word.cue):
        line = list(spoken)
        start = max(0, line[0].start_ms - span.start_ms)
        end = min(span.length_ms, max(line[-1].end_ms - span.start_ms, start + 1))
        said = " ".join(word.text for word in line)
        escaped = said.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
        yield from ("", f"{webvtt_clock(start)} --> {webvtt_clock(end)}", escaped)
