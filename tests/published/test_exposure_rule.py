"""The rule that guards a pregnancy from PGF, at each of its edges.

Sources, transcribed in ``authorities/readiness``: 5 days before PGF is common practice (from
memory; the US dinoprost rule wants a corpus luteum of at least 5 days); ultrasound from 28 days and
palpation from 45 (Texas A&M 2021, Nebraska 2021, part read); blood from 28 (test directions in the
trade press 2012, part read). Whole days: no tolerance.
"""

from __future__ import annotations

import tomllib
from datetime import timedelta
from pathlib import Path

import pytest

from herds import AI_ON, LIBRARY, cow, cows, season
from sunup.planning.exposure import ExposureFigures, find_doubt
from sunup.planning.plan import State
from sunup.records.female import CheckMethod, Exposure, ExposureKind, PregnancyFinding

PRACTICE = tomllib.loads(
    (Path(__file__).parents[2] / "authorities/readiness/practice.toml").read_text("utf-8")
)
FIGURES = ExposureFigures.of(LIBRARY)
PGF_ON = AI_ON
BULL, AI = ExposureKind.BULL, ExposureKind.AI
NOT_PREGNANT = PregnancyFinding.NOT_PREGNANT


def ago(days):
    return PGF_ON - timedelta(days=days)


def said(days):
    return f"{ago(days).day} {ago(days):%b %Y}"


def doubt(kind=BULL, *, since, until=None, found=None, checked=None, method=None):
    """Doubt about a cow exposed `since` to `until` days before PGF, checked so many days before."""
    return find_doubt(
        cow(
            days=200,
            exposure=Exposure(kind, ago(since), None if until is None else ago(until)),
            pregnancy=found,
            pregnancy_checked_on=None if checked is None else ago(checked),
            pregnancy_method=method,
        ),
        pgf_on=PGF_ON,
        figures=FIGURES,
    )


def test_our_figures_are_the_ones_transcribed():
    assert PRACTICE["exposure"]["exposed_from_days_before_pgf"] == FIGURES.days_before_pgf.number
    for method in CheckMethod:
        assert PRACTICE[method.value]["earliest_days"] == FIGURES.earliest(method).number
        assert PRACTICE[method.value]["seen"] == FIGURES.earliest(method).seen.value


@pytest.mark.parametrize("kind", [BULL, AI])
@pytest.mark.parametrize(("days", "is_doubt"), [(0, False), (4, False), (5, True), (6, True)])
def test_exposure_counts_from_the_fifth_day_before_pgf(kind, days, is_doubt):
    assert is_doubt == (doubt(kind, since=days, until=0 if days else None) is not None)


@pytest.mark.parametrize(
    ("method", "earliest"),
    [(CheckMethod.ULTRASOUND, 28), (CheckMethod.PALPATION, 45), (CheckMethod.BLOOD, 28)],
)
def test_a_finding_counts_from_the_methods_earliest_day_after_the_last_exposure(method, earliest):
    last = 100
    for after, is_doubt in ((earliest - 1, True), (earliest, False), (earliest + 1, False)):
        found = doubt(
            since=140, until=last, found=NOT_PREGNANT, checked=last - after, method=method
        )
        assert is_doubt == (found is not None), (method, after)


def test_a_finding_too_early_names_the_day_that_settles_it():
    found = doubt(AI, since=60, found=NOT_PREGNANT, checked=60 - 27, method=CheckMethod.ULTRASOUND)
    assert found.text.endswith(f"too early to be sure: check again on or after {said(60 - 28)}")


def test_a_method_not_named_is_taken_as_the_slowest():
    slow = doubt(AI, since=100, found=NOT_PREGNANT, checked=100 - 44)
    enough = doubt(AI, since=100, found=NOT_PREGNANT, checked=100 - 45)
    assert slow is not None
    assert slow.figure.key == FIGURES.palpation.key
    assert enough is None


def test_a_finding_without_its_day_settles_nothing():
    found = doubt(AI, since=100, found=NOT_PREGNANT, method=CheckMethod.ULTRASOUND)
    assert "on a day not on file" in found.text


def test_the_days_count_from_the_last_exposure_not_the_first():
    """With a bull for 60 days, then scanned on day 28 after he came and while he was there."""
    found = doubt(since=90, until=30, found=NOT_PREGNANT, checked=62, method=CheckMethod.ULTRASOUND)
    assert found.text.endswith(f"check again on or after {said(30 - 28)}")


def test_with_a_bull_still_in_no_finding_is_enough():
    found = doubt(since=100, found=NOT_PREGNANT, checked=1, method=CheckMethod.ULTRASOUND)
    assert "no day bulls were taken out" in found.text


def test_an_insemination_is_one_day_and_needs_no_end():
    assert doubt(AI, since=4) is None
    assert doubt(AI, since=5) is not None


@pytest.mark.parametrize("finding", [PregnancyFinding.UNSURE, PregnancyFinding.PREGNANT])
def test_unsure_and_pregnant_are_doubts_with_or_without_an_exposure(finding):
    bare = cow(days=200, pregnancy=finding, pregnancy_checked_on=ago(10))
    assert find_doubt(bare, pgf_on=PGF_ON, figures=FIGURES) is not None
    assert doubt(AI, since=60, found=finding, checked=10) is not None


def test_a_female_never_exposed_is_no_doubt():
    assert find_doubt(cow(), pgf_on=PGF_ON, figures=FIGURES) is None


def test_an_exposure_and_a_finding_older_than_her_calving_ended_in_it():
    calved = cow(
        days=60,
        exposure=Exposure(BULL, ago(360), ago(300)),
        pregnancy=PregnancyFinding.PREGNANT,
        pregnancy_checked_on=ago(200),
    )
    assert find_doubt(calved, pgf_on=PGF_ON, figures=FIGURES) is None


def test_pregnant_on_a_day_not_on_file_is_a_doubt_even_after_a_calving():
    calved = cow(days=60, pregnancy=PregnancyFinding.PREGNANT)
    assert find_doubt(calved, pgf_on=PGF_ON, figures=FIGURES) is not None


@pytest.mark.parametrize(
    ("since", "held"), [(4, False), (5, True)], ids=["4 days before AI", "5 days before AI"]
)
def test_a_plan_holds_her_and_leaves_her_out_of_every_step(since, held):
    """A protocol with a PGF on the last day before AI gives no PGF later than the AI day."""
    herd = [*cows(5), cow("9", exposure=Exposure(BULL, ago(since), ago(1)))]
    plan = season(herd, protocols={"cows": "co_synch_insert7_cow"})
    line = next(f for f in plan.females if f.tag == "9")
    assert held == (line.state is State.HOLD)
    assert held == ("9" not in plan.groups[0].order)


def test_a_pgf_after_the_first_ai_day_asks_about_exposures_up_to_its_own_day():
    """Two PGF, served after the first: exposed on the AI day, in doubt at the second."""
    late = cow("9", exposure=Exposure(AI, PGF_ON))
    plan = season([*cows(5), late], protocols={"cows": "pg2_ai_both"})
    assert "9" not in plan.groups[0].order


def both(ai, bull, until=None, **found):
    """A cow inseminated `ai` days before PGF and with a bull from `bull` days before."""
    days = [ago(ai), ago(bull)]
    out = None if until is None else ago(until)
    span = Exposure(
        BULL, min(days), None if out is None else max(out, ago(ai)),
        ai_days=(ago(ai), ago(ai)), bull_days=(ago(bull), out),
    )  # fmt: skip
    return cow(days=200, exposure=span, **found)


def test_the_bull_is_told_from_his_own_day_and_not_from_her_insemination():
    told = find_doubt(both(30, 12), pgf_on=PGF_ON, figures=FIGURES)
    ai, bull = (f"{day.day} {day:%b %Y}" for day in (ago(30), ago(12)))
    assert f"inseminated from {ai} and with a bull from {bull}" in told.text
    assert "no day bulls were taken out" in told.text


def test_a_bull_of_the_last_days_does_not_undo_a_finding_open_after_her_insemination():
    """Ultrasound is sure from 28 days, a bull counts from the fifth day before PGF: each by itself.

    As one span from the insemination on "a bull still in" she would never get a PGF.
    """
    found = {
        "pregnancy": NOT_PREGNANT,
        "pregnancy_checked_on": ago(1),
        "pregnancy_method": CheckMethod.ULTRASOUND,
    }
    assert find_doubt(both(40, 4, **found), pgf_on=PGF_ON, figures=FIGURES) is None
    assert find_doubt(both(40, 5, **found), pgf_on=PGF_ON, figures=FIGURES) is not None
    assert find_doubt(both(20, 4, **found), pgf_on=PGF_ON, figures=FIGURES) is not None
