"""What the searches hand on before it is given its place: a stretch of tokens that may name somebody."""

from __future__ import annotations

from typing import NamedTuple

from indexer.models.identifying import HowFound, IdentifierKind


class Found(NamedTuple):
    """Letters `start` up to, not including, `end` of a text are an identifier."""

    start: int
    end: int
    kind: IdentifierKind
    how: HowFound
    certainty: float
    known: str | None = None
