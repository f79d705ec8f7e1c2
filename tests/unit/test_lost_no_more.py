"""An open finding that a calving shows wrong joins what it had cut; a true loss stays one."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from herds import LIBRARY
from sunup.planning.calving_book import Outcome
from sunup.planning.females_now import Noted
from sunup.planning.lost_no_more import join_lost
from sunup.planning.parentage import ParentageFigures
from sunup.planning.pregnancies import read_stretches
from sunup.records.event import Kind

DENVER = ZoneInfo("America/Denver")
AI_AT = datetime(2027, 5, 25, 14, tzinfo=UTC)
FIGURES = ParentageFigures.of(LIBRARY)


def day(n):
    return date(2027, 5, 25) + timedelta(days=n)


def note(kind, days, **body):
    return Noted(kind, AI_AT + timedelta(days=days), body)


def scan(days, result="pregnant", **more):
    return note(Kind.PREGNANCY_CHECKED, days, method="ultrasound", result=result, **more)


def calved(days):
    return note(Kind.CALVED, days, calves=[{"sex": "male", "alive": True}])


def joined(*notes, kind="heifer"):
    added = note(Kind.FEMALE_ADDED, -80, tag="41", calved_on=None, **{"class": kind})
    until = datetime(2030, 1, 1, tzinfo=UTC)
    stretches = read_stretches([added, *notes], zone=DENVER, until=until)
    return join_lost(stretches, breeds=(), figures=FIGURES)


AI = note(Kind.INSEMINATED, 0, sire="OAK", timed=True)
WRONG = (scan(64, fetal_age_days=64), scan(134, "not_pregnant"))


def test_a_calf_of_the_ai_joins_what_an_open_finding_had_cut():
    whole, now = joined(AI, *WRONG, calved(283))
    assert (whole.outcome, whole.ended_on, whole.is_heifer) == (Outcome.CALVED, day(283), True)
    assert [one.on for one in whole.inseminations] == [day(0)]
    assert [check.result for check in whole.checks] == ["pregnant", "not_pregnant"]
    assert (now.outcome, now.calved_on, now.is_heifer) == (Outcome.DUE, day(283), False)


def test_a_calf_that_a_later_service_gives_leaves_the_loss():
    again = note(Kind.INSEMINATED, 140, sire="ELM", timed=True)
    lost, calf, _ = joined(AI, *WRONG, again, calved(140 + 283))
    assert (lost.outcome, calf.outcome) == (Outcome.LOST, Outcome.CALVED)
    assert [one.sire for one in calf.inseminations] == ["ELM"]


def test_a_calf_that_fits_no_service_before_or_after_leaves_the_loss():
    assert [one.outcome for one in joined(AI, *WRONG, calved(420))][:2] == [
        Outcome.LOST, Outcome.CALVED,
    ]  # fmt: skip


def test_an_abortion_is_never_undone_and_a_loss_without_a_calf_stays():
    aborted = joined(AI, WRONG[0], note(Kind.ABORTED, 134), calved(283))
    assert [one.outcome for one in aborted][:2] == [Outcome.ABORTED, Outcome.CALVED]
    assert [one.outcome for one in joined(AI, *WRONG)] == [Outcome.LOST, Outcome.DUE]
    twice = joined(AI, *WRONG, note(Kind.ABORTED, 283))
    assert [one.outcome for one in twice][:2] == [Outcome.LOST, Outcome.ABORTED]


def times(*notes):
    whole = joined(*notes)[0]
    assert whole.outcome is Outcome.CALVED
    return [(b.bulls, b.from_on, b.until_on) for b in whole.bulls]


def test_a_bull_who_stayed_over_the_cut_was_with_her_all_the_time():
    ash = note(Kind.BULLS_IN, 22, bulls=["Ash"])
    out = note(Kind.BULLS_OUT, 150)
    # the cut begins his second time on the day of the pregnant finding
    assert times(AI, ash, *WRONG, out, calved(283)) == [(("Ash",), day(22), day(150))]
    assert times(AI, ash, *WRONG, calved(283)) == [(("Ash",), day(22), None)]


def test_a_bull_out_before_the_cut_and_another_after_it_stay_two():
    ash = (note(Kind.BULLS_IN, 22, bulls=["Ash"]), note(Kind.BULLS_OUT, 60))
    fir = (note(Kind.BULLS_IN, 140, bulls=["Fir"]), note(Kind.BULLS_OUT, 141))
    assert times(AI, *ash, *WRONG, *fir, calved(283)) == [
        (("Ash",), day(22), day(60)), (("Fir",), day(140), day(141)),
    ]  # fmt: skip
    again = (note(Kind.BULLS_IN, 140, bulls=["Ash"]), note(Kind.BULLS_OUT, 141))
    assert times(AI, *ash, *WRONG, *again, calved(283)) == [
        (("Ash",), day(22), day(60)), (("Ash",), day(140), day(141)),
    ]  # fmt: skip


def test_of_two_bulls_each_keeps_his_own_time():
    ash, fir = note(Kind.BULLS_IN, 22, bulls=["Ash"]), note(Kind.BULLS_IN, 30, bulls=["Fir"])
    out = note(Kind.BULLS_OUT, 150, bulls=["Fir"])
    assert times(AI, ash, fir, *WRONG, out, calved(283)) == [
        (("Ash",), day(22), None), (("Fir",), day(30), day(150)),
    ]  # fmt: skip
