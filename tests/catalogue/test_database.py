"""The schema, its migrations, and what SQLite was told."""

import subprocess
import sys
from pathlib import Path

from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory

from indexer.catalogue.library import Library
from indexer.catalogue.migrating import configured
from indexer.catalogue.tables import SCHEMA, metadata
from indexer.vocabulary.vocabulary import Vocabulary


def test_migrations_from_empty_make_the_tables_as_declared(library: Library) -> None:
    with library._database.reading() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, metadata) == []


def test_the_schema_named_is_the_newest_migration() -> None:
    assert ScriptDirectory.from_config(configured()).get_current_head() == SCHEMA


def test_migrations_can_be_taken_back(library: Library) -> None:
    from alembic import command
    from sqlalchemy import inspect

    with library._database.writing() as connection:
        command.downgrade(configured(connection), "base")
        assert set(inspect(connection).get_table_names()) <= {"alembic_version"}


def test_sqlite_is_told_to_keep_a_log_and_references(library: Library) -> None:
    """sqlite.org, "PRAGMA Statements": foreign keys are off unless asked for on each connection."""
    with library._database.reading() as connection:
        assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1


def test_tables_can_be_made_by_postgresql_as_well() -> None:
    from sqlalchemy.dialects import postgresql
    from sqlalchemy.schema import CreateTable

    for table in metadata.sorted_tables:
        assert "CREATE TABLE" in str(CreateTable(table).compile(dialect=postgresql.dialect()))


def test_an_opened_library_does_not_load_alembic_again(tmp_path: Path, vocabulary: Vocabulary) -> None:
    """Loading it takes longer than a whole search."""
    Library.open(tmp_path / "library", vocabulary=vocabulary).close()
    program = (
        "import sys; from pathlib import Path; from indexer.catalogue.library import Library;"
        "from indexer.vocabulary.vocabulary import Vocabulary;"
        f"Library.open(Path({str(tmp_path / 'library')!r}), vocabulary=Vocabulary([])).close();"
        "sys.exit('alembic' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0


def test_a_second_program_sees_the_same_library(tmp_path: Path, vocabulary: Vocabulary) -> None:
    with (
        Library.open(tmp_path / "library", vocabulary=vocabulary) as one,
        Library.open(tmp_path / "library", vocabulary=vocabulary) as other,
    ):
        heron = one.person("Heron")
        assert other.person("Heron") == heron
        assert one.owner == other.owner
