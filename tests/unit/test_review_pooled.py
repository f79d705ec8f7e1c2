from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from herds import LIBRARY
from sunup.planning.review_breakdown import (
    NOT_KNOWN,
    break_down,
    first_service_of,
    pregnancy_of,
    response_of,
    tell_once,
)
from sunup.planning.review_pooled import Figures, compare_pooled
from sunup.planning.review_rows import FemaleResult, Outcome, Service, outcome_of

FIGURES = Figures(technician_sd=0.3, sire_sd=0.27, group_sd=0.25, worth_knowing=0.1, least=20)
CALLED = LIBRARY.number("practice.sire_called_from_chance")
AT = datetime(2027, 5, 27, 14, tzinfo=UTC)


def served(i, chance, **facts):
    facts = {"sire": "A", "technician": "Lee", "in_heat": None} | facts
    service = Service(
        female=str(i), group="cows", class_=facts.pop("class_", "cow"), protocol="p", number=1,
        at=AT + timedelta(minutes=i), half="morning", chance=chance, called_from=CALLED, **facts,
    )  # fmt: skip
    return FemaleResult(
        female=str(i), tag=str(i), group="cows", class_=service.class_, protocol="p", treated=True,
        seen_in_heat=service.in_heat, condition=service.condition,
        days_since_calving=service.days_since_calving, services=(service,), chance=chance,
        called_from=CALLED,
        pregnant=None if chance is None else chance > 0, on_time=service.on_time,
    )  # fmt: skip


def herd(counts, **facts):
    """counts: {(sire, technician): (pregnant, of)}."""
    found = []
    for (sire, technician), (pregnant, of) in counts.items():
        for i in range(of):
            chance = 1.0 if i < pregnant else 0.0
            found.append(served(len(found), chance, sire=sire, technician=technician, **facts))
    return found


def test_few_inseminations_are_not_compared_and_the_words_say_so():
    compared, words = compare_pooled(herd({("A", "Lee"): (5, 9), ("B", "Lee"): (3, 9)}), FIGURES)
    assert compared == ()
    assert "18 inseminations" in words


def test_one_sire_and_one_technician_leave_nobody_to_compare():
    compared, words = compare_pooled(herd({("A", "Lee"): (20, 40)}), FIGURES)
    assert compared == ()
    assert "nobody to compare" in words


def test_two_sires_of_thirty_are_drawn_together_and_the_missing_records_are_told():
    """18/30 against 13/30 raw, 17 points apart: what a table of luck would call nothing."""
    (sires,), words = compare_pooled(
        herd({("A", "Lee"): (18, 30), ("B", "Lee"): (13, 30)}), FIGURES
    )
    pair = sires.pair
    assert (pair.better.pooled.level, pair.worse.pooled.level) == ("A", "B")
    apart = pair.better.pooled.share - pair.worse.pooled.share
    assert 0.01 < apart < 0.5 * (18 - 13) / 30
    assert 0.6 < pair.chance < 0.9
    # 10 points about one half: 388 of each by the usual formula (test_wilson_and_power)
    assert pair.needed_worth == pytest.approx(388, abs=12)
    assert pair.more(pair.needed_worth) == pair.needed_worth - 30
    assert pair.needed_pooled > pair.needed_as_seen
    assert pair.power_worth < 0.2
    assert pair.smallest > 0.3
    assert words == "Allowed for: sire."


def test_a_sire_used_by_the_better_technician_is_not_credited_with_her_hands():
    """Lee gets 70 %, Sam 40 %, whatever the sire; A is mostly Lee's. Raw, A looks 18 points
    better; allowed for technicians they are alike."""
    counts = {
        ("A", "Lee"): (56, 80), ("A", "Sam"): (8, 20),
        ("B", "Lee"): (14, 20), ("B", "Sam"): (32, 80),
    }  # fmt: skip
    (sires, technicians), _ = compare_pooled(herd(counts), FIGURES)
    by_name = {line.pooled.level: line for line in sires.lines}
    raw = by_name["A"].raw.share - by_name["B"].raw.share
    pooled = by_name["A"].pooled.share - by_name["B"].pooled.share
    assert raw == pytest.approx(0.18)
    assert abs(pooled) < 0.08
    assert technicians.pair.better.pooled.level == "Lee"
    assert technicians.pair.chance > 0.95


def test_inseminations_without_a_known_end_count_nowhere():
    results = herd({("A", "Lee"): (10, 20), ("B", "Sam"): (8, 20)})
    more = [served(100 + i, None, sire="A", technician="Lee") for i in range(30)]
    assert compare_pooled(results + more, FIGURES) == compare_pooled(results, FIGURES)
    sire = next(b for b in break_down(results + more) if b.key == "sire")
    assert [(line.conception.count, line.conception.of) for line in sire.lines] == [
        (10, 20), (8, 20),
    ]  # fmt: skip
    assert sire.unknown == 30


def test_breakdown_keeps_every_level_in_its_order_and_what_is_not_known_last():
    results = [
        served(0, 1.0, condition=7.5, days_since_calving=95),
        served(1, 0.0, condition=4.5, days_since_calving=49),
        served(2, 1.0, condition=5.0, days_since_calving=50),
        served(3, 0.0),
        served(4, 0.0, class_="heifer", condition=5.5),
    ]
    told = {b.key: [line.level for line in b.lines] for b in break_down(results)}
    assert told["condition"] == ["under 5", "5 to 5.5", "7 and more", NOT_KNOWN]
    assert told["days_since_calving"] == [
        "heifer", "under 50", "50 to 69", "90 and more", NOT_KNOWN,
    ]  # fmt: skip
    for breakdown in break_down(results):
        assert sum(line.conception.of for line in breakdown.lines) == 5


def test_what_parts_the_females_alike_is_told_once_whatever_its_levels_are_called():
    """Cows under protocol z and heifers under a: class, group and protocol are one thing."""
    results = [
        replace(served(i, float(i < 4), class_=kind), group=group, protocol=protocol)
        for i, (kind, group, protocol) in enumerate(
            [("cow", "cows", "z")] * 6 + [("heifer", "heifers", "a")] * 3
        )
    ]
    assert [b.key for b in tell_once(break_down(results))] == ["protocol"]


def test_response_counts_only_females_somebody_looked_at():
    results = [
        served(0, 1.0, in_heat=True),
        served(1, 0.0, in_heat=False),
        served(2, None),
    ]
    assert (response_of(results).count, response_of(results).of) == (1, 2)
    assert (pregnancy_of(results).count, pregnancy_of(results).of) == (1, 2)


def test_a_female_of_whom_ai_and_bull_are_both_possible_counts_by_her_chance():
    """Left out, only pregnant females would be missing: 4 open and 6 half sure are 3 of 10, not
    0 of 4."""
    results = [served(i, 0.5) for i in range(6)] + [served(9 + i, 0.0) for i in range(4)]
    assert (pregnancy_of(results).count, pregnancy_of(results).of) == (3, 10)
    assert [outcome_of(p, called_from=CALLED) for p in (0.95, 0.5, 0.05, None)] == [
        Outcome.PREGNANT, Outcome.UNSURE, Outcome.NOT, Outcome.UNKNOWN,
    ]  # fmt: skip


def levels_of(key, *results):
    (found,) = [b for b in break_down(results) if b.key == key]
    return [line.level for line in found.lines]


def test_each_condition_and_day_since_calving_has_its_own_class():
    """The words of a class say which belong to it: 5 to 5.5 holds 5 and 5.5, 6 does not."""
    for condition, level in ((4.5, "under 5"), (5.0, "5 to 5.5"), (5.5, "5 to 5.5"),
                             (6.0, "6 to 6.5"), (6.5, "6 to 6.5"), (7.0, "7 and more"),
                             (9.0, "7 and more")):  # fmt: skip
        told = levels_of("condition", served(0, 1.0, condition=condition), served(1, 0.0))
        assert told == [level, NOT_KNOWN]
    for days, level in ((49, "under 50"), (50, "50 to 69"), (69, "50 to 69"), (70, "70 to 89"),
                        (89, "70 to 89"), (90, "90 and more"), (400, "90 and more")):  # fmt: skip
        told = levels_of(
            "days_since_calving", served(0, 1.0, days_since_calving=days), served(1, 0.0)
        )
        assert told == [level, NOT_KNOWN]


def test_first_service_counts_females_treated_alone_and_those_never_inseminated_as_open():
    never = replace(served(1, 0.0), services=())
    results = [served(0, 1.0), never, replace(served(2, 1.0), treated=False)]
    told = first_service_of(results)
    assert (told.count, told.of) == (1, 2)


@pytest.mark.parametrize(
    ("key", "fact", "words"),
    [
        ("in_heat", "in_heat", ("in heat by then", "no heat seen")),
        ("timed", "timed", ("at a set time", "on heat")),
        ("on_time", "on_time", ("all treatments in time", "something late or missed")),
    ],
)
def test_what_is_so_what_is_not_and_what_nobody_knows_are_three_levels(key, fact, words):
    yes, no = words
    results = [served(i, 1.0, **{fact: value}) for i, value in enumerate((True, False, None))]
    counted = {
        b.key: {line.level: line.conception.of for line in b.lines} for b in break_down(results)
    }
    assert counted[key] == {yes: 1, no: 1, NOT_KNOWN: 1}
