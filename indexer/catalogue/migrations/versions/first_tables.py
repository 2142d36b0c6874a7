"""The first tables."""

import sqlalchemy as sa
from alembic import op

revision = "first_tables"
down_revision = None
branch_labels = None
depends_on = None

TABLES = (
    "jobs",
    "leases",
    "patients",
    "persons",
    "cases",
    "consents",
    "events",
    "findings",
    "recordings",
    "cues",
    "parts",
    "segments",
    "transcripts",
    "measures",
    "mentions",
    "spoken",
    "spoken_texts",
)


def upgrade() -> None:
    """Make all tables, those that others refer to first."""
    _people()
    _cases()
    _recordings()
    _marks()
    _work()
    _words()


def downgrade() -> None:
    """Take all tables away, those that refer to others first."""
    for table in TABLES[::-1]:
        op.drop_table(table)


def _people() -> None:
    """Who works here, and the link between the cases of one patient."""
    op.create_table(
        "patients",
        sa.Column("id", sa.String(length=24), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_patients")),
    )
    op.create_table(
        "persons",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("pseudonym", sa.String(length=120), nullable=False),
        sa.Column("roles", sa.JSON(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_persons")),
        sa.UniqueConstraint("pseudonym", name=op.f("uq_persons_pseudonym")),
    )


def _cases() -> None:
    """Cases, what was said of their release, and what their eyes have."""
    op.create_table(
        "cases",
        sa.Column("id", sa.String(length=24), nullable=False),
        sa.Column("title", sa.String(length=300), nullable=False),
        sa.Column("eye", sa.String(length=5), nullable=True),
        sa.Column("operator_id", sa.Integer(), nullable=True),
        sa.Column("patient_id", sa.String(length=24), nullable=True),
        sa.Column("operated_on", sa.Date(), nullable=True),
        sa.Column("release_rank", sa.Integer(), nullable=False),
        sa.Column("release_until", sa.Date(), nullable=True),
        sa.Column("added_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["operator_id"], ["persons.id"], name=op.f("fk_cases_operator_id_persons"), ondelete="SET NULL"
        ),
        sa.ForeignKeyConstraint(
            ["patient_id"], ["patients.id"], name=op.f("fk_cases_patient_id_patients"), ondelete="SET NULL"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_cases")),
    )
    op.create_index(op.f("ix_cases_operator_id"), "cases", ["operator_id"], unique=False)
    op.create_index(op.f("ix_cases_release_rank"), "cases", ["release_rank"], unique=False)
    op.create_table(
        "consents",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("case_id", sa.String(length=24), nullable=False),
        sa.Column("release", sa.String(length=10), nullable=False),
        sa.Column("stated_on", sa.Date(), nullable=False),
        sa.Column("stated_by_id", sa.Integer(), nullable=False),
        sa.Column("evidence", sa.Text(), nullable=False),
        sa.Column("until", sa.Date(), nullable=True),
        sa.Column("withdrawn_on", sa.Date(), nullable=True),
        sa.ForeignKeyConstraint(["case_id"], ["cases.id"], name=op.f("fk_consents_case_id_cases"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(
            ["stated_by_id"], ["persons.id"], name=op.f("fk_consents_stated_by_id_persons"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_consents")),
    )
    op.create_index(op.f("ix_consents_case_id"), "consents", ["case_id"], unique=False)
    op.create_table(
        "findings",
        sa.Column("id", sa.String(length=24), nullable=False),
        sa.Column("case_id", sa.String(length=24), nullable=False),
        sa.Column("concept", sa.String(length=60), nullable=False),
        sa.Column("confidence", sa.Float(), nullable=False),
        sa.Column("evidence", sa.JSON(), nullable=False),
        sa.Column("standing", sa.String(length=10), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["case_id"], ["cases.id"], name=op.f("fk_findings_case_id_cases"), ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_findings")),
        sa.UniqueConstraint("case_id", "concept", name=op.f("uq_findings_case_id_concept")),
    )
    op.create_index(op.f("ix_findings_case_id"), "findings", ["case_id"], unique=False)
    op.create_index(op.f("ix_findings_concept"), "findings", ["concept"], unique=False)


def _recordings() -> None:
    """Recordings, their files and their transcripts."""
    op.create_table(
        "recordings",
        sa.Column("id", sa.String(length=24), nullable=False),
        sa.Column("case_id", sa.String(length=24), nullable=False),
        sa.Column("kind", sa.String(length=10), nullable=False),
        sa.Column("film", sa.String(length=200), nullable=True),
        sa.Column("film_reasons", sa.JSON(), nullable=False),
        sa.Column("length_ms", sa.Integer(), nullable=False),
        sa.Column("frame_rate", sa.Float(), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("has_sound", sa.Boolean(), nullable=False),
        sa.Column("stills_ms", sa.JSON(), nullable=False),
        sa.Column("remarks", sa.JSON(), nullable=False),
        sa.Column("language", sa.String(length=35), nullable=False),
        sa.Column("added_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["case_id"], ["cases.id"], name=op.f("fk_recordings_case_id_cases"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_recordings")),
    )
    op.create_index(op.f("ix_recordings_case_id"), "recordings", ["case_id"], unique=False)
    op.create_table(
        "cues",
        sa.Column("recording_id", sa.String(length=24), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("start_ms", sa.Integer(), nullable=False),
        sa.Column("end_ms", sa.Integer(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["recording_id"], ["recordings.id"], name=op.f("fk_cues_recording_id_recordings"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("recording_id", "place", name=op.f("pk_cues")),
    )
    op.create_table(
        "parts",
        sa.Column("recording_id", sa.String(length=24), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("path", sa.Text(), nullable=False),
        sa.Column("content_hash", sa.String(length=64), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
        sa.Column("start_ms", sa.Integer(), nullable=False),
        sa.Column("probe", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["recording_id"], ["recordings.id"], name=op.f("fk_parts_recording_id_recordings"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("recording_id", "place", name=op.f("pk_parts")),
    )
    op.create_index(op.f("ix_parts_content_hash"), "parts", ["content_hash"], unique=False)
    op.create_table(
        "transcripts",
        sa.Column("recording_id", sa.String(length=24), nullable=False),
        sa.Column("format", sa.String(length=10), nullable=False),
        sa.Column("language", sa.String(length=35), nullable=True),
        sa.Column("name", sa.Text(), nullable=True),
        sa.Column("original", sa.LargeBinary(), nullable=True),
        sa.Column("offset_ms", sa.Integer(), nullable=False),
        sa.Column("words", sa.LargeBinary(), nullable=False),
        sa.Column("left_out", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["recording_id"], ["recordings.id"], name=op.f("fk_transcripts_recording_id_recordings"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("recording_id", name=op.f("pk_transcripts")),
    )


def _marks() -> None:
    """What goes on in a recording."""
    op.create_table(
        "segments",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(length=24), nullable=False),
        sa.Column("case_id", sa.String(length=24), nullable=False),
        sa.Column("recording_id", sa.String(length=24), nullable=False),
        sa.Column("step", sa.String(length=60), nullable=False),
        sa.Column("start_ms", sa.Integer(), nullable=False),
        sa.Column("start_source", sa.String(length=10), nullable=False),
        sa.Column("start_spread_ms", sa.Integer(), nullable=False),
        sa.Column("end_ms", sa.Integer(), nullable=False),
        sa.Column("end_source", sa.String(length=10), nullable=False),
        sa.Column("end_spread_ms", sa.Integer(), nullable=False),
        sa.Column("confidence", sa.Float(), nullable=False),
        sa.Column("evidence", sa.JSON(), nullable=False),
        sa.Column("standing", sa.String(length=10), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["case_id"], ["cases.id"], name=op.f("fk_segments_case_id_cases"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(
            ["recording_id"], ["recordings.id"], name=op.f("fk_segments_recording_id_recordings"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_segments")),
        sa.UniqueConstraint("id", name=op.f("uq_segments_id")),
    )
    op.create_index(op.f("ix_segments_case_id"), "segments", ["case_id"], unique=False)
    op.create_index(op.f("ix_segments_recording_id"), "segments", ["recording_id"], unique=False)
    op.create_index(op.f("ix_segments_step"), "segments", ["step"], unique=False)
    op.create_table(
        "measures",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(length=24), nullable=False),
        sa.Column("recording_id", sa.String(length=24), nullable=False),
        sa.Column("segment_key", sa.Integer(), nullable=True),
        sa.Column("measure", sa.String(length=60), nullable=False),
        sa.Column("low", sa.Float(), nullable=False),
        sa.Column("high", sa.Float(), nullable=False),
        sa.Column("unit", sa.String(length=40), nullable=False),
        sa.Column("start_ms", sa.Integer(), nullable=False),
        sa.Column("end_ms", sa.Integer(), nullable=False),
        sa.Column("first_word", sa.Integer(), nullable=False),
        sa.Column("last_word", sa.Integer(), nullable=False),
        sa.Column("heard", sa.Text(), nullable=False),
        sa.Column("confidence", sa.Float(), nullable=False),
        sa.Column("standing", sa.String(length=10), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["recording_id"], ["recordings.id"], name=op.f("fk_measures_recording_id_recordings"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["segment_key"], ["segments.key"], name=op.f("fk_measures_segment_key_segments"), ondelete="SET NULL"
        ),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_measures")),
        sa.UniqueConstraint("id", name=op.f("uq_measures_id")),
    )
    op.create_index(op.f("ix_measures_measure"), "measures", ["measure"], unique=False)
    op.create_index(op.f("ix_measures_recording_id"), "measures", ["recording_id"], unique=False)
    op.create_index(op.f("ix_measures_segment_key"), "measures", ["segment_key"], unique=False)
    op.create_table(
        "mentions",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("id", sa.String(length=24), nullable=False),
        sa.Column("recording_id", sa.String(length=24), nullable=False),
        sa.Column("segment_key", sa.Integer(), nullable=True),
        sa.Column("concept", sa.String(length=60), nullable=False),
        sa.Column("assertion", sa.String(length=10), nullable=False),
        sa.Column("start_ms", sa.Integer(), nullable=False),
        sa.Column("end_ms", sa.Integer(), nullable=False),
        sa.Column("first_word", sa.Integer(), nullable=False),
        sa.Column("last_word", sa.Integer(), nullable=False),
        sa.Column("heard", sa.Text(), nullable=False),
        sa.Column("confidence", sa.Float(), nullable=False),
        sa.Column("assertion_confidence", sa.Float(), nullable=False),
        sa.Column("evidence", sa.JSON(), nullable=False),
        sa.Column("standing", sa.String(length=10), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["recording_id"], ["recordings.id"], name=op.f("fk_mentions_recording_id_recordings"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["segment_key"], ["segments.key"], name=op.f("fk_mentions_segment_key_segments"), ondelete="SET NULL"
        ),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_mentions")),
        sa.UniqueConstraint("id", name=op.f("uq_mentions_id")),
    )
    op.create_index(
        op.f("ix_mentions_concept_segment_key_assertion_start_ms_standing"),
        "mentions",
        ["concept", "segment_key", "assertion", "start_ms", "standing"],
        unique=False,
    )
    op.create_index(op.f("ix_mentions_recording_id"), "mentions", ["recording_id"], unique=False)
    op.create_index(op.f("ix_mentions_segment_key"), "mentions", ["segment_key"], unique=False)


def _work() -> None:
    """Intakes, the lease that one of them holds, and what people decided."""
    op.create_table(
        "jobs",
        sa.Column("id", sa.String(length=24), nullable=False),
        sa.Column("case_id", sa.String(length=24), nullable=False),
        sa.Column("recording_id", sa.String(length=24), nullable=False),
        sa.Column("draft", sa.JSON(), nullable=False),
        sa.Column("state", sa.String(length=10), nullable=False),
        sa.Column("stage", sa.String(length=40), nullable=False),
        sa.Column("detail", sa.JSON(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("begun_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_jobs")),
        sa.UniqueConstraint("recording_id", name=op.f("uq_jobs_recording_id")),
    )
    op.create_index(op.f("ix_jobs_state"), "jobs", ["state"], unique=False)
    op.create_table(
        "leases",
        sa.Column("name", sa.String(length=20), nullable=False),
        sa.Column("token", sa.String(length=40), nullable=False),
        sa.Column("host", sa.String(length=255), nullable=False),
        sa.Column("process", sa.Integer(), nullable=False),
        sa.Column("beat_at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_leases")),
    )
    op.create_table(
        "events",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("case_id", sa.String(length=24), nullable=False),
        sa.Column("mark", sa.String(length=10), nullable=False),
        sa.Column("mark_id", sa.String(length=24), nullable=False),
        sa.Column("before", sa.JSON(), nullable=False),
        sa.Column("after", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["case_id"], ["cases.id"], name=op.f("fk_events_case_id_cases"), ondelete="CASCADE"),
        sa.ForeignKeyConstraint(
            ["person_id"], ["persons.id"], name=op.f("fk_events_person_id_persons"), ondelete="RESTRICT"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_events")),
    )
    op.create_index(op.f("ix_events_case_id"), "events", ["case_id"], unique=False)
    op.create_index(op.f("ix_events_mark_id"), "events", ["mark_id"], unique=False)


def _words() -> None:
    """What the search looks words up in."""
    op.create_table(
        "spoken",
        sa.Column("stem", sa.String(length=60), nullable=False),
        sa.Column("segment_key", sa.Integer(), nullable=False),
        sa.Column("times", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["segment_key"], ["segments.key"], name=op.f("fk_spoken_segment_key_segments"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("stem", "segment_key", name=op.f("pk_spoken")),
    )
    op.create_index(op.f("ix_spoken_segment_key"), "spoken", ["segment_key"], unique=False)
    op.create_table(
        "spoken_texts",
        sa.Column("segment_key", sa.Integer(), nullable=False),
        sa.Column("words", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["segment_key"], ["segments.key"], name=op.f("fk_spoken_texts_segment_key_segments"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("segment_key", name=op.f("pk_spoken_texts")),
    )
