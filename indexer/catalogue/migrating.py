"""Alembic, run from inside the program: no configuration file, and the same from a checkout and a wheel."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import Connection

MIGRATIONS = Path(__file__).parent / "migrations"


def configured(connection: Connection | None = None) -> Config:
    """Alembic's configuration for the migrations of this package."""
    config = Config()
    # A percent sign would be read as a reference to another value.
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    config.attributes["connection"] = connection
    return config


def knows(revision: str) -> bool:
    """Whether a schema of that name is one of ours."""
    return any(script.revision == revision for script in ScriptDirectory.from_config(configured()).walk_revisions())


def upgrade(connection: Connection) -> None:
    """Migrate to the newest schema within the transaction of the connection."""
    command.upgrade(configured(connection), "head")
