"""What a protocol's own page says against it is held against the group before it is proposed.

"Thin two-year-olds at body condition 4 or less" stands on the page of the 7-day CO-Synch with an
insert (from memory), "groups of thin two-year-olds, most of them not cycling" on that of the 7 & 7.
"""

from __future__ import annotations

import pytest

from herds import FIRST_CALF, LIBRARY, cow, cows, heifer, season
from sunup.records.female import Cycling

CO_SYNCH, SEVEN = "co_synch_insert7_cow", "seven_and_seven_cow"


def first_calf(n, *, start=1, **facts):
    return [cow(str(start + i), class_=FIRST_CALF, **facts) for i in range(n)]


def of(females, **wishes):
    (group,) = season(females, **wishes).groups
    return group


def told(group, protocol):
    fit = next(f for f in group.fits if f.protocol == protocol)
    return " ".join(fit.notes)


@pytest.mark.parametrize("condition", [2.0, 3.5, 4.0])
def test_thin_first_calf_cows_are_not_proposed_what_is_not_for_them(condition):
    group = of(first_calf(60, condition=condition))
    assert group.chosen_by == "default"
    assert group.chosen not in {CO_SYNCH, SEVEN}
    assert "Thin two-year-olds at body condition 4 or less" in told(group, CO_SYNCH)
    assert "60 of 60 here" in told(group, CO_SYNCH)


@pytest.mark.parametrize(
    "females",
    [first_calf(60, condition=4.5), cows(60, condition=3.0), first_calf(60, condition=None)],
    ids=["not thin", "older cows", "condition not on file"],
)
def test_others_are_proposed_it_as_before(females):
    group = of(females)
    assert group.chosen == CO_SYNCH
    assert "not for" not in told(group, CO_SYNCH)


def test_a_few_thin_two_year_olds_are_told_and_change_nothing():
    group = of([*first_calf(10, condition=3.0), *cows(90)])
    assert group.chosen == CO_SYNCH
    assert "10 of 100 here" in told(group, CO_SYNCH)
    assert "not for" not in told(group, SEVEN)  # it speaks of groups of them


def test_thin_ones_found_cycling_are_not_those_most_of_which_do_not_cycle():
    group = of(first_calf(60, condition=3.5, cycling=Cycling.CYCLING))
    assert "not for" in told(group, CO_SYNCH)
    assert "not for" not in told(group, SEVEN)


def test_what_is_asked_for_is_laid_out_and_the_reason_is_told():
    plan = season(first_calf(60, condition=3.0), protocols={"cows": CO_SYNCH})
    assert plan.groups[0].chosen == CO_SYNCH
    (problem,) = [p for p in plan.problems if "60 of 60 here" in p.what]
    assert "Thin two-year-olds" in problem.what
    assert "speaks against" in problem.what


def test_heifers_with_immature_tracts_are_counted_among_those_scored():
    """Fewer than 30 % at score 4 or 5: 22 of 30 below it is more than 70 %, 21 is not."""
    for low, is_met in ((22, True), (21, False)):
        scores = [3] * low + [5] * (30 - low) + [None] * 10
        group = of([heifer(str(i), tract_score=score) for i, score in enumerate(scores)])
        fit = next(f for f in group.fits if f.protocol == "insert14_pg_ftai")
        assert fit.advised_against == is_met
        assert is_met == (f"{low} of 30 here" in told(group, "insert14_pg_ftai"))


def test_what_no_herd_list_tells_is_left_to_the_reader():
    fit = next(f for f in of(cows(20)).fits if f.protocol == "co_synch_insert5_cow")
    assert any("eight hours later" in line for line in fit.not_when)
    assert not fit.advised_against
    assert "indicus" not in " ".join((*fit.notes, *fit.not_when))


def test_of_equal_standing_what_is_spoken_against_comes_last():
    group = of(first_calf(60, condition=3.0))
    marks = [f.advised_against for f in group.fits if f.standing == "recommended"]
    assert any(marks)
    assert marks == sorted(marks)


def test_zebu_in_a_country_of_unknown_law_are_proposed_nothing_with_estradiol():
    zebu = cows(40, breed_shares=(("brahman", 1.0),))
    elsewhere, brazil = of(zebu, region="other"), of(zebu, region="BR")
    given = {s.active or s.do for s in LIBRARY.protocols[elsewhere.chosen].steps}
    assert not {str(g) for g in given} & {"estradiol_benzoate", "estradiol_cypionate"}
    assert any(s.do == "estradiol_benzoate" for s in brazil.schedule)
