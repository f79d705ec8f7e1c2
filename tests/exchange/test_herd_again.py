"""A herd list given again: nobody twice, differences shown, nothing taken back by silence."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from herds import LIMITS
from sunup.exchange.herd_again import compare_herd
from sunup.exchange.herd_file import HerdReading, read_herd
from sunup.exchange.lists_out import herd_table
from sunup.exchange.table_out import render_csv, render_xlsx
from sunup.records.event import Kind
from sunup.records.forms import has_form
from support.small_ledger import RANCH, ZONE, event, four, recorded, roster

ON = date(2027, 5, 1)


def again(text, events, on=ON):
    herd = read_herd(text.encode(), "herd.csv", on=on, limits=LIMITS, reading=HerdReading())
    return compare_herd(
        herd.females, roster(events), ranch=RANCH, zone=ZONE, limits=LIMITS, listed_on=on
    )


LIST = (
    "Tag,RFID,Class,Group,Breed,Born,Calved,BCS,Weight (kg),Sire,Bull in,Preg,Hold,Remarks\n"
    "1,840003123456701,cow,A,AN50 HE50,2020-03-04,2027-02-20,5.5,540,Max,,,,quiet\n"
    "2,,cow,A,Angus,2020-03-04,2027-02-25,5,530,,,,lame,\n"
    "3,840003123456702,heifer,B,,2026-02-19,,6,,,2027-04-01,P,,\n"
)


def test_list_into_an_empty_ledger_and_again_adds_nobody_twice():
    first = again(LIST, [])
    assert first.new == ["1", "2", "3"]
    assert all(has_form(one.kind, one.body) for one in first.drafts)
    kept = recorded(first.drafts)
    assert len({one.id for one in kept}) == len(kept)
    second = again(LIST, kept, on=date(2027, 5, 9))
    assert (second.drafts, second.new, second.aside, second.same) == ([], [], [], 3)


def test_differences_are_shown_and_once_taken_are_gone():
    kept = recorded(again(LIST, []).drafts)
    text = LIST.replace("5.5,540,Max", "4.5,560,Moritz").replace("2,,cow", "2,840003123456709,cow")
    text = text.replace("1,840003123456701,cow,A", "1001,840003123456701,cow,C")
    told = again(text, kept, on=date(2027, 5, 9))
    shown = {(one.fact, one.ledger, one.file) for one in told.differences}
    assert ("tag", "1", "1001") in shown
    assert ("group", "A", "C") in shown
    assert ("sire", "Max", "Moritz") in shown
    assert ("weight (kg)", "540 on 2027-05-01", "560") in shown
    assert ("RFID", "none", "840003123456709") in shown
    assert told.new == []
    after = kept + recorded(told.drafts)
    assert again(text, after, on=date(2027, 5, 9)).drafts == []
    females = roster(after)
    assert females.find("1001", None).female.group == "C"
    assert females.find("1001", None).female.added.body["sire"] == "Moritz"


def test_a_last_heat_is_kept_as_a_heat_seen_and_but_once():
    text = "Tag,Class,Born,Last heat\n7,heifer,2026-02-19,2027-04-20\n"
    kept = recorded(again(text, []).drafts)
    heats = [one for one in kept if one.kind is Kind.HEAT_SEEN]
    assert [one.occurred_at.date() for one in heats] == [date(2027, 4, 20)]
    assert again(text, kept, on=date(2027, 5, 9)).drafts == []
    told = again(text.replace("04-20", "05-08"), kept, on=date(2027, 5, 9))
    assert [(one.kind, one.at.date()) for one in told.drafts] == [
        (Kind.HEAT_SEEN, date(2027, 5, 8))
    ]


def test_what_is_on_file_newer_than_the_list_stands():
    at = datetime(2027, 5, 20, 19, tzinfo=UTC)
    kept = recorded(again(LIST, []).drafts)
    her = kept[0].female
    kept.append(event(Kind.WEIGHED, {"weight_kg": 600}, female=her, at=at))
    kept.append(event(Kind.MOVED, {"to": "Z"}, female=her, at=at))
    told = again(LIST.replace("5.5,540", "5.5,541"), kept, on=date(2027, 5, 9))
    assert told.drafts == []
    assert [one.why[:23] for one in told.aside] == [
        "group is Z since 2027-0",
        "weight (kg) is 600 sinc",
    ]
    assert [one.what for one in again(LIST, kept).aside] == ["1"]  # the weight of that day is known


def test_who_is_not_in_the_list_is_told_and_stays():
    told = again("Tag,Class,Group\n101,cow,cows\n102,cow,cows\n103,heifer,heifers\n", four())
    assert told.missing == ["200", "200"]
    assert told.drafts == []


def test_tag_of_two_females_and_a_code_of_another_are_put_aside():
    text = "Tag,RFID,Class\n200,,cow\n102,840003123456789,cow\n"
    told = again(text, four())
    assert (told.new, told.drafts) == ([], [])
    assert len(told.aside) == 2


def test_calving_near_another_is_put_aside_and_a_later_one_taken():
    at = datetime(2026, 3, 1, 19, tzinfo=UTC)
    events = [*four(), event(Kind.CALVED, {"ease": 1}, female="b", at=at)]
    near = again("Tag,Class,Group,Calved\n102,cow,cows,2026-03-09\n", events)
    assert near.drafts == []
    assert "correct the wrong one" in near.aside[0].why
    later = again("Tag,Class,Group,Calved\n102,cow,cows,2027-03-02\n", events)
    assert [one.kind for one in later.drafts] == [Kind.CALVED]


def test_class_that_follows_from_a_calving_is_no_difference():
    at = datetime(2027, 4, 1, 19, tzinfo=UTC)
    events = [*four(), event(Kind.CALVED, {}, female="c", at=at)]
    told = again("Tag,Class,Group,Calved\n103,first-calf cow,heifers,2027-04-01\n", events)
    assert (told.drafts, told.differences, told.aside) == ([], [], [])


def test_tag_met_at_the_chute_becomes_listed():
    met = event(Kind.FEMALE_ADDED, {"tag": "77", "listed": False}, female="z")
    told = again("Tag,Class,Group\n77,cow,cows\n", [met])
    [correction] = [one for one in told.drafts if one.kind is Kind.CORRECTED]
    assert correction.body["body"]["listed"] is True


row = st.fixed_dictionaries(
    {
        "Tag": st.integers(1, 5).map(str),
        "Class": st.sampled_from(["cow", "heifer", "first-calf cow"]),
        "BCS": st.sampled_from(["", "4", "5.5", "x"]),
        "Weight (kg)": st.sampled_from(["", "500", "510"]),
        "Calved": st.sampled_from(["", "2027-02-01", "2027-03-01", "2026-01-01"]),
        "Group": st.sampled_from(["A", "B"]),
        "AI date": st.sampled_from(["", "2027-04-20"]),
        "Sire": st.sampled_from(["", "Max", "=cmd"]),
    }
)
lists = st.lists(row, min_size=1, max_size=4, unique_by=lambda one: one["Tag"])


def as_csv(rows):
    return "\n".join([",".join(rows[0]), *(",".join(one.values()) for one in rows)]) + "\n"


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(lists, lists)
def test_any_list_taken_twice_adds_nothing_the_second_time(first, second):
    kept = recorded(again(as_csv(first), []).drafts)
    later = recorded(again(as_csv(second), kept).drafts)
    kept += [replace(one, entered_at=one.entered_at + timedelta(days=1)) for one in later]
    told = again(as_csv(second), kept)
    assert told.drafts == []
    assert len({one.tag for one in roster(kept).by_id.values()}) == len(roster(kept).by_id)


def test_herd_list_out_comes_in_again_as_the_same_herd():
    kept = recorded(again(LIST, []).drafts)
    first = read_herd(
        LIST.encode(), "herd.csv", on=ON, limits=LIMITS, reading=HerdReading()
    ).females
    table = herd_table(first)
    for data, name in ((render_csv(table), "h.csv"), (render_xlsx([table]), "h.xlsx")):
        herd = read_herd(data, name, on=ON, limits=LIMITS, reading=HerdReading())
        assert [one for one in herd.problems if one.severity == "error"] == []
        assert herd.females == first
        told = compare_herd(
            herd.females, roster(kept), ranch=RANCH, zone=ZONE, limits=LIMITS, listed_on=ON
        )
        assert (told.drafts, told.differences, told.same) == ([], [], 3)
