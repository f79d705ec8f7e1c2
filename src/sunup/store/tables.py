"""The tables of a ledger, as they stand after the last migration.

`event` is the ledger: rows are added, never changed, never removed (triggers refuse it). All other
tables are drawn from it and may be thrown away at any time (``index.py``).

Instants are text, UTC, always with microseconds: ``2027-05-25T14:30:00.000000Z``. So they sort as
they happened, in both databases, and come back as they went in. A body is JSON text, not a binary
form: those lose how a number was written.
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Column,
    Double,
    ForeignKey,
    Identity,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
)

metadata = MetaData()

event_table = Table(
    "event",
    metadata,
    Column(
        "seq",
        BigInteger().with_variant(Integer, "sqlite"),
        Identity(always=True),
        primary_key=True,
    ),
    Column("id", Text, nullable=False, unique=True),
    Column("ranch", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("version", Integer, nullable=False),
    Column("occurred_at", Text, nullable=False),
    Column("zone", Text, nullable=False),
    Column("entered_at", Text, nullable=False),
    Column("entered_by", Text, nullable=False),
    Column("device", Text, nullable=False),
    Column("clock_offset_s", Double),
    Column("female", Text),
    Column("grp", Text),
    Column("body", Text, nullable=False),
    Column("corrects", Text),
    Index("event_ranch_kind", "ranch", "kind"),
    Index("event_female", "female"),
    Index("event_corrects", "corrects"),
    sqlite_autoincrement=True,
)
# where hundreds of ranches share a table; a file of one ranch is read along seq itself
Index("event_ranch_seq", event_table.c.ranch, event_table.c.seq).ddl_if(dialect="postgresql")

female_index = Table(
    "female_index",
    metadata,
    Column("id", Text, primary_key=True),
    Column("ranch", Text, nullable=False),
    Column("tag", Text, nullable=False),
    Column("rfid", Text),
    Column("grp", Text, nullable=False),
    Column("here", Integer, nullable=False),  # 0: she left the herd
    Column("listed", Integer, nullable=False),  # 0: met at the chute, on no list
    Column("n_events", Integer, nullable=False),
    Column("last_event", Text, ForeignKey("event.id")),
    Index("female_index_tag", "ranch", "tag"),
    Index("female_index_rfid", "ranch", "rfid"),
)

# females an event touches besides the one it is filed under: the other half of an
# identification, the right female of a correction
also_about = Table(
    "also_about",
    metadata,
    Column("event", Text, ForeignKey("event.id"), primary_key=True),
    Column("female", Text, nullable=False, primary_key=True),
    Index("also_about_female", "female"),
)
