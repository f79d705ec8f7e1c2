"""The ledger: one table, and triggers that refuse to change it."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

WORDS = "The ledger is never changed and nothing is taken out of it: record a correction instead."

SQLITE = (
    f"""CREATE TRIGGER event_not_changed BEFORE UPDATE ON event
        BEGIN SELECT RAISE(ABORT, '{WORDS}'); END""",
    f"""CREATE TRIGGER event_not_removed BEFORE DELETE ON event
        BEGIN SELECT RAISE(ABORT, '{WORDS}'); END""",
    # INSERT OR REPLACE removes the row in its way without asking the trigger above
    f"""CREATE TRIGGER event_not_replaced BEFORE INSERT ON event
        WHEN EXISTS (SELECT 1 FROM event WHERE id = NEW.id)
          OR (NEW.seq > 0 AND EXISTS (SELECT 1 FROM event WHERE seq = NEW.seq))
        BEGIN SELECT RAISE(ABORT, '{WORDS}'); END""",  # noqa: S608  words of ours
)
POSTGRESQL = (
    f"""CREATE FUNCTION event_refuses() RETURNS trigger LANGUAGE plpgsql AS
        $$ BEGIN RAISE EXCEPTION '{WORDS}'; END $$""",
    """CREATE TRIGGER event_not_changed BEFORE UPDATE OR DELETE OR TRUNCATE ON event
       FOR EACH STATEMENT EXECUTE FUNCTION event_refuses()""",
    # a session that replays another server's rows would pass an ordinary trigger by
    "ALTER TABLE event ENABLE ALWAYS TRIGGER event_not_changed",
    "CREATE INDEX event_ranch_seq ON event (ranch, seq)",
)


def upgrade() -> None:
    """Make the table, its indexes and its triggers."""
    op.create_table(
        "event",
        sa.Column(
            "seq",
            sa.BigInteger().with_variant(sa.Integer, "sqlite"),
            sa.Identity(always=True),
            primary_key=True,
        ),
        sa.Column("id", sa.Text, nullable=False, unique=True),
        sa.Column("ranch", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("occurred_at", sa.Text, nullable=False),
        sa.Column("zone", sa.Text, nullable=False),
        sa.Column("entered_at", sa.Text, nullable=False),
        sa.Column("entered_by", sa.Text, nullable=False),
        sa.Column("device", sa.Text, nullable=False),
        sa.Column("clock_offset_s", sa.Double),
        sa.Column("female", sa.Text),
        sa.Column("grp", sa.Text),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("corrects", sa.Text),
        sqlite_autoincrement=True,
    )
    op.create_index("event_ranch_kind", "event", ["ranch", "kind"])
    op.create_index("event_female", "event", ["female"])
    op.create_index("event_corrects", "event", ["corrects"])
    is_sqlite = op.get_bind().dialect.name == "sqlite"
    for statement in SQLITE if is_sqlite else POSTGRESQL:
        op.execute(statement)
