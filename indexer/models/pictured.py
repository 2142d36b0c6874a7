"""Text seen in a picture: where, for how long, what it says, and what kind of text it seems to be."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from pydantic import Field

from indexer.models.frozen import Frozen

Share = Annotated[float, Field(ge=0, le=1)]


class TextKind(StrEnum):
    """What a text in the picture seems to be. Whatever it seems, it is covered until a person decides to keep it."""

    IDENTIFIER = "identifier"
    """It may say who the patient is, where, or when."""
    SETTING = "setting"
    """A setting or reading of the machine, offered for keeping."""
    UNKNOWN = "unknown"


class Box(Frozen):
    """A part of the picture, in shares of its width and height from the upper left, as shown upright."""

    left: Share
    top: Share
    right: Share
    bottom: Share

    def holds(self, other: Box) -> bool:
        """Whether the other lies within this one."""
        return (
            self.left <= other.left
            and self.top <= other.top
            and self.right >= other.right
            and self.bottom >= other.bottom
        )

    def with_(self, other: Box) -> Box:
        """The smallest box that holds both."""
        return Box(
            left=min(self.left, other.left),
            top=min(self.top, other.top),
            right=max(self.right, other.right),
            bottom=max(self.bottom, other.bottom),
        )


class TextPiece(Frozen):
    """Where a text stands during a stretch of the recording, with a margin on every side and at both ends."""

    box: Box
    start_ms: int
    end_ms: int


class PictureText(Frozen):
    """A text that stands in the picture for a while, at one place or moving."""

    pieces: tuple[TextPiece, ...] = Field(min_length=1)
    """In order of time; one where the text does not move."""
    read: str
    """What a reader made of it; it may be wrong, or empty."""
    kind: TextKind
    certainty: Share
    """That it is text at all."""
    at_ms: int
    """A moment at which it is seen well, for showing it to a person."""

    @property
    def box(self) -> Box:
        """All that it ever covers."""
        box = self.pieces[0].box
        for piece in self.pieces[1:]:
            box = box.with_(piece.box)
        return box

    @property
    def start_ms(self) -> int:
        """When it may begin to stand."""
        return min(piece.start_ms for piece in self.pieces)

    @property
    def end_ms(self) -> int:
        """When it is gone."""
        return max(piece.end_ms for piece in self.pieces)
