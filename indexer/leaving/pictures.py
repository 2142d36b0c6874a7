"""Text in the pictures of a recording: looked for once and kept beside the film, with the regions that a person keeps."""

from __future__ import annotations

import re
from pathlib import Path

from pydantic import TypeAdapter, ValidationError

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.consent import Viewer
from indexer.errors import BadInput, RecordingUnreadable
from indexer.models.cases import RecordingDetail
from indexer.models.frozen import Frozen
from indexer.models.identifying import IdentifierDecision
from indexer.models.pictured import Box, PictureText, TextKind
from indexer.privacy.picture import find_picture_text
from indexer.privacy.picture_kinds import kind_of

_FILE = "picture_text.json"
_REGION = re.compile(r"picture:([^:]+):(\d{1,4}):(\d{1,4}):(\d{1,4}):(\d{1,4})")
_THOUSANDTHS = 1000
FINDER = 1
"""Goes up when text is found in another way, so that old findings are not relied on."""


class _Kept(Frozen):
    finder: int
    size_bytes: int
    texts: tuple[PictureText, ...]


def picture_texts(library: Library, recording: RecordingDetail, settings: Settings) -> tuple[PictureText, ...]:
    """All text in the pictures of a recording's film. The first time takes up to the film's length.

    Raises RecordingUnreadable, ToolFailed.
    """
    if not recording.film.is_file():
        raise RecordingUnreadable(recording.film, "it is not there now. Plug in the drive that it lies on.")
    names = [entry.text for entry in library.names_for_search(library.owner, recording.case_id)]
    size = recording.film.stat().st_size
    at = library.media(recording.id) / _FILE
    kept = _read(at)
    if kept is None or kept.finder != FINDER or kept.size_bytes != size:
        found = find_picture_text(recording.film, settings, length_ms=recording.length_ms)
        kept = _Kept(finder=FINDER, size_bytes=size, texts=found)
        _write(at, kept)
    # The list of names grows, so that what a text seems to be is asked anew each time.
    return tuple(text.model_copy(update={"kind": kind_of(text.read, names)}) for text in kept.texts)


def _read(at: Path) -> _Kept | None:
    try:
        return TypeAdapter(_Kept).validate_json(at.read_bytes())
    except (OSError, ValidationError):
        return None


def _write(at: Path, kept: _Kept) -> None:
    at.parent.mkdir(parents=True, exist_ok=True)
    unfinished = at.with_name(f".{at.name}.unfinished")
    unfinished.write_text(kept.model_dump_json(), encoding="utf-8")
    unfinished.chmod(0o600)
    unfinished.replace(at)


# Regions that stay


def keep_region(library: Library, viewer: Viewer, recording: RecordingDetail, box: Box, reason: str) -> None:
    """Let what stands within a region of a recording's picture stay, for a reason. Raises NotFound, BadInput."""
    if box.right <= box.left or box.bottom <= box.top:
        raise BadInput("a region has a width and a height.")
    _decide(library, viewer, recording, box, remove=False, reason=reason)


def cover_region(library: Library, viewer: Viewer, recording: RecordingDetail, box: Box) -> None:
    """Take back that a region stays. Raises NotFound."""
    _decide(library, viewer, recording, box, remove=True, reason="")


def _decide(
    library: Library, viewer: Viewer, recording: RecordingDetail, box: Box, *, remove: bool, reason: str
) -> None:
    shares = (round(share * _THOUSANDTHS) for share in (box.left, box.top, box.right, box.bottom))
    key = ":".join(["picture", recording.id, *map(str, shares)])
    decision = IdentifierDecision(key=key, remove=remove, reason=reason, case_id=recording.case_id)
    library.decide_identifier(viewer, decision)


def kept_regions(library: Library, recording: RecordingDetail) -> tuple[Box, ...]:
    """The regions of a recording's picture that a person decided to keep."""
    decided = library.identifier_decisions(library.owner, recording.case_id)
    found = [match for one in decided if not one.remove and (match := _REGION.fullmatch(one.key))]
    return tuple(
        Box(**dict(zip(("left", "top", "right", "bottom"), _shares(match), strict=True)))
        for match in found
        if match[1] == recording.id
    )


def _shares(match: re.Match[str]) -> list[float]:
    return [min(1.0, int(match[group]) / _THOUSANDTHS) for group in range(2, 6)]


def offered_regions(texts: tuple[PictureText, ...]) -> tuple[Box, ...]:
    """Regions that are offered for keeping: those in which nothing but settings of the machine ever stand."""
    settings = [text.box for text in texts if text.kind is TextKind.SETTING]
    others = [text.box for text in texts if text.kind is not TextKind.SETTING]
    return tuple(box for box in settings if not any(_overlap(box, other) for other in others))


def _overlap(one: Box, other: Box) -> bool:
    across = min(one.right, other.right) > max(one.left, other.left)
    return across and min(one.bottom, other.bottom) > max(one.top, other.top)
