"""What of a picture is covered, and for how long."""

from __future__ import annotations

from pydantic import Field

from indexer.models.frozen import Frozen


class Covered(Frozen):
    """A region that is filled with one colour. Shares of the picture as shown, from the top left; times of the recording."""

    left: float = Field(ge=0, le=1)
    top: float = Field(ge=0, le=1)
    width: float = Field(gt=0, le=1)
    height: float = Field(gt=0, le=1)
    start_ms: int
    """Inclusive."""
    end_ms: int
    """Exclusive. A frame that is shown for any part of the span is covered."""
