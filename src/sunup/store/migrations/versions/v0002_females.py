"""Tables drawn from the ledger: an index of the females, and what else an event touches."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make the tables, empty; they are drawn right after (``sunup.store.schema``)."""
    op.create_table(
        "female_index",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("ranch", sa.Text, nullable=False),
        sa.Column("tag", sa.Text, nullable=False),
        sa.Column("rfid", sa.Text),
        sa.Column("grp", sa.Text, nullable=False),
        sa.Column("here", sa.Integer, nullable=False),
        sa.Column("listed", sa.Integer, nullable=False),
        sa.Column("n_events", sa.Integer, nullable=False),
        sa.Column("last_event", sa.Text, sa.ForeignKey("event.id")),
    )
    op.create_index("female_index_tag", "female_index", ["ranch", "tag"])
    op.create_index("female_index_rfid", "female_index", ["ranch", "rfid"])
    op.create_table(
        "also_about",
        sa.Column("event", sa.Text, sa.ForeignKey("event.id"), primary_key=True),
        sa.Column("female", sa.Text, primary_key=True),
    )
    op.create_index("also_about_female", "also_about", ["female"])
