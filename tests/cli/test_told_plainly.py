"""Entries and lists in words a ranch hand uses: no key of ours, one is one, names apart."""

from __future__ import annotations

import pytest

from herds import LIBRARY
from sunup.app.stock_lists import Listing, _breed
from sunup.base.problems import counted
from sunup.cli.entries_view import event_words
from sunup.cli.scan_view import _sire_words
from sunup.cli.stock_view import print_listing
from sunup.records.event import Kind


class Kept:
    def __init__(self, kind, **body):
        self.kind, self.body = kind, body


@pytest.mark.parametrize(
    ("event", "told"),
    [
        (
            Kept(Kind.STOCK_MOVED, item="gonadorelin_acetate", unit="bottles", amount=4.0,
                 why="bought"),
            "stock gonadorelin acetate bought 4 bottles",
        ),
        (
            Kept(Kind.STOCK_MOVED, item="semen", sire="A_31", unit="straws", amount=50.0,
                 why="bought"),
            "stock semen A_31 bought 50 straws",
        ),
        (Kept(Kind.NITROGEN_READ, level_cm=24.5), "nitrogen read 24.5 cm"),
        (Kept(Kind.WEIGHED, weight_kg=540.0), "weighed 540 kg"),
        (Kept(Kind.HEAT_AID_READ, aid="patch", score=4), "patch read 4"),
        (Kept(Kind.HEAT_AID_READ, score=4), "aid read 4"),
        (Kept(Kind.PREGNANCY_CHECKED, result="not_pregnant"), "pregnancy check not pregnant"),
        (Kept(Kind.MOVED, to="late_calvers"), "moved late_calvers"),
    ],
)  # fmt: skip
def test_an_entry_reads_in_words_with_its_unit(event, told):
    assert event_words(event) == told


def test_every_drug_held_reads_without_a_stroke():
    for active in LIBRARY.actives:
        assert "_" not in event_words(Kept(Kind.STOCK_MOVED, item=active))


def test_in_a_wide_list_each_value_is_parted_from_its_name(capsys):
    """It read "with bull from 2027-04-05; AI or bull 99 in 100 or more the bull not named"."""
    head = ("tag", "stands", "AI or bull", *("abcdef"))
    print_listing(Listing("Bred", head, (("12", "with bull", "99 in 100 the bull", *"      "),)))
    told = capsys.readouterr().out
    assert "Bred: 1 row\n" in told
    assert "stands: with bull; AI or bull: 99 in 100 the bull" in told


def test_a_pure_breed_has_no_share():
    assert _breed((("Angus", 1.0),)) == "Angus"
    assert _breed((("Angus", 0.5), ("Hereford", 0.5))) == "Angus 0.5, Hereford 0.5"
    assert _breed((("Angus", 0.75),)) == "Angus 0.75"


def test_a_sire_in_the_calving_book_is_short_and_whole():
    assert _sire_words("99 in 100 or more the AI sire A27 (5 May)") == "AI A27 (5 May)"
    told = "60 in 100 the AI sire A27 (5 May), 40 in 100 the bulls B1, B2"
    assert _sire_words(told) == "60 in 100 AI A27 (5 May), 40 in 100 bulls B1, B2"


def test_one_is_one():
    assert [counted(n, "dose") for n in (0, 1, 2)] == ["0 doses", "1 dose", "2 doses"]
    assert counted(1200, "entry", "entries") == "1,200 entries"
