"""Writes batches into a ledger until it is killed, telling each id after it is recorded.

Run as a program with the ledger as its argument. Every line "N" on its input starts a fresh writer
(a fork: nothing of the one before is left) whose batches are numbered from N; its process id is
told first. A batch's events name the batch and how many they are, so that half a batch would show.
"""

from __future__ import annotations

import os
import sys

from ledger_events import START, event, made_id

from sunup.app.open import open_ledger
from sunup.records.event import Kind

BATCHES = 10_000


def make_batch(number, batch):
    """1 to 40 events on a few females, some of them added in this very batch."""
    n = 1 + (batch * 7 + number) % 40
    events = []
    for i in range(n):
        female = made_id(number, batch, i // 4)
        note = f"{number}/{batch}/{n}"
        if i % 4 == 0:
            body = {"tag": f"{number}-{batch}-{i // 4}", "listed": True, "note": note}
            kind = Kind.FEMALE_ADDED
        else:
            kind, body = Kind.WEIGHED, {"weight_kg": 500.5 + i, "note": note}
        id_ = made_id(number, batch, "event", i)
        events.append(event(kind, at=START, id_=id_, female=female, body=body))
    return events


def write(where, number):
    with open_ledger(where, create=True) as ledger:
        for batch in range(BATCHES):
            events = make_batch(number, batch)
            ledger.append(events)
            # below the size that a pipe takes whole: no id is ever told in part
            os.write(1, "".join(f"{e.id}\n" for e in events).encode())


def main():
    import alembic.command  # noqa: F401  so that a fork need not load it
    import psycopg  # noqa: F401

    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            try:
                write(sys.argv[1], int(line))
            except BaseException as error:  # noqa: BLE001  told, then gone without cleaning up
                os.write(1, f"failed {error!r}\n".encode())
            os._exit(3)
        os.write(1, f"pid {child}\n".encode())
        os.waitpid(child, 0)
        os.write(1, f"gone {child}\n".encode())


if __name__ == "__main__":
    main()
