"""A writer is killed at any moment: what it said is recorded is there, once, and all is sound.

The number of kills is 20 a database; SUNUP_SOAK_KILLS asks for more (``make soak``: 1,000). On
PostgreSQL every fifth kill takes the server down with it, as a power cut would. A kill of a process
shows that transactions are whole; it does not show what a drive does with its own cache.
"""

from __future__ import annotations

import os
import queue
import random
import signal
import subprocess
import sys
import threading
import time
from collections import Counter
from pathlib import Path

import pytest

from sunup.app.open import open_ledger
from sunup.store.verify import verify_ledger

KILLS = int(os.environ.get("SUNUP_SOAK_KILLS", "20"))
A_LEDGER_EACH = 25  # kills; then a new one, so that reading it all stays short
PATIENT_S = 60
SUPPORT = Path(__file__).parents[1] / "support"


class Writers:
    """The program that starts writers, and what they told."""

    def __init__(self, where):
        paths = [str(SUPPORT), os.environ.get("PYTHONPATH", "")]
        self.process = subprocess.Popen(
            [sys.executable, str(SUPPORT / "killed_writer.py"), where],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, paths))},
        )
        self.told = queue.Queue()
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self):
        for line in self.process.stdout:
            self.told.put(line.strip())
        self.told.put("end")

    def start(self, number):
        self.process.stdin.write(f"{number}\n")
        self.process.stdin.flush()

    def next(self):
        line = self.told.get(timeout=PATIENT_S)
        assert line != "end", "the writers' program ended by itself"
        return line

    def close(self):
        self.process.stdin.close()
        self.process.wait(PATIENT_S)
        self.process.stdout.close()


def kill_one(writers, number, luck):
    """Start a writer, kill it at a random moment; the ids it told."""
    acknowledged = []
    pid = None
    writers.start(number)
    wanted = luck.choice([0, 0, 1, 20, 60, 150])  # ids told before the clock starts
    while pid is None or len(acknowledged) < wanted:
        line = writers.next()
        if line.startswith("pid "):
            pid = int(line.split()[1])
        else:
            assert not line.startswith(("failed", "gone")), line
            acknowledged.append(line)
    time.sleep(luck.uniform(0, 0.04))
    os.kill(pid, signal.SIGKILL)
    while (line := writers.next()) != f"gone {pid}":
        assert not line.startswith("failed"), line
        acknowledged.append(line)
    return acknowledged


def check(where, acknowledged):
    """Everything told is there, once; every batch whole; the fold equal; nothing damaged."""
    with open_ledger(where, create=True) as ledger:
        found = verify_ledger(ledger)
    assert found.problems == ()
    ids = Counter(e.id for e in found.events)
    assert [i for i, n in ids.items() if n > 1] == []
    assert set(acknowledged) <= set(ids)
    batches = Counter(e.body["note"] for e in found.events)
    assert [b for b, n in batches.items() if n != int(b.split("/")[2])] == []
    return len(ids)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="writers are forked: no fork here")
@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_what_a_killed_writer_said_is_recorded_is_there_once(kind, request, tmp_path):
    server = request.getfixturevalue("cluster") if kind == "postgresql" else None
    luck = random.Random(2027)  # noqa: S311  a moment, not a secret
    events = told = done = 0
    while done < KILLS:
        where = server.new_database() if server else str(tmp_path / f"{done}.db")
        writers = Writers(where)
        acknowledged = []
        for number in range(min(A_LEDGER_EACH, KILLS - done)):
            acknowledged += kill_one(writers, number, luck)
            done += 1
            if server and number % 5 == 4:
                server.stop("immediate")
                server.start()
            n = check(where, acknowledged)
        writers.close()
        events += n
        told += len(acknowledged)
        if server:
            server.drop(where)
    sys.stdout.write(f"{kind}: {done} kills, {told} events told, {events} on file\n")
    assert told > KILLS  # the writers did get to write
