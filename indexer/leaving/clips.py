"""A stretch of a recording made fit to leave: asked for, covered, silenced, masked, stripped, read again."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.consent import Release, Viewer
from indexer.errors import BadInput
from indexer.footage.cutting import cut
from indexer.leaving import reading_again
from indexer.leaving.asking import Leave, ask_leave
from indexer.leaving.pictures import kept_regions, picture_texts
from indexer.leaving.words import masked_captions, masked_words
from indexer.models.cases import RecordingDetail
from indexer.models.covered import Covered
from indexer.models.frozen import Frozen
from indexer.models.pictured import Box
from indexer.privacy.picture import covers
from indexer.timespan import Span


class Left(Frozen):
    """What came of it: a film and its captions, or the reasons why they are withheld for a person to look at."""

    film: Path | None
    captions: Path | None
    """None where the recording has no words in that stretch."""
    sound: bool
    """Whether the sound is in it."""
    remarks: tuple[str, ...] = ()
    """What a person should know: that the sound was left out, and why."""
    withheld: tuple[str, ...] = ()
    """What was still found in it; the film then lies at `to_look_at`, inside the library."""
    to_look_at: Path | None = None
    until: date | None = None
    """The last day on which the consent holds."""


def leave_clip(
    library: Library,
    viewer: Viewer,
    recording_id: str,
    span: Span,
    audience: Release,
    target: Path,
    settings: Settings,
    *,
    purpose: str = "",
    own_texts: Sequence[str] = (),
    size: tuple[int, int] | None = None,
) -> Left:
    """Make a clip that may be given to an audience, at `target` (MP4) with its captions beside it (WebVTT).

    `own_texts` are what this program itself wrote into the picture, known and no identifiers. `size` is the largest
    width and height. Nothing appears at `target` before it was read again and nothing was found in it. Originals are
    only read. Raises NotAllowed, NotFound, BadInput, RecordingUnreadable, ToolFailed.
    """
    recording = library.recording(viewer, recording_id)
    leave = ask_leave(library, viewer, recording.case_id, audience, purpose=purpose)
    span = _within(span, recording)
    if target.suffix.lower() != ".mp4":
        raise BadInput(f"{target.name} is to be a film: give it a name that ends in .mp4.")
    if _is_original(target, recording):
        raise BadInput(f"{target} is a file of the library, or an original. Choose another place.")
    kept = kept_regions(library, recording)
    texts = picture_texts(library, recording, settings)
    masked = masked_words(library, recording)
    heard, remarks = _listened(library, recording, span)
    library.work.mkdir(parents=True, exist_ok=True)
    made = library.work / f"leaving-{secrets.token_hex(8)}.mp4"
    covered = covers(texts, kept)
    try:
        cut(
            [recording.film],
            (),
            span.start_ms,
            span.end_ms,
            made,
            settings,
            whole=True,
            cover=covered,
            mute=masked.mute,
            silent=not heard,
            size=size,
        )
        captions = masked_captions(masked.words, span)
        left = _read_again(library, recording, made, captions, (*kept, *_boxes(covered)), own_texts, settings)
        if left:
            return _withhold(library, recording, made, captions, left, remarks, leave)
        return _hand_over(made, captions, target, heard, remarks, leave)
    finally:
        made.unlink(missing_ok=True)


def _within(span: Span, recording: RecordingDetail) -> Span:
    kept = Span(max(0, span.start_ms), min(span.end_ms, recording.length_ms))
    if kept.length_ms <= 0:
        raise BadInput("this stretch is not in the recording. Name a start before its end.")
    return kept


def _is_original(target: Path, recording: RecordingDetail) -> bool:
    mine = {recording.film.resolve(), *(part.path.resolve() for part in recording.parts)}
    return target.resolve() in mine


def _listened(library: Library, recording: RecordingDetail, span: Span) -> tuple[bool, tuple[str, ...]]:
    """Whether the sound may go along, and what is to be said of it."""
    if not recording.has_sound:
        return False, ()
    stretches = library.heard(library.owner, recording.id)
    if any(heard.start_ms <= span.start_ms and span.end_ms <= heard.end_ms for heard in stretches):
        return True, ()
    return False, ("The sound was left out: nobody has listened to all of this stretch yet.",)


def _boxes(covered: Iterable[Covered]) -> list[Box]:
    return [
        Box(left=one.left, top=one.top, right=min(1.0, one.left + one.width), bottom=min(1.0, one.top + one.height))
        for one in covered
    ]


def _read_again(
    library: Library,
    recording: RecordingDetail,
    made: Path,
    captions: str,
    known: Sequence[Box],
    own_texts: Sequence[str],
    settings: Settings,
) -> tuple[str, ...]:
    names = library.names_for_search(library.owner, recording.case_id)
    return reading_again.left_in(
        made,
        captions,
        names,
        settings,
        known_boxes=known,
        own_texts=own_texts,
        decisions=library.identifier_decisions(library.owner, recording.case_id),
        vocabulary=library.vocabulary,
    )


def _withhold(
    library: Library,
    recording: RecordingDetail,
    made: Path,
    captions: str,
    reasons: tuple[str, ...],
    remarks: tuple[str, ...],
    leave: Leave,
) -> Left:
    """Keep the clip inside the library, for a person to look at; nothing appears where it was to go."""
    folder = library.media(recording.id) / "withheld"
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    kept = folder / made.name
    made.replace(kept)
    kept.chmod(0o600)
    return Left(
        film=None,
        captions=None,
        sound=False,
        remarks=remarks,
        withheld=reasons,
        to_look_at=kept,
        until=leave.until,
    )


def _hand_over(made: Path, captions: str, target: Path, heard: bool, remarks: tuple[str, ...], leave: Leave) -> Left:
    """Put film and captions where they are to go, each beside first and then under its name."""
    target.parent.mkdir(parents=True, exist_ok=True)
    words = target.with_suffix(".vtt") if captions else None
    if words is not None:
        _put(captions.encode(), words)
    _put(made, target)
    return Left(film=target, captions=words, sound=heard, remarks=remarks, until=leave.until)


def _put(what: Path | bytes, target: Path) -> None:
    """Write a file beside its place and rename it, so that a kill leaves no half file under its name."""
    import shutil

    unfinished = target.with_name(f".{target.name}.{secrets.token_hex(4)}.unfinished")
    try:
        if isinstance(what, bytes):
            unfinished.write_bytes(what)
        else:
            shutil.copyfile(what, unfinished)
        unfinished.replace(target)
    finally:
        unfinished.unlink(missing_ok=True)
