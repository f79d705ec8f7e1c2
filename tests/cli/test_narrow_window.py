"""Tables in a window as narrow as a phone's: a paragraph for each row, no word broken."""

from __future__ import annotations

import pytest

from sunup.cli.show import print_table

HEAD = [("tag", "left"), ("since bulls in", "right"), ("expect", "left"), ("found", "left")]
ROWS = [
    ("1016", "50", "to AI: calf of 50 days, or to the bull", "________"),
    ("2048", "", "nothing before 4 August", "________"),
]
SHORT = [("tag", "left"), ("head", "right")]


def printed(capsys, monkeypatch, columns, head=HEAD, rows=ROWS):
    monkeypatch.setenv("COLUMNS", str(columns))
    print_table(head, rows, title="Scan sheet")
    return capsys.readouterr().out


@pytest.mark.parametrize("columns", [30, 40, 59])
def test_in_a_narrow_window_each_row_is_a_paragraph_of_whole_words(capsys, monkeypatch, columns):
    out = printed(capsys, monkeypatch, columns)
    assert max(len(line) for line in out.splitlines()) <= columns
    said = " ".join(out.split())
    assert "1016: since bulls in 50; expect to AI: calf of 50 days, or to the bull; found" in said
    assert "2048: expect nothing before 4 August" in said  # an empty cell is left out
    words = {word for _, *cells in ROWS for cell in cells for word in cell.split()}
    assert all(any(word in line for line in out.splitlines()) for word in words)


def test_at_the_usual_width_it_stays_a_table(capsys, monkeypatch):
    head = next(x for x in printed(capsys, monkeypatch, 80).splitlines() if "tag" in x)
    assert "since bulls in" in head


def test_a_table_that_fits_a_narrow_window_stays_a_table(capsys, monkeypatch):
    out = printed(capsys, monkeypatch, 40, head=SHORT, rows=[("1016", "3")])
    assert "1016: " not in out
    assert "─" in out
