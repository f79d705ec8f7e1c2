"""How long words and sentences stand in a window of 80 columns."""

from __future__ import annotations

import io
import sys

import pytest

from sunup.base.problems import Problem, Severity
from sunup.cli.show import console, fold, print_problems, print_table

UNBROKEN = "Mature_cows_of_the_upper_meadow_and_the_home_place_2027_lot_A"
LONG = (
    "    - GnRH, 174 head: gonadorelin (acetate) 100 ug, 1 mL each, and whatever else there is "
    "to say of it, which is more than a line"
)


@pytest.fixture(autouse=True)
def eighty(monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")


def test_what_goes_on_stands_further_in_than_where_it_began(capsys):
    console().print(f"{LONG}\n  {LONG}")
    first, second, third, fourth = capsys.readouterr().out.splitlines()
    assert (indent(first), indent(second), indent(third), indent(fourth)) == (4, 6, 6, 8)
    assert max(map(len, (first, second, third, fourth))) <= 80


def indent(line):
    return len(line) - len(line.lstrip())


def test_what_fits_is_left_as_it_is():
    text = "hour   what\n   0   GnRH  \n"
    assert fold(text, 80) == text


def test_a_range_stays_on_one_line(capsys):
    """Seven columns as the review has them: "(46 to 63)" was broken as "(46 to" and "63)"."""
    heads = ["group", "treated", "seen in heat", "inseminated", "conceived of inseminations",
             "pregnant to AI of treated", "pregnant in the season"]  # fmt: skip
    row = ["all groups", "172", "71 of 130 (46 to 63)", "171", "102 of 208 (42 to 56)",
           "102 of 172 (52 to 66)", "150 of 172 (81 to 91)"]  # fmt: skip
    print_table([(name, "right") for name in heads], [row])
    out = capsys.readouterr().out
    for told in ("(46 to 63)", "(42 to 56)", "(52 to 66)", "(81 to 91)"):
        assert told in out
    assert max(map(len, out.splitlines())) <= 80
    assert "\u00a0" not in out


def test_a_name_without_a_blank_does_not_squeeze_the_words_beside_it(capsys):
    heads = [(name, "left") for name in ("clash", "whose", "what", "what to do")]
    row = ("weekend", UNBROKEN, "GnRH, progesterone insert in falls on Sun 16 May, a weekend.",
           "Book the crew, or move the first insemination day.")  # fmt: skip
    print_table(heads, [row])
    out = capsys.readouterr().out
    assert max(map(len, out.splitlines())) <= 80
    assert UNBROKEN in "".join(line[9:35].strip() for line in out.splitlines()[2:])
    for word in ("progesterone", "insemination", "weekend."):
        assert word in out


def test_a_long_group_is_cut_so_that_a_female_stays_a_line_and_groups_stay_apart(capsys):
    heads = [(name, "left") for name in ("tag", "group", "seen in heat", "inseminate", "sire")]
    north, south = (f"First-calf cows of the {where} river pasture, late calvers" for where in
                    ("north", "south"))  # fmt: skip
    rest = ("Mon 06:30", "Mon 18:00", "none chosen")
    print_table(heads, [("0003", north, *rest), ("0005", south, *rest), ("0007", "cows", *rest)])
    _, _, *rows = capsys.readouterr().out.splitlines()
    assert len(rows) == 3
    groups = [row[6:].split("  ")[0] for row in rows]
    assert len(set(groups)) == 3
    assert groups[2] == "cows"
    assert all(told.startswith("First-calf cows of the ") for told in groups[:2])


def test_a_group_that_fits_is_told_whole(capsys):
    name = "First-calf cows of the north river pasture"
    print_table([("tag", "left"), ("group", "left")], [("0003", name)])
    assert name in capsys.readouterr().out


class Terminal(io.StringIO):
    def isatty(self):
        return True


PROBLEM = Problem(
    "herd.csv row 11, column 'RFID'",
    "A spreadsheet has shortened this RFID and its last digits are lost.",
    "Format the column as text and copy the number again from where it came from.",
    Severity.ERROR,
)


def test_a_problem_is_folded_for_the_eye_and_one_line_for_a_file(monkeypatch, capsys):
    print_problems([PROBLEM])
    assert len(capsys.readouterr().err.splitlines()) == 1
    screen = Terminal()
    monkeypatch.setattr(sys, "stderr", screen)
    print_problems([PROBLEM])
    lines = screen.getvalue().splitlines()
    assert len(lines) > 1
    assert max(map(len, lines)) <= 80
    assert {indent(line) for line in lines[1:]} == {2}
