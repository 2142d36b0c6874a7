"""Tagging recordings anew: what people decided stays and guides, everything else is proposed afresh."""

from __future__ import annotations

from collections.abc import Iterator

from indexer.catalogue.library import Library
from indexer.errors import NotFound
from indexer.intake import stages
from indexer.models import Cue, Given, RecordingDetail, Tagging, Transcript
from indexer.models.frozen import Frozen
from indexer.tagging import tag


class Retagged(Frozen):
    """One recording that was tagged anew."""

    title: str
    steps: int
    terms: int
    changed: int
    """Steps that are proposed where another or none was before."""


def retag(library: Library, titles: tuple[str, ...] = ()) -> Iterator[Retagged]:
    """Tag every recording that has words, or those of the cases with these titles or ids. Raises NotFound for others."""
    cases = library.cases(library.owner)
    unknown = [title for title in titles if not any(title in (case.id, case.title) for case in cases)]
    if unknown:
        raise NotFound(f"case {unknown[0]!r}")
    for case in cases:
        if titles and case.id not in titles and case.title not in titles:
            continue
        for recording in library.case(library.owner, case.id).recordings:
            if recording.words:
                yield _retag(library, case.title, recording)


def _retag(library: Library, title: str, recording: RecordingDetail) -> Retagged:
    given = library.given(recording.id)
    tagging = tagged(recording, library, given)
    before = {(segment.step, segment.start_ms, segment.end_ms) for segment in recording.segments}
    library.retag(recording.id, tagging)
    now = library.recording(library.owner, recording.id)
    after = {(segment.step, segment.start_ms, segment.end_ms) for segment in now.segments}
    return Retagged(title=title, steps=len(now.segments), terms=len(now.mentions), changed=len(after - before))


def tagged(recording: RecordingDetail, library: Library, given: Given) -> Tagging:
    """The tagging of a recording's kept words, whose times are the recording's already."""
    cues = recording.cues or (Cue(start_ms=0, end_ms=recording.length_ms, text=""),)
    kept = Transcript(format="json", language=recording.language, cues=cues, words=recording.words)
    with stages.one_tagger:
        return tag(kept, library.vocabulary, given)
