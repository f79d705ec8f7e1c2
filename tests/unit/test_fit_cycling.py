"""When a protocol that relies on cycling is refused: by females examined, class by class."""

from __future__ import annotations

from herds import FIRST_CALF, cow, cows, heifers, season
from sunup.records.female import Cycling

FOUND = Cycling.NOT_CYCLING


def of(plan, protocol):
    (group,) = plan.groups
    return next((r.reason for r in group.rejected if r.protocol == protocol), None)


def scanned(n, not_cycling, *, start=1, **facts):
    return [
        cow(str(start + i), cycling=FOUND if i < not_cycling else Cycling.CYCLING, **facts)
        for i in range(n)
    ]


def reliant(library):
    """A protocol for cows that relies on cycling, and fits 20 cows that do."""
    (group,) = season(scanned(20, 0)).groups
    fits = {f.protocol for f in group.fits}
    return next(
        p.key
        for p in library.protocols.values()
        if p.cycling_need == "all" and p.key in fits and "cow" in p.classes
    )


def test_what_was_found_of_first_calf_cows_is_not_carried_over_to_the_herd(library):
    """17 of 30 first-calf cows do not cycle; of 135 older cows none was examined."""
    key = reliant(library)
    young = scanned(30, 17, class_=FIRST_CALF)
    assert of(season([*young, *cows(135)]), key) is None
    assert of(season(young), key) == (
        "17 of 30 first-calf cows examined do not cycle and it has no progestin"
    )


def test_a_thin_cow_is_not_one_found_not_cycling(library):
    """Nine thin cows beside ten that cycle: nobody looked at the nine."""
    key = reliant(library)
    thin = [cow(str(100 + i), condition=3.5) for i in range(9)]
    assert of(season([*scanned(10, 0), *thin]), key) is None


def test_a_handful_examined_says_nothing_of_a_herd(library):
    key = reliant(library)
    assert of(season([*scanned(3, 3), *cows(60)]), key) is None
    assert of(season(scanned(3, 3)), key).startswith("3 of 3 cows examined")


def test_classes_count_by_their_heads(library):
    """40 first-calf cows at 1 in 2 and 60 cows at 1 in 6: 30 of 100, which is not over 30."""
    key = reliant(library)
    young = scanned(40, 20, class_=FIRST_CALF)
    assert of(season([*young, *scanned(12, 2, start=200), *cows(48)]), key) is None
    told = of(season([*young, *scanned(12, 3, start=200), *cows(48)]), key)
    assert told.startswith("20 of 40 first-calf cows and 3 of 12 cows examined")


def test_heifers_are_told_by_their_tract_scores(library):
    key = next(
        p.key
        for p in library.protocols.values()
        if p.cycling_need == "all" and "heifer" in p.classes and not p.regions
    )
    assert of(season(heifers(20, tract_score=3)), key) == (
        "20 of 20 heifers examined do not cycle and it has no progestin"
    )
