"""What is known of a film: its parts and what was read from each."""

from __future__ import annotations

from pathlib import Path

from indexer.models.frozen import Frozen


class Probe(Frozen):
    """What one video file is, read from the file itself."""

    size_bytes: int
    content_hash: str
    """SHA-256 of the whole file, hexadecimal."""
    container: str
    codec: str
    pixel_format: str
    width: int
    """Of the picture as shown, after rotation, in pixels."""
    height: int
    square_pixels: bool = True
    """Whether the pixels of the file are square; `width` counts them as shown."""
    rotation: int
    """Degrees clockwise that a player has to turn the picture: 0, 90, 180 or 270."""
    first_ms: int = 0
    """When the first frame is shown, by the file's own clock."""
    last_frame_ms: int = 40
    """How long the last frame is shown."""
    duration_ms: int
    """Of what can really be read, not what the header claims."""
    claimed_ms: int | None
    frames: int
    frame_rate: float
    """Mean frames a second over the whole file."""
    constant_rate: bool
    key_frame_gap_ms: int
    """The longest distance between two key frames."""
    interlaced: bool
    audio_codec: str | None
    remarks: tuple[str, ...] = ()
    """What a person should know of, for instance that the file ends before its header says."""

    @property
    def has_sound(self) -> bool:
        """Whether there is an audio stream."""
        return self.audio_codec is not None


class Part(Frozen):
    """One file of a recording and where it lies in it."""

    path: Path
    probe: Probe
    start_ms: int
    """Where this part begins in the recording; parts are laid end to end."""
