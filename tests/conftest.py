"""Markers from folders, a loud word about skips, and the library, built once."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from herds import LIBRARY
from sunup.cli.main import main

HERE = Path(__file__).parent


def pytest_collection_modifyitems(items):
    for item in items:
        folder = item.path.relative_to(HERE).parts[0]
        if not folder.endswith(".py"):
            item.add_marker(folder)


def pytest_terminal_summary(terminalreporter):
    """A test that did not run has shown nothing: name each, so that no green run hides it."""
    skipped = terminalreporter.stats.get("skipped", [])
    if not skipped:
        return
    terminalreporter.write_sep("!", f"{len(skipped)} SKIPPED: these have shown nothing", red=True)
    for report in skipped:
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else report.longrepr
        terminalreporter.write_line(f"  {report.nodeid}: {reason}")


@pytest.fixture(scope="session")
def library():
    return LIBRARY


@pytest.fixture
def sunup(monkeypatch, capsys):
    """Run the program in this process as somebody types it: (exit code, output, errors)."""

    def run(*arguments, columns="100"):
        monkeypatch.setenv("COLUMNS", columns)
        monkeypatch.setattr(sys, "argv", ["sunup", *arguments])
        with pytest.raises(SystemExit) as ended:
            main()
        shown = capsys.readouterr()
        return ended.value.code or 0, shown.out, shown.err

    return run
