"""Sires given out by the plan's shares: shares kept, kin kept apart, the same each time."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sunup.planning.plan import SireUse
from sunup.planning.sire_shares import ToServe, share_out
from sunup.planning.sires import sire_key


def uses(**shares):
    return [
        SireUse("cows", code, "conventional", share, straws=0, spare=0)
        for code, share in shares.items()
    ]


def cows(n, **sires):
    return [ToServe(f"id{i}", str(i), sires.get(f"c{i}")) for i in range(n)]


@pytest.mark.parametrize("n", [1, 7, 30, 100])
def test_shares_hold_to_a_straw_and_at_any_point_of_the_order(n):
    chosen = share_out(cows(n), uses(A31=0.5, H12=0.3, B9=0.2)).chosen
    for k in range(1, n + 1):
        counts = Counter(chosen[f"id{i}"].sire for i in range(k))
        for sire, share in (("A31", 0.5), ("H12", 0.3), ("B9", 0.2)):
            assert abs(counts[sire] - share * k) <= 2


def test_a_daughter_gets_another_sire_and_never_her_own_as_an_alternate():
    herd = cows(4, c1="a-31", c2="A31")
    chosen = share_out(herd, uses(A31=0.5, H12=0.5)).chosen
    assert [chosen[f"id{i}"].sire for i in (1, 2)] == ["H12", "H12"]
    assert chosen["id1"].alternates == ()
    assert [chosen[f"id{i}"].sire for i in (0, 3)] == ["A31", "A31"], "the shares still hold"
    assert chosen["id0"].alternates == ("H12",)


def test_a_granddaughter_gets_another_sire():
    herd = [ToServe("id0", "0", None, "A31"), ToServe("id1", "1")]
    assert share_out(herd, uses(A31=1.0, H12=0.0)).chosen["id0"].sire == "H12"


def test_who_is_kin_of_every_sire_is_named_and_gets_none():
    told = share_out(cows(2, c0="A31"), uses(A31=1.0))
    assert told.only_kin == ("0",)
    assert list(told.chosen) == ["id1"]


def test_an_alternate_is_of_the_same_sort_of_semen():
    mixed = [
        SireUse("cows", "S1", "sexed", 0.5, straws=0, spare=0),
        SireUse("cows", "S2", "sexed", 0.1, straws=0, spare=0),
        SireUse("cows", "A31", "conventional", 0.4, straws=0, spare=0),
    ]
    first = share_out(cows(1), mixed).chosen["id0"]
    assert (first.sire, first.alternates, first.semen) == ("S1", ("S2",), "sexed")


CODES = ("A31", "H12", "B9")


@given(
    st.lists(st.sampled_from((*CODES, "Z1", None)), max_size=40),
    st.lists(st.floats(0.0, 1.0), min_size=3, max_size=3),
)
def test_no_female_is_ever_given_her_own_sire_and_nobody_is_lost(sires, shares):
    herd = [ToServe(f"id{i}", str(i), sire) for i, sire in enumerate(sires)]
    told = share_out(herd, uses(**dict(zip(CODES, shares, strict=True))))
    assert told == share_out(herd, uses(**dict(zip(CODES, shares, strict=True))))
    assert len(told.chosen) + len(told.only_kin) == len(herd)
    for her in herd:
        one = told.chosen[her.female]
        assert sire_key(her.her_sire or "none") not in map(sire_key, (one.sire, *one.alternates))
