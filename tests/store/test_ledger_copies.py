"""Backups are sound while others write, and putting one back loses nothing."""

from __future__ import annotations

import subprocess
import sys
import threading
from pathlib import Path

import pytest
from ledger_events import season

from sunup.app.open import open_ledger
from sunup.store.copies import copy_file, put_back
from sunup.store.faults import LedgerError, NotALedgerError
from sunup.store.verify import verify_ledger

FIRST, SECOND = season(5, seed="first"), season(5, seed="second")
BIG = season(300, seed="big")


@pytest.fixture
def where(tmp_path):
    return tmp_path / "sunup.db"


def read(path):
    with open_ledger(path) as ledger:
        found = verify_ledger(ledger)
    assert found.problems == ()
    return found.events


def test_a_copy_made_while_others_write_is_one_moment_of_the_ledger(where, tmp_path):
    """Whole batches only, and no writer is held up or fails."""
    batches = [season(3, seed=n) for n in range(60)]
    failed = []
    with open_ledger(where, create=True) as ledger:
        ledger.append(BIG)

        def write():
            try:
                for batch in batches:
                    ledger.append(batch)
            except LedgerError as error:
                failed.append(error)

        writer = threading.Thread(target=write)
        writer.start()
        copies = []
        while writer.is_alive():
            copies.append(tmp_path / f"copy{len(copies)}.db")
            copy_file(where, copies[-1])
        writer.join()
        assert failed == []
        assert ledger.count() == len(BIG) + sum(map(len, batches))
    assert len(copies) > 1
    sizes = []
    for copy in copies:
        events = read(copy)
        sizes.append(len(events))
        n = 0
        whole = list(BIG)
        while len(whole) < len(events):
            whole += batches[n]
            n += 1
        assert events == tuple(whole)
    assert sizes == sorted(sizes)


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
        threading.Event().wait(wait)
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
