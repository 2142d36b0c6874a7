"""The tables of the catalogue, for SQLite and PostgreSQL alike. A change here needs a migration beside it."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    JSON,
    Boolean,
    Column,
    Date,
    DateTime,
    Dialect,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
)

SCHEMA = "marking"
"""The newest migration; a test holds it to the migrations folder."""


class Moment(TypeDecorator[datetime]):
    """A point of time: kept as UTC without a zone, given back with it."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Anything but an aware time is a mistake of ours."""
        return None if value is None else value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """The same time, aware."""
        return None if value is None else value.replace(tzinfo=UTC)


metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)

ID = String(24)
CONCEPT = String(60)
STANDING = String(10)


def _of(target: str, *, gone: str = "CASCADE") -> ForeignKey:
    """A reference whose row goes (or, with SET NULL, stays) when what it refers to goes."""
    return ForeignKey(target, ondelete=gone)


persons = Table(
    "persons",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("pseudonym", String(120), nullable=False, unique=True),
    Column("roles", JSON, nullable=False),
    Column("made_at", Moment, nullable=False),
    # argon2id; without one nobody can sign in by this name.
    Column("password_hash", Text),
)

# Who is signed in: the key in the browser's cookie is kept as its SHA-256 alone.
sign_ins = Table(
    "sign_ins",
    metadata,
    Column("key_hash", String(64), primary_key=True),
    Column("person_id", Integer, _of("persons.id"), nullable=False, index=True),
    Column("begun_at", Moment, nullable=False),
    Column("until", Moment, nullable=False),
)

# A patient is a random id that links the cases of two eyes; nothing else is kept of the person.
patients = Table("patients", metadata, Column("id", ID, primary_key=True), Column("made_at", Moment, nullable=False))

cases = Table(
    "cases",
    metadata,
    Column("id", ID, primary_key=True),
    Column("title", String(300), nullable=False),
    Column("eye", String(5)),
    Column("operator_id", Integer, _of("persons.id", gone="SET NULL"), index=True),
    Column("patient_id", ID, _of("patients.id", gone="SET NULL")),
    Column("operated_on", Date),
    # What the newest consent that was not withdrawn allows, so that the Viewer is a plain predicate.
    Column("release_rank", Integer, nullable=False, index=True),
    Column("release_until", Date),
    Column("added_at", Moment, nullable=False),
)

consents = Table(
    "consents",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("case_id", ID, _of("cases.id"), nullable=False, index=True),
    Column("release", String(10), nullable=False),
    Column("stated_on", Date, nullable=False),
    Column("stated_by_id", Integer, _of("persons.id", gone="RESTRICT"), nullable=False),
    Column("evidence", Text, nullable=False),
    Column("until", Date),
    Column("withdrawn_on", Date),
    # What it was given for.
    Column("purpose", Text, nullable=False, server_default=""),
    # When the entry was made; entries of the first schema have only their day.
    Column("stated_at", Moment),
    Column("withdrawn_at", Moment),
    Column("withdrawn_by_id", Integer, _of("persons.id", gone="RESTRICT")),
)

recordings = Table(
    "recordings",
    metadata,
    Column("id", ID, primary_key=True),
    Column("case_id", ID, _of("cases.id"), nullable=False, index=True),
    Column("kind", String(10), nullable=False),
    Column("film", String(200)),
    Column("film_reasons", JSON, nullable=False),
    Column("length_ms", Integer, nullable=False),
    Column("frame_rate", Float, nullable=False),
    Column("width", Integer, nullable=False),
    Column("height", Integer, nullable=False),
    Column("has_sound", Boolean, nullable=False),
    Column("stills_ms", JSON, nullable=False),
    Column("remarks", JSON, nullable=False),
    Column("language", String(35), nullable=False),
    Column("added_at", Moment, nullable=False),
)

parts = Table(
    "parts",
    metadata,
    Column("recording_id", ID, _of("recordings.id"), primary_key=True),
    Column("place", Integer, primary_key=True),
    Column("path", Text, nullable=False),
    Column("content_hash", String(64), nullable=False, index=True),
    Column("size_bytes", Integer, nullable=False),
    Column("start_ms", Integer, nullable=False),
    Column("probe", JSON, nullable=False),
)

transcripts = Table(
    "transcripts",
    metadata,
    Column("recording_id", ID, _of("recordings.id"), primary_key=True),
    Column("format", String(10), nullable=False),
    Column("language", String(35)),
    Column("name", Text),
    Column("original", LargeBinary),
    Column("offset_ms", Integer, nullable=False),
    # zlib of JSON: [[text, start_ms, end_ms, cue, timing], ...]
    Column("words", LargeBinary, nullable=False),
    Column("left_out", JSON, nullable=False),
)

cues = Table(
    "cues",
    metadata,
    Column("recording_id", ID, _of("recordings.id"), primary_key=True),
    Column("place", Integer, primary_key=True),
    Column("start_ms", Integer, nullable=False),
    Column("end_ms", Integer, nullable=False),
    Column("text", Text, nullable=False),
)

segments = Table(
    "segments",
    metadata,
    Column("key", Integer, primary_key=True),
    Column("id", ID, nullable=False, unique=True),
    Column("case_id", ID, _of("cases.id"), nullable=False, index=True),
    Column("recording_id", ID, _of("recordings.id"), nullable=False, index=True),
    Column("step", CONCEPT, nullable=False, index=True),
    Column("start_ms", Integer, nullable=False),
    Column("start_source", String(10), nullable=False),
    Column("start_spread_ms", Integer, nullable=False),
    Column("end_ms", Integer, nullable=False),
    Column("end_source", String(10), nullable=False),
    Column("end_spread_ms", Integer, nullable=False),
    Column("confidence", Float, nullable=False),
    Column("evidence", JSON, nullable=False),
    Column("standing", STANDING, nullable=False),
    Column("version", Integer, nullable=False),
)

mentions = Table(
    "mentions",
    metadata,
    Column("key", Integer, primary_key=True),
    Column("id", ID, nullable=False, unique=True),
    Column("recording_id", ID, _of("recordings.id"), nullable=False, index=True),
    Column("segment_key", Integer, _of("segments.key", gone="SET NULL"), index=True),
    Column("concept", CONCEPT, nullable=False),
    Column("assertion", String(10), nullable=False),
    Column("start_ms", Integer, nullable=False),
    Column("end_ms", Integer, nullable=False),
    Column("first_word", Integer, nullable=False),
    Column("last_word", Integer, nullable=False),
    Column("heard", Text, nullable=False),
    Column("confidence", Float, nullable=False),
    Column("assertion_confidence", Float, nullable=False),
    Column("evidence", JSON, nullable=False),
    Column("standing", STANDING, nullable=False),
    Column("version", Integer, nullable=False),
    # Holds all that the search reads of a mention.
    Index(None, "concept", "segment_key", "assertion", "start_ms", "standing"),
)

measures = Table(
    "measures",
    metadata,
    Column("key", Integer, primary_key=True),
    Column("id", ID, nullable=False, unique=True),
    Column("recording_id", ID, _of("recordings.id"), nullable=False, index=True),
    Column("segment_key", Integer, _of("segments.key", gone="SET NULL"), index=True),
    Column("measure", CONCEPT, nullable=False, index=True),
    Column("low", Float, nullable=False),
    Column("high", Float, nullable=False),
    Column("unit", String(40), nullable=False),
    Column("start_ms", Integer, nullable=False),
    Column("end_ms", Integer, nullable=False),
    Column("first_word", Integer, nullable=False),
    Column("last_word", Integer, nullable=False),
    Column("heard", Text, nullable=False),
    Column("confidence", Float, nullable=False),
    Column("standing", STANDING, nullable=False),
    Column("version", Integer, nullable=False),
)

findings = Table(
    "findings",
    metadata,
    Column("id", ID, primary_key=True),
    Column("case_id", ID, _of("cases.id"), nullable=False, index=True),
    Column("concept", CONCEPT, nullable=False, index=True),
    Column("confidence", Float, nullable=False),
    Column("evidence", JSON, nullable=False),
    Column("standing", STANDING, nullable=False),
    Column("version", Integer, nullable=False),
    UniqueConstraint("case_id", "concept"),
)

events = Table(
    "events",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("at", Moment, nullable=False),
    Column("person_id", Integer, _of("persons.id", gone="RESTRICT"), nullable=False),
    Column("case_id", ID, _of("cases.id"), nullable=False, index=True),
    Column("mark", String(10), nullable=False),
    Column("mark_id", ID, nullable=False, index=True),
    Column("before", JSON, nullable=False),
    Column("after", JSON, nullable=False),
)

# A job's case and recording do not exist before it is published, so its ids refer to nothing.
jobs = Table(
    "jobs",
    metadata,
    Column("id", ID, primary_key=True),
    Column("case_id", ID, nullable=False),
    Column("recording_id", ID, nullable=False, unique=True),
    Column("draft", JSON, nullable=False),
    Column("state", String(10), nullable=False, index=True),
    Column("stage", String(40), nullable=False),
    Column("detail", JSON, nullable=False),
    Column("reason", Text, nullable=False),
    Column("begun_at", Moment, nullable=False),
    Column("changed_at", Moment, nullable=False),
)

leases = Table(
    "leases",
    metadata,
    Column("name", String(20), primary_key=True),
    Column("token", String(40), nullable=False),
    Column("host", String(255), nullable=False),
    Column("process", Integer, nullable=False),
    Column("beat_at", Moment, nullable=False),
)

# What the search looks words up in: made from transcripts and segments, and made anew whenever they change.
spoken = Table(
    "spoken",
    metadata,
    Column("stem", String(60), primary_key=True),
    Column("segment_key", Integer, _of("segments.key"), primary_key=True, index=True),
    Column("times", Integer, nullable=False),
)

spoken_texts = Table(
    "spoken_texts",
    metadata,
    Column("segment_key", Integer, _of("segments.key"), primary_key=True),
    # [[text, start_ms, cue], ...], the words that begin within the segment
    Column("words", JSON, nullable=False),
)

# One row: a number that goes up with every change of what a search counts, so that what is kept in memory can be
# seen to be old.
revisions = Table(
    "revisions",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("number", Integer, nullable=False),
)
