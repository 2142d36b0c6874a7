"""Identifiers of a whole case: the library's words, titles, files and list of names, handed to the search for identifiers.

Found anew each time, which takes well under a second, so that nothing is out of date when words, titles or names change.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from indexer.catalogue.library import Library
from indexer.consent import Viewer
from indexer.errors import RecordingUnreadable
from indexer.models.cases import CaseDetail, RecordingDetail
from indexer.models.frozen import Frozen
from indexer.models.identifying import DecidedIdentifier, Identifier
from indexer.privacy.identifiers import FILE_NAME, Finder
from indexer.privacy.masking import to_remove
from indexer.privacy.metadata import container_metadata

TITLE = "title"
REMARK = "remark"


class RecordingIdentifiers(Frozen):
    """What was found in one recording: its words, the names of its files, what its containers say."""

    recording_id: str
    found: tuple[Identifier, ...]
    unread: tuple[str, ...] = ()
    """Files whose metadata could not be read, for instance because their drive is away."""


class CaseIdentifiers(Frozen):
    """What was found in a case, and what holds of it."""

    case_id: str
    title: tuple[Identifier, ...]
    recordings: tuple[RecordingIdentifiers, ...]
    decisions: tuple[DecidedIdentifier, ...]

    def going(self) -> tuple[Identifier, ...]:
        """All that must go before anything leaves: what nobody decided to keep."""
        every = [*self.title, *(one for recording in self.recordings for one in recording.found)]
        return tuple(to_remove(every, self.decisions))


def finder(library: Library, viewer: Viewer, case_id: str) -> Finder:
    """A finder that knows the library's names, for one case. Raises NotFound."""
    return Finder(library.names_for_search(viewer, case_id), library.vocabulary)


def identifiers_of(library: Library, viewer: Viewer, case_id: str) -> CaseIdentifiers:
    """All identifiers of a case in words, title, file names and metadata; pictures are another's. Raises NotFound."""
    case = library.case(viewer, case_id)
    search = finder(library, viewer, case_id)
    return CaseIdentifiers(
        case_id=case_id,
        title=tuple(search.in_text(case.title, TITLE)),
        recordings=tuple(_of_recording(search, recording) for recording in case.recordings),
        decisions=tuple(library.identifier_decisions(viewer, case_id)),
    )


def case_named(library: Library, viewer: Viewer, asked: str) -> CaseDetail:
    """The case of that id or title. Raises NotFound, also where several have the title."""
    from indexer.errors import NotFound

    fitting = [case.id for case in library.cases(viewer) if asked in (case.id, case.title)]
    if len(fitting) != 1:
        raise NotFound(f"single case named {asked!r}")
    return library.case(viewer, fitting[0])


def _of_recording(search: Finder, recording: RecordingDetail) -> RecordingIdentifiers:
    found = search.in_words(recording.words)
    unread = []
    for number, part in enumerate(recording.parts):
        found += search.in_text(part.path.stem, f"{FILE_NAME} {number + 1}")
        entries = _metadata(part.path) if part.there else None
        if entries is None:
            unread.append(part.path.name)
        else:
            found += search.in_metadata({f"part {number + 1}: {key}": value for key, value in entries.items()})
    for number, remark in enumerate(recording.remarks):
        found += search.in_text(remark, f"{REMARK} {number + 1}")
    return RecordingIdentifiers(recording_id=recording.id, found=tuple(found), unread=tuple(unread))


def _metadata(path: Path) -> Mapping[str, str] | None:
    try:
        return container_metadata(path)
    except RecordingUnreadable:
        return None
