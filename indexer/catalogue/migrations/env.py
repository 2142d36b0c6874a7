"""What Alembic runs: the migrations, on the connection that the program hands over."""

from alembic import context

from indexer.catalogue.tables import metadata


def run() -> None:
    """Bring the schema up within the transaction that the caller has begun."""
    connection = context.config.attributes["connection"]
    context.configure(connection=connection, target_metadata=metadata, render_as_batch=True)
    with context.begin_transaction():
        context.run_migrations()


run()
