"""A PostgreSQL server of the tests' own: made, started and thrown away here.

It listens on a socket in its own folder only, and runs as an unprivileged user where the tests run
as root, which PostgreSQL refuses. A server somebody else runs is never touched.
"""

from __future__ import annotations

import contextlib
import getpass
import os
import shutil
import subprocess
import tempfile
from pathlib import Path

USUAL = (
    *sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True),
    Path("/usr/local/bin"),
    Path("/usr/local/pgsql/bin"),
    Path("/opt/homebrew/bin"),
    *sorted(Path("/opt/homebrew/opt").glob("postgresql*/bin"), reverse=True),
    Path("/usr/bin"),
)
PATIENT_S = 60


class NoServerError(Exception):
    """PostgreSQL is not on this computer, or nobody is there to run it as."""


def find_binaries():
    """The folder that holds ``initdb`` and ``postgres``."""
    places = list(USUAL)
    if on_path := shutil.which("initdb"):
        places.insert(0, Path(on_path).resolve().parent)
    for place in places:
        if all((place / name).exists() for name in ("initdb", "postgres", "pg_ctl")):
            return place
    raise NoServerError("no PostgreSQL (initdb, pg_ctl, postgres) in the usual places")


def _find_user():
    if not hasattr(os, "geteuid") or os.geteuid() != 0:
        return None
    import pwd

    for name in ("postgres", "nobody"):
        with contextlib.suppress(KeyError):
            return pwd.getpwnam(name).pw_name
    raise NoServerError("tests run as root and there is no user 'postgres' or 'nobody' to run as")


class Cluster:
    """A server with its data folder; `url` of a fresh database on every call of `new_database`."""

    def __init__(self):
        if not hasattr(os, "geteuid"):
            raise NoServerError("the throw-away server needs unix sockets")
        self.binaries = find_binaries()
        self.user = _find_user()
        # a path of a socket may be a hundred characters long: not below pytest's own folder
        self.folder = Path(tempfile.mkdtemp(prefix="sunup-pg-"))
        self.n = 0
        if self.user:
            shutil.chown(self.folder, self.user)
        self.folder.chmod(0o755)
        try:
            self._run(
                "initdb", "-D", self.data, "-U", "sunup", "-A", "trust", "-E", "UTF8",
                "--locale=C", "--no-sync",
            )  # fmt: skip
            self.start()
        except BaseException:
            self.stop_for_good()
            raise

    @property
    def data(self):
        return str(self.folder / "data")

    def start(self):
        options = f"-c listen_addresses='' -c unix_socket_directories='{self.folder}'"
        self._run("pg_ctl", "-D", self.data, "-w", "-l", str(self.folder / "log"),
                  "-o", options, "start")  # fmt: skip

    def stop(self, mode="fast"):
        self._run("pg_ctl", "-D", self.data, "-w", "-m", mode, "stop")

    def stop_for_good(self):
        with contextlib.suppress(subprocess.SubprocessError):
            self.stop("immediate")
        shutil.rmtree(self.folder, ignore_errors=True)

    def url(self, database):
        return f"postgresql://sunup@/{database}?host={self.folder}"

    def run_sql(self, statement, database="postgres"):
        import psycopg

        with psycopg.connect(self.url(database), autocommit=True) as connection:
            cursor = connection.execute(statement)
            return cursor.fetchall() if cursor.description else []

    def new_database(self, extra=""):
        self.n += 1
        name = f"ledger{self.n}"
        self.run_sql(f"CREATE DATABASE {name} TEMPLATE template0 {extra}")
        return self.url(name)

    def drop(self, url):
        name = url.partition("@/")[2].partition("?")[0]
        self.run_sql(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")

    def _run(self, *words):
        program, *rest = words
        environment = {
            "PATH": os.environ.get("PATH", ""),
            "LC_ALL": "C",
            "HOME": str(self.folder),
            "USER": self.user or getpass.getuser(),
        }
        errors = self.folder / "errors"
        with errors.open("w") as said:
            done = subprocess.run(
                [str(self.binaries / program), *rest],
                user=self.user,
                group=None if self.user is None else _group_of(self.user),
                extra_groups=None if self.user is None else [],
                env=environment,
                cwd=self.folder,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,  # a pipe would stay open for as long as the server runs
                stderr=said,
                timeout=PATIENT_S,
                check=False,
            )
        if done.returncode:
            raise subprocess.SubprocessError(errors.read_text()[-2000:])


def _group_of(user):
    import grp
    import pwd

    return grp.getgrgid(pwd.getpwnam(user).pw_gid).gr_name
