"""Parts of the cost a female that other tests divide out, in sums done by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from herds import LIBRARY, cows, season
from sunup.planning.cost import cost_lines
from sunup.planning.options import SEXED
from sunup.planning.request import Sire


def middle(key):
    low, high = LIBRARY.figure(f"prices.{key}").span
    return (low + high) / 2


def lines_of(key, *, library=LIBRARY, **wishes):
    wishes = {"head": 50, "chutes": 1} | wishes
    lines = cost_lines(LIBRARY.protocols[key], library=library, **wishes)
    return {line.item: line.amount for line in lines}


def test_two_chutes_need_two_crews_and_half_the_hours_so_a_female_costs_the_same():
    one, two = (lines_of("co_synch_insert7_cow", chutes=n)["chute labour"] for n in (1, 2))
    assert two == pytest.approx(one)


def test_half_a_dose_costs_half_a_dose():
    """The protocol gives 12.5 mg of dinoprost; the label's dose is 25 mg."""
    lines = lines_of("eb9_bi")
    assert lines["PGF"] == pytest.approx(middle("pgf_dose") / 2)


def test_half_doses_ordered_are_paid_as_half():
    """20 cows at 12.5 mg, 2.5 mL of 5 mg/mL, are 50 mL: whole doses of 5 mL cost their price."""
    herd = cows(20, breed_shares=(("Nelore", 1.0),))
    plan = season(herd, region="BR", protocols={"cows": "eb9_bi"})
    (line,) = [one for one in plan.shopping if one.item.startswith("dinoprost")]
    assert "20 doses, 50 mL" in line.detail
    packs = line.detail.partition("; ")[2].partition(" leaves")[0]
    ml = sum(int(p.split(" x ")[0]) * float(p.split(" x ")[1][:-3]) for p in packs.split(", "))
    assert line.cost == pytest.approx(ml / 5 * middle("pgf_dose"))


@pytest.mark.parametrize("people", [1, 2])
def test_watching_is_paid_for_everybody_who_watches(people):
    """5 days x 3 times x 30 min = 7.5 hours for each who watches, shared by 50 head."""
    key = "practice.watch_people"
    figure = replace(LIBRARY.figure(key), value=people)
    library = replace(LIBRARY, figures={**LIBRARY.figures, key: figure})
    watching = lines_of("pg1_all", library=library)["watching"]
    assert watching == pytest.approx(7.5 * people * middle("watch_wage_h") / 50)


def test_conventional_bulls_are_not_paid_as_sexed():
    lines = lines_of("co_synch_insert7_cow", options=(SEXED,), sires=[Sire("cows", "B1")])
    assert lines["semen"] == pytest.approx(middle("semen_conventional"))
    assert "sexed semen" not in lines


def test_where_all_are_inseminated_twice_two_straws_and_two_inseminations_are_paid():
    protocol = LIBRARY.protocols["co_synch_insert7_cow"]
    (ai,) = [s for s in protocol.steps if s.do == "ai"]
    twice = replace(protocol, steps=(*protocol.steps, replace(ai, id="ai_2")))
    lines = {m.item: m.amount for m in cost_lines(twice, head=50, library=LIBRARY, chutes=1)}
    assert lines["semen"] == pytest.approx(2 * middle("semen_conventional"))
    assert lines["technician"] == pytest.approx(2 * middle("technician"))
