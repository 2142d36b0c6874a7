"""The outline of the sound as a stage of intake: it is drawn where steps are marked."""

from __future__ import annotations

from typing import Any

from indexer.errors import RecordingUnreadable
from indexer.intake.workpiece import Workpiece

OUTLINE = "outline.npy"
"""Beside the recording's film; `footage.sound_outline.Outline`. Not there where a recording has no sound."""


def outline(piece: Workpiece) -> dict[str, Any]:
    """Read the sound of the film that plays once, from its beginning to its end."""
    from indexer.footage.sound_outline import write_outline

    if not any(probe.has_sound for probe in piece.probes):
        return {"outline": False}
    piece.media.mkdir(parents=True, exist_ok=True)
    length_ms = sum(probe.duration_ms for probe in piece.probes)
    try:
        return {"outline": write_outline(piece.film, length_ms, piece.media / OUTLINE, piece.settings)}
    except RecordingUnreadable:
        if not piece.film.is_file():
            raise
        # Marking goes on without it; that the sound is damaged is heard.
        return {"outline": False}


def outlined(piece: Workpiece) -> bool:
    """Whether that was done and is still there."""
    made = piece.job.detail.get("outline")
    return made is False or (made is True and (piece.media / OUTLINE).is_file())
