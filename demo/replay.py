"""Play a script of ``sunup`` commands, as if they were typed one after another at their hours.

``python demo/replay.py SCRIPT... `` runs every line of the scripts through the very commands a user
has, in this one process (starting the program 150 times would take minutes). The clock of each is
set to its --until, else its --at, else a minute after the one before; everything it writes is kept
in the ledger that SUNUP_LEDGER names. A line that ends with a backslash goes on in the next.
"""

# ruff: noqa: INP001 - a script, not a package
from __future__ import annotations

import contextlib
import io
import os
import shlex
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

ZONE = ZoneInfo("America/Denver")
FINE, PROBLEMS = 0, 1


def read_script(path: Path) -> list[list[str]]:
    """The commands of a script, word by word, without the word sunup."""
    whole = path.read_text(encoding="utf-8").replace("\\\n", " ")
    lines = [line.strip() for line in whole.splitlines()]
    return [shlex.split(line)[1:] for line in lines if line.startswith("sunup ")]


def clock_of(words: list[str], before: datetime) -> datetime:
    """Where the clock stands for a command."""
    for flag in ("--until", "--at"):
        if flag in words:
            told = datetime.fromisoformat(words[words.index(flag) + 1])
            return max(told.replace(tzinfo=ZONE), before + timedelta(seconds=1))
    if "--as-of" in words:
        told = datetime.fromisoformat(words[words.index("--as-of") + 1])
        return max(told.replace(hour=18, tzinfo=ZONE), before + timedelta(seconds=1))
    return before + timedelta(minutes=1)


def play(paths: list[Path], *, out: io.TextIOBase | None = None) -> tuple[int, int]:
    """Run the commands of scripts; how many ran, and the worst exit code.

    What they print goes to `out`; a command that fails (wrong usage) ends the play with its words.
    """
    import typer

    from sunup.base.problems import UsageError
    from sunup.cli.main import app

    command = typer.main.get_command(app)
    before = datetime(2026, 1, 1, tzinfo=UTC)
    sink = out if out is not None else io.StringIO()
    n = 0
    for path in paths:
        for words in read_script(path):
            before = clock_of(words, before)
            os.environ["SUNUP_NOW"] = before.astimezone(UTC).isoformat()
            sink.write(f"$ sunup {shlex.join(words)}\n")
            try:
                with contextlib.redirect_stdout(sink), contextlib.redirect_stderr(sink):
                    code = command.main(words, prog_name="sunup", standalone_mode=False)
            except UsageError as error:
                sys.stderr.write(f"{path.name}: sunup {shlex.join(words)}\n{error}\n")
                return n, 2
            if code not in {None, FINE, PROBLEMS}:
                sys.stderr.write(f"{path.name}: sunup {shlex.join(words)} ended with {code}\n")
                return n, int(code)
            n += 1
    os.environ.pop("SUNUP_NOW", None)
    return n, FINE


if __name__ == "__main__":
    sys.stdout.reconfigure(encoding="utf-8", errors="replace")
    sys.exit(play([Path(name) for name in sys.argv[1:]], out=sys.stdout)[1])
