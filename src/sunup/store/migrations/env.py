"""What Alembic runs: the steps, on the connection (and in the transaction) it is handed."""

from __future__ import annotations

from alembic import context


def run() -> None:
    """Run the steps on ``config.attributes["connection"]``; the caller commits."""
    context.configure(connection=context.config.attributes["connection"])
    context.run_migrations()


if __name__ != "sunup.store.migrations.env":  # Alembic loads this file under a name of its own
    run()
