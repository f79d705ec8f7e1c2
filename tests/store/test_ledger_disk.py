"""A disk that is full, or cannot be written to: said in words, nothing half-written.

Full is tried in every way this computer lets us: a page limit (SQLite's own word for full), a limit
on the size of a file, and a small disk of memory that is truly full.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
import typer
from ledger_events import season

from sunup.app.open import open_ledger
from sunup.cli.main import app
from sunup.store.copies import copy_file
from sunup.store.faults import EmptyLedgerError, FullError, LedgerError, ReadOnlyError
from sunup.store.verify import verify_ledger

FIRST = season(3, seed="first")
MANY = season(2_000, seed="many")
IS_ROOT = hasattr(os, "geteuid") and os.geteuid() == 0
SUPPORT = Path(__file__).parents[1] / "support"


@pytest.fixture
def small_disk():
    """A disk of 8 MiB, as a function that makes it and returns its folder."""
    folder = Path(tempfile.mkdtemp(prefix="sunup-disk-"))
    mounted = []

    def make(*options):
        words = ["mount", "-t", "tmpfs", "-o", ",".join(("size=8m", *options)), "tmpfs"]
        done = None
        if IS_ROOT and shutil.which("mount"):
            done = subprocess.run([*words, str(folder)], capture_output=True, check=False)
        if done is None or done.returncode:
            pytest.skip("this user may not mount a small disk; the other ways were tried")
        mounted.append(folder)
        return folder

    yield make
    if mounted:
        subprocess.run(["umount", str(folder)], check=True)
    folder.rmdir()


def fill(ballast):
    """Write a file until the disk it is on is full."""
    with ballast.open("wb", buffering=0) as file, contextlib.suppress(OSError):
        while file.write(b"x" * 4096):
            pass


def check_only_the_first_is_there(where):
    with open_ledger(where, read_only=True) as ledger:
        found = verify_ledger(ledger)
    assert found.problems == ()
    assert found.events == tuple(FIRST)


def test_a_full_disk_is_told_and_what_was_there_stays(tmp_path):
    """SQLite's own "full", by a limit on pages."""
    where = tmp_path / "sunup.db"
    with open_ledger(where, create=True) as ledger:
        ledger.append(FIRST)
        with ledger.engine.connect() as connection:
            used = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
            connection.exec_driver_sql(f"PRAGMA max_page_count={used + 20}")
        with pytest.raises(FullError, match="NOT recorded; everything before it is"):
            ledger.append(MANY)
        assert ledger.events() == tuple(FIRST)
        ledger.append(season(1, seed="small"))  # what fits still goes in
        assert verify_ledger(ledger).problems == ()


def test_a_truly_full_disk_is_told_and_writing_goes_on_once_there_is_room(small_disk):
    folder = small_disk()
    where = folder / "sunup.db"
    with open_ledger(where, create=True) as ledger:
        ledger.append(FIRST)
        ballast = folder / "ballast"
        fill(ballast)
        with pytest.raises(FullError, match="Free some space and enter it again"):
            ledger.append(MANY)
        assert ledger.events() == tuple(FIRST)
        assert verify_ledger(ledger).problems == ()
        with pytest.raises(LedgerError):
            copy_file(where, folder / "copy.db")
        assert sorted(p.name for p in folder.iterdir() if "copy" in p.name) == []
        ballast.unlink()
        ledger.append(FIRST + MANY[:50])
        assert ledger.count() == len(FIRST) + 50
        assert verify_ledger(ledger).problems == ()


def test_a_ledger_that_cannot_be_begun_on_a_full_disk_leaves_none_behind(small_disk):
    folder = small_disk()
    fill(folder / "ballast")
    with pytest.raises(FullError):
        open_ledger(folder / "sunup.db", create=True)
    (folder / "ballast").unlink()
    with open_ledger(folder / "sunup.db", create=True) as ledger:
        assert ledger.append(FIRST).new == len(FIRST)


@pytest.mark.skipif(sys.platform == "win32", reason="Windows knows no limit on file sizes")
def test_a_limit_on_file_sizes_is_told_like_a_full_disk(tmp_path):
    where = tmp_path / "sunup.db"
    with open_ledger(where, create=True) as ledger:
        ledger.append(FIRST)
    script = """
import resource, signal, sys
from ledger_events import season
from sunup.app.open import open_ledger
from sunup.store.faults import LedgerError
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
with open_ledger(sys.argv[1]) as ledger:
    resource.setrlimit(resource.RLIMIT_FSIZE, (300_000, 300_000))
    try:
        ledger.append(season(2_000, seed="many"))
    except LedgerError as error:
        print(error)
"""
    done = subprocess.run(
        [sys.executable, "-c", script, str(where)],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": str(SUPPORT)},
    )
    assert "Nothing was recorded" in done.stdout or "NOT recorded" in done.stdout
    check_only_the_first_is_there(where)


def test_a_full_disk_of_the_server_is_told(cluster, small_disk):
    """The tables stand on a disk that is full; the server itself lives on.

    A connection begun meanwhile may need room of its own: what is read is read once there is some.
    """
    folder = small_disk("size=9m")
    ballast = folder / "ballast"
    ballast.write_bytes(bytes(2**20))
    space = folder / "space"
    space.mkdir()
    if cluster.user:
        shutil.chown(space, cluster.user)
    cluster.run_sql(f"CREATE TABLESPACE small LOCATION '{space}'")
    url = None
    try:
        url = cluster.new_database("TABLESPACE small")
    except Exception as error:
        if "No space left" not in str(error):
            raise
        cluster.run_sql("DROP TABLESPACE small")
        pytest.fail("8 MiB are too few for an empty database; make the small disk larger")
    try:
        with open_ledger(url, create=True) as ledger:
            ledger.append(FIRST)
            with pytest.raises(FullError, match="NOT recorded"):
                ledger.append(MANY)
            ballast.unlink()
            assert ledger.events() == tuple(FIRST)
            assert verify_ledger(ledger).problems == ()
    finally:
        ballast.unlink(missing_ok=True)
        cluster.drop(url)
        cluster.run_sql("DROP TABLESPACE small")


# cannot be written to ------------------------------------------------------------------------


def test_a_disk_that_cannot_be_written_to_is_told_and_can_still_be_read(small_disk):
    folder = small_disk()
    where = folder / "sunup.db"
    with open_ledger(where, create=True) as ledger:
        ledger.append(FIRST)
    subprocess.run(["mount", "-o", "remount,ro", str(folder)], check=True)
    with pytest.raises(ReadOnlyError, match="nothing was recorded"), open_ledger(where) as ledger:
        ledger.append(MANY)
    with pytest.raises(ReadOnlyError):
        open_ledger(folder / "new.db", create=True)
    check_only_the_first_is_there(where)


@pytest.mark.skipif(sys.platform == "win32", reason="folders are guarded otherwise on Windows")
def test_a_folder_that_may_not_be_written_to_is_told(tmp_path):
    """As a user who may only read: root may write anywhere, so another user is put on."""
    folder = Path(tempfile.mkdtemp(prefix="sunup-locked-"))
    where = folder / "sunup.db"
    warm = str(tmp_path / "warm.db")
    try:
        with open_ledger(where, create=True) as ledger:
            ledger.append(FIRST)
        where.chmod(0o444)
        folder.chmod(0o555)
        script = """
import os, sys
from ledger_events import season
from sunup.app.open import open_ledger
from sunup.store.faults import ReadOnlyError
with open_ledger(sys.argv[2], create=True) as warm:  # all is loaded while that is allowed
    warm.append(season(2))
if sys.argv[3] == "root":
    os.setgroups([])
    os.setgid(65534)
    os.setuid(65534)
for path in (sys.argv[1], sys.argv[1].replace("sunup.db", "new.db")):
    try:
        with open_ledger(path, create="new" in path) as ledger:
            ledger.append(season(10, seed="more"))
    except ReadOnlyError as error:
        print(error)
with open_ledger(sys.argv[1], read_only=True) as ledger:
    print(ledger.count())
"""
        done = subprocess.run(
            [sys.executable, "-c", script, str(where), warm, "root" if IS_ROOT else "user"],
            capture_output=True,
            text=True,
            check=False,
            cwd="/",
            env={"PATH": os.environ["PATH"], "PYTHONPATH": str(SUPPORT)},
        )
        assert done.returncode == 0, done.stderr
        assert done.stdout.count("cannot be written to, so nothing was recorded") == 2
        assert done.stdout.endswith(f"\n{len(FIRST)}\n")
    finally:
        folder.chmod(0o755)
        shutil.rmtree(folder)


# full, or not to be written to: everything can still be read and rescued ----------------------


def left_full(folder):
    """A ledger that was closed on a disk that then filled up."""
    where = folder / "sunup.db"
    with open_ledger(where, create=True) as ledger:
        ledger.append(FIRST)
    fill(folder / "ballast")
    return where


def test_a_ledger_on_a_full_disk_can_be_read_and_copied_to_another(small_disk, tmp_path):
    where = left_full(small_disk())
    check_only_the_first_is_there(where)
    copy_file(where, tmp_path / "rescued.db")
    check_only_the_first_is_there(tmp_path / "rescued.db")
    with pytest.raises(LedgerError, match=r"NOT recorded|Nothing was recorded"):
        open_ledger(where).append(MANY)


@pytest.mark.parametrize("state", ["full", "read-only"])
def test_what_is_on_file_can_be_looked_at_whatever_the_disk(small_disk, state, capsys):
    folder = small_disk()
    where = left_full(folder)
    if state == "read-only":
        (folder / "ballast").unlink()
        subprocess.run(["mount", "-o", "remount,ro", str(folder)], check=True)
    command = typer.main.get_command(app)
    command.main(["stock", "show", "--ledger", str(where)], "sunup", standalone_mode=False)
    told = capsys.readouterr()
    assert "stock at" in told.out
    assert "only read" in told.err


def test_a_backup_to_a_disk_that_cannot_be_written_to_is_told(small_disk, tmp_path):
    folder = small_disk()
    subprocess.run(["mount", "-o", "remount,ro", str(folder)], check=True)
    where = tmp_path / "sunup.db"
    with open_ledger(where, create=True) as ledger:
        ledger.append(FIRST)
    with pytest.raises(ReadOnlyError, match="cannot be written to"):
        copy_file(where, folder / "backup.db")


# cut to nothing --------------------------------------------------------------------------------


def test_a_ledger_cut_to_nothing_is_not_begun_anew(tmp_path):
    where = tmp_path / "sunup.db"
    with open_ledger(where, create=True) as ledger:
        ledger.append(FIRST)
    where.write_bytes(b"")
    for more in ({}, {"read_only": True}):
        with pytest.raises(EmptyLedgerError, match=r"empty \(0 bytes\).*sunup ledger restore"):
            open_ledger(where, **more)
    hour_ago = where.stat().st_mtime - 3600
    os.utime(where, (hour_ago, hour_ago))
    with pytest.raises(EmptyLedgerError):
        open_ledger(where, create=True)
    assert where.stat().st_size == 0
