"""Backups are sound while others write, and putting one back loses nothing."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
from killed_writer import make_batch
from ledger_events import season

from sunup.app.open import open_ledger
from sunup.store.copies import copy_file, put_back
from sunup.store.faults import NotALedgerError
from sunup.store.verify import verify_ledger

FIRST, SECOND = season(5, seed="first"), season(5, seed="second")
BIG = season(300, seed="big")
SUPPORT = Path(__file__).parents[1] / "support"


@pytest.fixture
def where(tmp_path):
    return tmp_path / "sunup.db"


def read(path):
    with open_ledger(path) as ledger:
        found = verify_ledger(ledger)
    assert found.problems == ()
    return found.events


WRITE = """
import sys
from killed_writer import make_batch
from sunup.app.open import open_ledger
with open_ledger(sys.argv[1]) as ledger:
    print("go", flush=True)
    for batch in range(60):
        assert ledger.append(make_batch(1, batch)).refused == ()
"""


def test_a_copy_made_while_another_program_writes_is_one_moment_of_the_ledger(where, tmp_path):
    """Whole batches only, each copy a beginning of what came to stand; the writer never fails."""
    with open_ledger(where, create=True) as ledger:
        ledger.append(BIG)
    paths = [str(SUPPORT), os.environ.get("PYTHONPATH", "")]
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITE, str(where)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, paths))},
    )
    writer.stdout.readline()
    copies = []
    while writer.poll() is None:
        copies.append(tmp_path / f"copy{len(copies)}.db")
        copy_file(where, copies[-1])
    _, said = writer.communicate()
    assert writer.returncode == 0, said
    assert len(copies) > 2
    everything = read(where)
    ends = {len(BIG)}
    for batch in range(60):
        ends.add(max(ends) + len(make_batch(1, batch)))
    assert len(everything) == max(ends)
    for copy in copies:
        events = read(copy)
        assert len(events) in ends
        assert events == everything[: len(events)]


def test_a_copy_is_one_file_and_is_never_written_over_another(where, tmp_path):
    with open_ledger(where, create=True) as ledger:
        ledger.append(FIRST)
        copy = tmp_path / "kept" / "copy.db"
        copy.parent.mkdir()
        copy_file(where, copy)
        assert [p.name for p in copy.parent.iterdir()] == ["copy.db"]
        with pytest.raises(FileExistsError):
            copy_file(where, copy)
    assert read(copy) == tuple(FIRST)


def test_what_is_put_back_is_seen_by_a_program_that_has_the_ledger_open(where, tmp_path):
    copy = tmp_path / "copy.db"
    with open_ledger(where, create=True) as ledger:
        ledger.append(FIRST)
        copy_file(where, copy)
        ledger.append(SECOND + BIG)
        put_back(copy, where)
        assert ledger.events() == tuple(FIRST)
        assert ledger.append(SECOND).new == len(SECOND)
        with ledger.engine.connect() as connection:
            assert connection.exec_driver_sql("PRAGMA journal_mode").scalar_one() == "wal"
    assert read(where) == tuple(FIRST + SECOND)


def test_a_program_killed_while_putting_back_leaves_the_old_or_the_new(where, tmp_path):
    copy = tmp_path / "copy.db"
    with open_ledger(where, create=True) as ledger:
        ledger.append(BIG)
        copy_file(where, copy)
        ledger.append(FIRST)
    script = (
        "import sys; from pathlib import Path; from sunup.store.copies import put_back\n"
        "print('go', flush=True)\n"
        "while True: put_back(Path(sys.argv[1]), Path(sys.argv[2]))"
    )
    for wait in (0.0, 0.003, 0.01, 0.02, 0.05):
        process = subprocess.Popen(
            [sys.executable, "-c", script, str(copy), str(where)], stdout=subprocess.PIPE
        )
        process.stdout.readline()
        time.sleep(wait)
        process.kill()
        process.wait()
        process.stdout.close()
        assert read(where) in (tuple(BIG), tuple(BIG + FIRST))


@pytest.mark.parametrize("content", [b"no ledger", b"", None])
def test_what_is_no_backup_is_not_put_back(where, tmp_path, content):
    with open_ledger(where, create=True) as ledger:
        ledger.append(FIRST)
    other = tmp_path / "other"
    if content is not None:
        Path(other).write_bytes(content)
    with pytest.raises(NotALedgerError):
        put_back(other, where)
    assert read(where) == tuple(FIRST)
    assert content is not None or not other.exists()
