"""A female's history cut into pregnancies: how each began, what was found, how it ended."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from sunup.app.open import open_library
from sunup.planning.calving_book import CalvingFigures, Outcome, book_line
from sunup.planning.females_now import Noted
from sunup.planning.parentage import ParentageFigures, Way
from sunup.planning.pregnancies import (
    calving_of,
    exposed_of,
    pregnancy_of,
    read_stretches,
    return_of,
    say_state,
)
from sunup.planning.returns import ReturnFigures
from sunup.planning.scan_sheet import ScanFigures, expect_in
from sunup.records.event import Kind

DENVER = ZoneInfo("America/Denver")
AI_AT = datetime(2026, 6, 1, 20, tzinfo=UTC)
AI_ON = date(2026, 6, 1)
END = datetime(2028, 1, 1, tzinfo=UTC)


@pytest.fixture(scope="module")
def library():
    found, problems = open_library()
    assert problems == []
    return found


def note(kind, days, **body):
    return Noted(kind, AI_AT + timedelta(days=days), body)


def day(n):
    return AI_ON + timedelta(days=n)


ADDED = note(Kind.FEMALE_ADDED, -30, tag="41", listed=True, **{"class": "cow"})
AI = note(Kind.INSEMINATED, 0, sire="OAK 1", timed=True)
IN = note(Kind.BULLS_IN, 14, bulls=["Ash", "Fir"])
OUT = note(Kind.BULLS_OUT, 60)
PREGNANT = note(
    Kind.PREGNANCY_CHECKED, 64, method="ultrasound", result="pregnant", fetal_age_days=64
)


def read(*notes, until=END, **more):
    return read_stretches(notes, zone=DENVER, until=until, **more)


def pregnancy(library, stretch):
    return pregnancy_of(
        stretch,
        female="id-41",
        tag="41",
        group="cows",
        today=day(70),
        figures=ParentageFigures.of(library),
    )


def test_services_and_checks_of_a_running_pregnancy_stand_together():
    (now,) = read(ADDED, AI, IN, OUT, PREGNANT)
    assert [one.on for one in now.inseminations] == [day(0)]
    assert [(b.from_on, b.until_on) for b in now.bulls] == [(day(14), day(60))]
    assert (now.outcome, now.found) == (Outcome.DUE, "pregnant")


def test_day_of_a_late_evening_service_is_the_ranchs_day():
    late = Noted(Kind.INSEMINATED, datetime(2026, 6, 2, 3, tzinfo=UTC), {"sire": "OAK 1"})
    (now,) = read(ADDED, late)
    assert now.inseminations[0].on == day(0)


def test_calving_ends_a_stretch_and_makes_a_heifer_a_cow():
    calved = note(
        Kind.CALVED, 283, ease=1, calves=[{"sex": "male", "alive": True, "weight_kg": 36}]
    )
    heifer = note(Kind.FEMALE_ADDED, -30, tag="41", listed=True, **{"class": "heifer"})
    past, now = read(heifer, AI, PREGNANT, calved)
    assert (past.outcome, past.ended_on, past.is_heifer) == (Outcome.CALVED, day(283), True)
    assert (now.calved_on, now.is_heifer, now.is_served) == (day(283), False, False)
    assert (calving_of(past).sex, calving_of(past).n_calves) == ("male", 1)


def test_bulls_still_with_her_at_calving_go_on_into_the_next_stretch():
    _, now = read(ADDED, AI, IN, note(Kind.CALVED, 283, calves=[]))
    assert [(b.from_on, b.until_on) for b in now.bulls] == [(day(283), None)]


def test_one_bull_of_two_taken_out_leaves_the_other():
    (now,) = read(ADDED, IN, note(Kind.BULLS_OUT, 20, bulls=["ash"]))
    assert [(b.bulls, b.from_on, b.until_on) for b in now.bulls] == [
        (("Ash", "Fir"), day(14), day(20)),
        (("Fir",), day(21), None),
    ]


def test_pregnant_then_open_is_a_loss_and_the_bull_that_stayed_may_have_settled_her():
    lost = note(Kind.PREGNANCY_CHECKED, 120, method="ultrasound", result="not_pregnant")
    past, now = read(ADDED, AI, IN, PREGNANT, lost)
    assert (past.outcome, past.ended_on) == (Outcome.LOST, day(120))
    assert (now.found, now.bulls[0].from_on) == ("not_pregnant", day(64))


def test_abortion_ends_a_pregnancy():
    past, now = read(ADDED, AI, PREGNANT, note(Kind.ABORTED, 150))
    assert (past.outcome, past.ended_on) == (Outcome.ABORTED, day(150))
    assert not now.is_served


def test_later_notes_are_not_seen():
    (now,) = read(ADDED, AI, PREGNANT, until=AI_AT + timedelta(days=1))
    assert now.found == ""


@pytest.mark.parametrize(
    ("notes", "words"),
    [
        ((ADDED,), "not bred"),
        ((ADDED, AI), "inseminated"),
        ((ADDED, AI, IN), "with bull"),
        ((ADDED, AI, IN, OUT, PREGNANT), "pregnant to AI"),
        (
            (
                ADDED,
                AI,
                IN,
                OUT,
                note(
                    Kind.PREGNANCY_CHECKED,
                    64,
                    method="ultrasound",
                    result="pregnant",
                    fetal_age_days=35,
                ),
            ),
            "pregnant to bull",
        ),
        (
            (
                ADDED,
                AI,
                IN,
                OUT,
                note(Kind.PREGNANCY_CHECKED, 64, method="ultrasound", result="pregnant"),
            ),
            "pregnant (sire unsure)",
        ),
        (
            (ADDED, AI, note(Kind.PREGNANCY_CHECKED, 40, method="blood", result="not_pregnant")),
            "not pregnant",
        ),
        ((ADDED, AI, note(Kind.CALVED, 283, calves=[])), "calved"),
        ((ADDED, AI, note(Kind.LEFT_HERD, 50, why="sold")), "left herd"),
    ],
)
def test_state_is_said_in_the_words_used_everywhere(library, notes, words):
    stretches = read(*notes)
    found = pregnancy(library, stretches[-1])
    parentage = None if found is None else found.parentage
    assert say_state(stretches[-1], parentage, today=day(70)) == words


def test_pregnancy_carries_its_prediction_and_after_calving_the_sire_judged_with_it(library):
    # an AI calf by its age at the scan, and a calving 24 days later than AI would give
    calved = note(Kind.CALVED, 307, calves=[{"sex": "female", "alive": True}])
    (past, _) = read(ADDED, AI, IN, OUT, PREGNANT, calved)
    found = pregnancy(library, past)
    assert found.parentage.chance(Way.AI) > 0.9
    assert found.sired.chance(Way.BULL) > 0.5
    line = book_line(found, today=day(310), figures=CalvingFigures.of(library))
    assert line.days_off > 20


def test_unchecked_service_is_a_possible_pregnancy_and_an_open_one_is_none(library):
    (served,) = read(ADDED, AI)
    assert pregnancy(library, served).is_confirmed is False
    (opened,) = read(
        ADDED, AI, note(Kind.PREGNANCY_CHECKED, 40, method="ultrasound", result="not_pregnant")
    )
    assert pregnancy(library, opened) is None
    (unserved,) = read(ADDED)
    assert pregnancy(library, unserved) is None


def test_inseminated_again_after_an_open_finding_she_may_be_due_to_the_later_one(library):
    """Found open at day 30 and inseminated on day 33: no calf of the first, one of the second."""
    found = note(Kind.PREGNANCY_CHECKED, 30, method="ultrasound", result="not_pregnant")
    again = note(Kind.INSEMINATED, 33, sire="ELM 2", timed=True)
    [open_] = read(ADDED, AI, found, until=AI_AT + timedelta(days=32))
    assert pregnancy(library, open_) is None
    [stretch] = read(ADDED, AI, found, again, until=AI_AT + timedelta(days=40))
    one = pregnancy(library, stretch)
    assert not one.is_confirmed
    assert [c.sires for c in one.parentage.candidates] == [("ELM 2",)]
    assert one.due.early_on - day(33) > timedelta(days=260), "due by the later one"


def test_scan_sheet_is_made_from_the_same_record(library):
    (now,) = read(ADDED, AI, IN)
    exposed = exposed_of(now, female="id-41", tag="41", group="cows")
    line = expect_in(exposed, on=day(64), figures=ScanFigures.of(library))
    assert line.text == "64 days, or at most 50"
    assert exposed_of(read(ADDED)[0], female="id-41", tag="41", group="cows") is None


def test_return_is_watched_for_until_a_check_settles_it(library):
    figures = ReturnFigures.of(library)
    (now,) = read(ADDED, AI)
    assert return_of(now, female="id-41", tag="41", figures=figures).from_on == day(18)
    (checked,) = read(ADDED, AI, PREGNANT)
    assert return_of(checked, female="id-41", tag="41", figures=figures) is None


def test_breeds_of_sires_and_chances_of_the_plan_are_taken():
    shares = (("charolais", 1.0),)
    (now,) = read(ADDED, AI, sire_breeds={"oak1": shares}, chances={day(0): 0.61})
    assert (now.inseminations[0].breeds, now.inseminations[0].chance) == (shares, 0.61)


def test_bulls_of_two_breeds_leave_the_breed_open():
    breeds = {"ash": (("angus", 1.0),), "fir": (("hereford", 1.0),)}
    (mixed,) = read(ADDED, IN, sire_breeds=breeds)
    (same,) = read(ADDED, IN, sire_breeds={"ash": breeds["ash"], "fir": breeds["ash"]})
    assert (mixed.bulls[0].breeds, same.bulls[0].breeds) == ((), breeds["ash"])
