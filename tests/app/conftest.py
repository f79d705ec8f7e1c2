"""The program as somebody types it."""

import sys

import pytest

from sunup.cli.main import main


@pytest.fixture
def sunup(monkeypatch, capsys):
    def run(*arguments):
        monkeypatch.setenv("COLUMNS", "100")
        monkeypatch.setattr(sys, "argv", ["sunup", *arguments])
        with pytest.raises(SystemExit) as ended:
            main()
        shown = capsys.readouterr()
        return ended.value.code or 0, shown.out, shown.err

    return run
