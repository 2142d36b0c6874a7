"""What is known of a film: its parts and what was read from each."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

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


CutKind = Literal["hard", "jump", "dissolve"]
"""`hard`: another view; `jump`: the same view, but time is missing; `dissolve`: one picture melts into another."""

StretchKind = Literal["black", "blank", "frozen", "repeated", "title"]
"""`blank`: one even colour that is not black; `frozen`: the picture stands still altogether; `repeated`: pictures come
several times in a row, as in slow motion; `title`: a card with writing on an even ground."""


class Cut(Frozen):
    """Where the film was cut."""

    at_ms: int
    """When the first picture behind the cut is shown; of a dissolve its middle."""
    frame: int
    """Number of that picture, counted from 0."""
    kind: CutKind
    strength: float
    """0 to 1: how much of the picture is another one behind it."""
    spread_ms: int = 0
    """Half the length of a dissolve."""


class Stretch(Frozen):
    """A stretch of film on which nothing of the operation is seen as it was."""

    kind: StretchKind
    start_ms: int
    end_ms: int


class EyePlace(Frozen):
    """Where the eye sits in the picture as shown, in shares of it."""

    at_ms: int
    cx: float
    """Of the width, from the left."""
    cy: float
    """Of the height, from the top."""
    radius: float
    """Of the height."""


class OverlayBox(Frozen):
    """Something laid over the picture that stays where it is, in shares of width and height from the top left."""

    left: float
    top: float
    width: float
    height: float


class KindGuess(Frozen):
    """Whether a recording looks whole or edited, for a person to confirm."""

    kind: Literal["whole", "edited", "excerpt"]
    confidence: float
    reasons: tuple[str, ...]
    """Plain clauses, without a full stop."""


class Survey(Frozen):
    """What one look at every frame of a film found. Times are those of the film that plays."""

    frames: int
    length_ms: int
    cuts: tuple[Cut, ...] = ()
    stretches: tuple[Stretch, ...] = ()
    sharpness: tuple[float, ...] = ()
    """For each second the best variance of the Laplacian; compares frames of one film, not films."""
    motion: tuple[float, ...] = ()
    """For each second the mean change from frame to frame, in steps of 255."""
    blurred: tuple[bool, ...] = ()
    """For each second, whether it is much less sharp than the film usually is."""
    eye: tuple[EyePlace, ...] = ()
    """Where it was found, once a second at most."""
    overlays: tuple[OverlayBox, ...] = ()
    missing_frames: int = 0
    """How many frames the film's own clock leaves out."""
    guess: KindGuess
