"""Straws by tank, canister, bull and code; alternates; near kin."""

from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest

from sunup.planning.insemination_list import straws
from sunup.planning.sires import (
    Assigned,
    StrawMove,
    StrawPlace,
    StrawUse,
    choose_for_list,
    choose_straw,
    kin_warning,
    reconcile,
)
from sunup.planning.stock import SEMEN, Change, Item

DAY = datetime(2026, 5, 10, 8, tzinfo=UTC)
OAK = StrawPlace("OAK 1", batch="C12", tank="1", canister="3")
ELM = StrawPlace("ELM 2", tank="1", canister="4")


def came(place, amount):
    return StrawMove(DAY - timedelta(days=30), place, amount)


def use(place, tag, *, by="Ann", minutes=0):
    return StrawUse(DAY + timedelta(minutes=minutes), place, f"id-{tag}", tag, by)


def test_straws_left_are_those_bought_less_those_used():
    stock = reconcile([came(OAK, 10)], [use(OAK, "1"), use(OAK, "2")])
    assert (stock.left("oak-1"), stock.problems) == (8, ())


def test_use_without_canister_or_code_is_taken_from_where_it_can_have_come_from():
    stock = reconcile([came(OAK, 2), came(ELM, 2)], [use(StrawPlace("oak1"), "1")])
    assert [(c.place, c.left) for c in stock.counts] == [(ELM, 2), (OAK, 1)]


def test_use_moves_to_another_canister_when_the_first_is_empty():
    other = StrawPlace("OAK 1", batch="C12", tank="1", canister="5")
    stock = reconcile(
        [came(OAK, 1), came(other, 1)],
        [use(StrawPlace("OAK 1"), "1"), use(StrawPlace("OAK 1"), "2", minutes=5)],
    )
    assert {c.place: c.left for c in stock.counts} == {OAK: 0, other: 0}
    assert stock.problems == ()


def test_two_technicians_one_straw_is_told_with_both_names_and_both_tags():
    stock = reconcile(
        [came(OAK, 1)], [use(OAK, "41", by="Ann"), use(OAK, "42", by="Ben", minutes=2)]
    )
    (problem,) = stock.problems
    for word in ("41", "42", "Ann", "Ben", "Two technicians", "canister 3", "1 more"):
        assert word in problem.what + problem.where
    assert stock.left("OAK 1") == 0


def test_one_technician_over_stock_is_told_without_blaming_two():
    stock = reconcile([came(OAK, 1)], [use(OAK, "41"), use(OAK, "42", minutes=2)])
    assert "Two technicians" not in stock.problems[0].what


def test_straw_never_bought_is_told_as_a_code_to_read_again():
    (problem,) = reconcile([], [use(OAK, "41")]).problems
    assert "none on file" in problem.what


def test_straw_nobody_read_is_told():
    (problem,) = reconcile([came(OAK, 5)], [use(StrawPlace("unknown"), "41")]).problems
    assert "41" in problem.where


def test_count_that_differs_is_told_and_kept():
    moves = [came(OAK, 10), StrawMove(DAY + timedelta(hours=3), OAK, 6, is_count=True)]
    stock = reconcile(moves, [use(OAK, "1"), use(OAK, "2")])
    (problem,) = stock.problems
    assert "6 straws counted where 8 should be: 2 fewer" in problem.what
    assert stock.left("OAK 1") == 6


def test_count_that_agrees_or_is_the_first_is_no_problem():
    first = reconcile([StrawMove(DAY, OAK, 6, is_count=True)], [])
    assert (first.left("OAK 1"), first.problems) == (6, ())


def test_sexed_straws_are_not_conventional_ones():
    sexed = StrawPlace("OAK 1", semen="sexed", tank="1", canister="3")
    stock = reconcile([came(sexed, 3)], [])
    assert (stock.left("OAK 1"), stock.left("OAK 1", "sexed")) == (0, 3)


@pytest.mark.parametrize(
    ("sire", "her_sire", "dams_sire", "word"),
    [
        ("OAK 1", "oak-1", None, "her own sire"),
        ("OAK 1", "ELM 2", "OAK1", "her dam's sire"),
    ],
)
def test_near_kin_is_warned_of(sire, her_sire, dams_sire, word):
    assert word in kin_warning(sire, her_sire=her_sire, dams_sire=dams_sire)


def test_unrelated_or_unknown_bull_is_no_warning():
    assert kin_warning("OAK 1", her_sire="ELM 2") is None
    assert kin_warning("unknown", her_sire="unknown") is None


def test_daughter_gets_the_alternate_and_the_reason():
    stock = reconcile([came(OAK, 5), came(ELM, 5)], [])
    choice = choose_straw(Assigned("OAK 1", ("ELM 2",)), stock, her_sire="OAK 1")
    assert (choice.sire, choice.is_alternate, choice.takes_from) == ("ELM 2", True, ELM)
    assert "her own sire" in choice.warnings[0]


def test_no_straw_left_of_any_sire_gives_none():
    choice = choose_straw(Assigned("OAK 1", ("ELM 2",)), reconcile([], []))
    assert choice.sire is None
    assert len(choice.warnings) == 2


def test_list_promises_no_straw_twice_and_empties_canisters_in_turn():
    other = StrawPlace("OAK 1", batch="C12", tank="1", canister="5")
    stock = reconcile([came(OAK, 2), came(other, 1), came(ELM, 5)], [])
    plan = Assigned("OAK 1", ("ELM 2",))
    chosen = choose_for_list([(tag, plan, None, None) for tag in "abcd"], stock)
    assert [chosen[tag].sire for tag in "abcd"] == ["OAK 1", "OAK 1", "OAK 1", "ELM 2"]
    assert [chosen[tag].takes_from for tag in "abc"] == [OAK, OAK, other]


def test_the_day_told_of_a_straw_that_is_short_is_the_ranchs():
    """Inseminated at eight in the evening in Denver: by UTC it is the next day."""
    evening = datetime(2027, 5, 27, 2, tzinfo=UTC)
    used = SimpleNamespace(
        at=evening, sire="OAK1", batch="", semen="conventional", tank="", canister="",
        technician="Lee", straws=2,
    )  # fmt: skip
    bought = Change(
        Item(SEMEN, "OAK1", semen="conventional"), evening - timedelta(days=9), 1, "bought"
    )
    season = SimpleNamespace(
        at=evening, zone=ZoneInfo("America/Denver"), changes=(bought,), counts=(),
        females={"a": SimpleNamespace(id="a", tag="41", services=(used,))},
    )  # fmt: skip
    (problem,) = straws(season).problems
    assert "tag 41 (Lee, 2027-05-26)" in problem.what
