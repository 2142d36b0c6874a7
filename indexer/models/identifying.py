"""Identifiers of a person: what was found in words, texts and metadata, what the library knows, what was decided.

The kinds follow the 18 classes of 45 CFR 164.514(b)(2)(i)(A) to (R); `letter` says which class a kind belongs to.
"""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum
from typing import Literal

from pydantic import Field

from indexer.models.frozen import Frozen
from indexer.models.timed import Word
from indexer.timespan import Span

HOW_FOUND = ("list", "sound", "pattern", "context")
HowFound = Literal["list", "sound", "pattern", "context"]
WORDS = "words"
"""The field of what was spoken; every other field is one of text."""


class IdentifierKind(StrEnum):
    """What an identifier is; finer than the classes where it is masked or decided in another way."""

    NAME = "name"
    PLACE = "place"
    HOSPITAL = "hospital"
    DATE = "date"
    AGE = "age"
    TELEPHONE = "telephone"
    FAX = "fax"
    EMAIL = "e-mail"
    SOCIAL_SECURITY = "social-security"
    RECORD = "record"
    PLAN = "health-plan"
    ACCOUNT = "account"
    LICENCE = "licence"
    VEHICLE = "vehicle"
    DEVICE = "device"
    WEB = "web-address"
    IP = "ip-address"
    BIOMETRIC = "biometric"
    FACE = "face"
    OTHER = "other"

    @property
    def letter(self) -> str:
        """The class, A to R, in 45 CFR 164.514(b)(2)(i)."""
        return LETTERS[self]


LETTERS = dict(zip(IdentifierKind, "ABBCCDEFGHIJKLMNOPQR", strict=True))


class Identifier(Frozen):
    """Something that names a person, and where it stands."""

    kind: IdentifierKind
    text: str
    """As it stands there."""
    field: str
    """`words` for what was spoken; else the name of the text: `title`, `file name`, `metadata: creation_time`."""
    first: int
    """Index of the first word; in a text, of the first letter."""
    last: int
    """Index behind the last word or letter."""
    start_ms: int | None = None
    """When it is spoken; None in a text."""
    end_ms: int | None = None
    how: HowFound
    certainty: float = Field(ge=0, le=1)
    known: str | None = None
    """What it stands for in the library's own list."""

    @property
    def key(self) -> str:
        """What equal findings have in common: a decision holds for all of one key."""
        said = self.known or self.text
        return f"{self.kind}:{''.join(letter for letter in said.casefold() if letter.isalnum())}"


class KnownName(Frozen):
    """An entry of the library's own list: a patient, somebody of the staff, a hospital, a place, a number."""

    kind: IdentifierKind = IdentifierKind.NAME
    text: str = Field(min_length=1, max_length=200)


class ListedName(KnownName):
    """An entry as it is kept. `case_id` is None for what the owner listed for the whole library."""

    id: int
    case_id: str | None
    added_by: str
    added_at: datetime


class IdentifierDecision(Frozen):
    """What a person decided about all equal findings; `case_id` None: in the whole library."""

    key: str = Field(min_length=1, max_length=300)
    remove: bool
    """False: it stays, for a reason."""
    reason: str = Field("", max_length=500)
    case_id: str | None = None


class DecidedIdentifier(IdentifierDecision):
    """A decision as it is kept; of several on one key the newest counts, one of the case before one of the library."""

    decided_by: str
    decided_at: datetime


class Masked(Frozen):
    """Words without the identifiers that must go, and when the sound must be silent."""

    words: tuple[Word, ...]
    mute: tuple[Span, ...]
    """In order, without overlap; in milliseconds of the recording."""
