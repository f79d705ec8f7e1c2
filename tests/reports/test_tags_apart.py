"""Two females whose tags the fonts cannot draw are not printed alike."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from herds import cow, season
from sunup.reports.packet import packet_values
from sunup.reports.tags_apart import with_tags_apart

DENVER = ZoneInfo("America/Denver")
TIMED = {"cows": "co_synch_insert7_cow"}


def printed_of(plan):
    sheets = packet_values(plan, DENVER)["sheets"]
    return {tag for sheet in sheets for (_, _, tag, _, _) in sheet["females"]}


def test_tags_that_look_alike_on_paper_carry_their_row_and_are_told():
    plan = season([cow("牛5", row=2), cow("馬5", row=3), cow("?5", row=4), cow("7", row=5)],
                  protocols=TIMED)  # fmt: skip
    assert printed_of(plan) == {"?5 (row 2)", "?5 (row 3)", "?5 (row 4)", "7"}
    apart, (told,) = with_tags_apart(plan)
    assert "牛5 in row 2" in told.what
    assert "馬5 in row 3" in told.what
    assert told in apart.problems


def test_a_tag_that_cannot_be_drawn_but_is_the_only_one_is_left_alone():
    plan = season([cow("牛5", row=2), cow("6", row=3)], protocols=TIMED)
    assert with_tags_apart(plan) == (plan, ())
    assert printed_of(plan) == {"?5", "6"}


def test_the_vets_list_and_the_readiness_list_know_them_by_the_same_words():
    plan = season([cow("牛5", row=2, condition=4.0), cow("馬5", row=3, condition=4.0)],
                  protocols=TIMED)  # fmt: skip
    values = str(packet_values(plan, DENVER)["readiness"])
    assert "?5 (row 2)" in values
    assert "?5 (row 3)" in values
