"""What was made to leave is read again before it does: its metadata, its bytes, its captions and its pictures.

Its pictures are read by another way than the one that found what was covered: strokes that stand side by side are
looked for by arithmetic on the picture, and each such line is given to the network that reads; the network that finds
has no part in it. What the program wrote itself, and what a person decided to keep, is left out.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from pathlib import Path

from rapidfuzz import fuzz

from indexer.config import Settings
from indexer.footage.guarded import work_on
from indexer.models.identifying import IdentifierDecision, KnownName
from indexer.models.pictured import Box
from indexer.privacy.identifiers import find_identifiers
from indexer.privacy.masking import to_remove
from indexer.privacy.metadata import container_metadata
from indexer.privacy.picture_kinds import is_known
from indexer.vocabulary.vocabulary import Vocabulary

_SHORTEST_NAME = 4
_SLOWEST = 60.0
_OWN_METADATA = frozenset(
    ("major_brand", "minor_version", "compatible_brands", "language", "handler_name", "vendor_id", "encoder")
)
_OWN_VALUES = frozenset(
    ("videohandler", "soundhandler", "und", "[0][0][0][0]", "isom", "512", "isomiso2avc1mp41", "avc coding")
)
_ENCODER = re.compile(r"lav[cf][\d. ]*(?:libx264|aac)?")
"""What writes films calls itself so; it says nothing of who used it."""


def left_in(
    film: Path,
    captions: str,
    names: Sequence[KnownName],
    settings: Settings,
    *,
    known_boxes: Sequence[Box] = (),
    own_texts: Sequence[str] = (),
    decisions: Sequence[IdentifierDecision] = (),
    vocabulary: Vocabulary | None = None,
) -> tuple[str, ...]:
    """What is still found in a film and its captions, each as a sentence for a person; empty: it is clean.

    What was decided to stay is not told. `known_boxes` are regions that are covered or that a person keeps.
    Raises RecordingUnreadable, ToolFailed.
    """
    return (
        *_in_metadata(film),
        *_in_bytes(film, captions, names, decisions),
        *_in_captions(captions, names, decisions, vocabulary),
        *_in_pictures(film, names, settings, known_boxes, own_texts),
    )


def _in_metadata(film: Path) -> Iterator[str]:
    for key, value in container_metadata(film).items():
        bare = key.rsplit(": ", 1)[-1].casefold()
        said = value.strip().casefold()
        own = said in _OWN_VALUES or _ENCODER.fullmatch(said)
        if bare not in _OWN_METADATA or not own:
            yield f"The file says {key} of itself."


def _in_bytes(
    film: Path, captions: str, names: Sequence[KnownName], decisions: Sequence[IdentifierDecision]
) -> Iterator[str]:
    """Names of the library anywhere in the file, in the encodings that files use for text."""
    haystack = film.read_bytes().lower() + captions.casefold().encode()
    staying = {decision.key for decision in decisions if not decision.remove}
    for name in names:
        if f"{name.kind}:{''.join(letter for letter in name.text.casefold() if letter.isalnum())}" in staying:
            continue
        text = name.text.casefold()
        if len(text) >= _SHORTEST_NAME and any(
            text.encode(encoding, "ignore") in haystack for encoding in ("utf-8", "utf-16-le", "utf-16-be", "latin-1")
        ):
            yield f"An entry of the library's list ({name.kind.value}) stands in the file."


def _in_captions(
    captions: str,
    names: Sequence[KnownName],
    decisions: Sequence[IdentifierDecision],
    vocabulary: Vocabulary | None,
) -> Iterator[str]:
    spoken = "\n".join(line for line in captions.splitlines()[1:] if "-->" not in line)
    found = find_identifiers(texts={"captions": spoken}, known=names, vocabulary=vocabulary)
    for one in to_remove(found, decisions):
        yield f"The captions still hold something ({one.kind.value})."


def _in_pictures(
    film: Path,
    names: Sequence[KnownName],
    settings: Settings,
    known_boxes: Sequence[Box],
    own_texts: Sequence[str],
) -> Iterator[str]:
    told = work_on(
        film,
        "indexer.privacy.picture_second:read_again",
        {"known": [(box.left, box.top, box.right, box.bottom) for box in known_boxes]},
        seconds=settings.probe_seconds + _SLOWEST * film.stat().st_size / 200_000,
        memory_mb=max(4096, settings.probe_memory_mb),
    )
    said: set[str] = set()
    for text, at_ms in told:
        if any(fuzz.partial_ratio(text.casefold(), own.casefold()) >= 80 for own in own_texts) or text in said:
            continue
        said.add(text)
        if is_known(text, [name.text for name in names]):
            yield f"An entry of the library's list can be read in the picture at {at_ms / 1000:.1f} s."
        else:
            yield f"Something like text can be read in the picture at {at_ms / 1000:.1f} s."
