"""Markers from folders, a loud word about skips, and the library, built once."""

from __future__ import annotations

from pathlib import Path

import pytest

from herds import LIBRARY

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
