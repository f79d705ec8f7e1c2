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


def check(days, result, **more):
    return note(Kind.PREGNANCY_CHECKED, days, method="ultrasound", result=result, **more)


def again(days, sire="ELM 2"):
    return note(Kind.INSEMINATED, days, sire=sire, timed=True)


def test_an_unsure_look_takes_nothing_back_and_loses_no_pregnancy():
    """Unsure says nothing: neither the same hour nor later does it undo a finding, and an open
    finding after it alone is no loss."""
    unsure = (check(64.1, "unsure"), check(70, "unsure"))
    (now,) = read(ADDED, AI, PREGNANT, *unsure)
    assert now.found == "pregnant"
    (opened,) = read(ADDED, AI, check(40, "unsure"), check(64, "not_pregnant"))
    assert (opened.found, opened.outcome) == ("not_pregnant", Outcome.DUE)


def test_a_service_after_the_pregnant_finding_belongs_to_what_comes_after_the_loss():
    past, now = read(ADDED, AI, PREGNANT, again(90), check(120, "not_pregnant"))
    assert [one.on for one in past.inseminations] == [day(0)]
    assert [one.on for one in now.inseminations] == [day(90)]


def test_open_twice_and_inseminated_between_she_is_open_since_the_last_finding(library):
    found = (ADDED, AI, check(30, "not_pregnant"), again(33), check(62, "not_pregnant"))
    (now,) = read(*found)
    assert now.ai_since_open == ()
    assert pregnancy(library, now) is None
    assert say_state(now, None, today=day(70)) == "not pregnant"


def test_found_open_and_inseminated_in_the_same_visit_she_may_be_in_calf_to_it(library):
    (now,) = read(ADDED, AI, check(30, "not_pregnant"), again(30.05))
    assert [one.on for one in now.ai_since_open] == [day(30)]
    assert say_state(now, None, today=day(40)) == "inseminated"
    due = return_of(now, female="id-41", tag="41", figures=ReturnFigures.of(library))
    assert due.from_on == day(48)


@pytest.mark.parametrize(
    ("body", "seen"),
    [
        ({"timed": True}, False), ({"timed": False}, True), ({}, False),
        ({"timed": True, "in_heat": True}, True), ({"in_heat": False}, False),
    ],
)  # fmt: skip
def test_a_service_is_on_heat_where_heat_was_seen_or_it_was_not_at_a_fixed_time(body, seen):
    (now,) = read(ADDED, note(Kind.INSEMINATED, 0, sire="OAK 1", **body))
    assert now.inseminations[0].is_on_heat is seen


def test_a_bull_that_is_not_with_her_is_not_taken_from_her():
    (now,) = read(ADDED, IN, note(Kind.BULLS_OUT, 20, bulls=["Elm"]), OUT)
    assert [(b.bulls, b.until_on) for b in now.bulls] == [(("Ash", "Fir"), day(60))]
    (later,) = read(ADDED, IN, note(Kind.BULLS_OUT, 40), OUT)
    assert [b.until_on for b in later.bulls] == [day(40)]


def test_a_bull_taken_out_as_she_calves_does_not_go_on_into_the_next_stretch():
    _, now = read(ADDED, AI, IN, note(Kind.BULLS_OUT, 283), note(Kind.CALVED, 283.1, calves=[]))
    assert now.bulls == ()


@pytest.mark.parametrize(
    ("calves", "n", "sex"),
    [
        ([], 1, None),
        ([{"sex": "female", "tag": "F1"}], 1, "female"),
        ([{"sex": "female"}, {"sex": "male"}], 2, None),
    ],
)
def test_a_calving_is_of_one_calf_unless_more_are_told_and_of_its_sex(calves, n, sex):
    past, now = read(ADDED, AI, note(Kind.CALVED, 283, calves=calves))
    assert (calving_of(past).n_calves, calving_of(past).sex) == (n, sex)
    assert [calf.tag for calf in past.calves][:1] == ([calves[0].get("tag", "")] if calves else [])
    assert calving_of(now) is None
    lost, _ = read(ADDED, AI, PREGNANT, note(Kind.ABORTED, 150))
    assert calving_of(lost) is None


def test_only_a_service_or_the_age_of_a_fetus_dates_a_pregnancy(library):
    (aged,) = read(ADDED, PREGNANT)
    assert pregnancy(library, aged).is_confirmed
    (bare,) = read(ADDED, check(64, "pregnant"))
    assert pregnancy(library, bare) is None


def test_a_pregnancy_that_ended_in_a_calf_was_one_though_nobody_checked(library):
    past, _ = read(ADDED, AI, note(Kind.CALVED, 283, calves=[]))
    found = pregnancy(library, past)
    assert found.is_confirmed
    assert found.sired is not None
    lost, _ = read(ADDED, AI, PREGNANT, note(Kind.ABORTED, 150))
    assert pregnancy(library, lost).sired is None
    heifer = note(Kind.FEMALE_ADDED, -30, tag="41", listed=True, **{"class": "heifer"})
    assert pregnancy(library, read(heifer, AI)[0]).is_heifer
    assert not pregnancy(library, read(ADDED, AI)[0]).is_heifer


@pytest.mark.parametrize(
    "notes",
    [
        (ADDED, AI, note(Kind.LEFT_HERD, 20, why="sold")),
        (ADDED, note(Kind.LEFT_HERD, 20, why="sold")),
    ],
)
def test_who_left_is_neither_scanned_nor_watched_until_she_is_back(library, notes):
    def told(stretch):
        figures = ReturnFigures.of(library)
        exposed = exposed_of(stretch, female="id-41", tag="41", group="cows")
        return exposed, return_of(stretch, female="id-41", tag="41", figures=figures)

    assert told(read(*notes)[-1]) == (None, None)
    back = read(*notes, note(Kind.MOVED, 22, to="cows"))[-1]
    assert all(told(back)) == back.is_served


def test_what_ended_is_neither_scanned_nor_watched(library):
    for end in (note(Kind.CALVED, 283, calves=[]), note(Kind.ABORTED, 150)):
        past = read(ADDED, AI, PREGNANT, end)[0]
        assert exposed_of(past, female="id-41", tag="41", group="cows") is None
        figures = ReturnFigures.of(library)
        assert return_of(past, female="id-41", tag="41", figures=figures) is None


def test_a_return_counts_from_the_last_service_and_an_unsure_look_settles_nothing(library):
    figures = ReturnFigures.of(library)
    (now,) = read(ADDED, AI, again(21), check(40, "unsure"))
    assert return_of(now, female="id-41", tag="41", figures=figures).from_on == day(21 + 18)
    (settled,) = read(ADDED, AI, check(40, "not_pregnant"))
    assert return_of(settled, female="id-41", tag="41", figures=figures) is None


def test_the_scan_sheet_takes_the_bulls_from_the_first_in_to_the_last_out():
    second = (note(Kind.BULLS_IN, 70, bulls=["Elm"]), note(Kind.BULLS_OUT, 90))
    (now,) = read(ADDED, AI, IN, OUT, *second, check(64, "not_pregnant"))
    told = exposed_of(now, female="id-41", tag="41", group="cows")
    assert (told.ai_on, told.bulls_in_on, told.bulls_out_on) == ((day(0),), day(14), day(90))
    assert told.last_found == "not pregnant on 4 Aug"
    (still,) = read(ADDED, AI, IN, OUT, second[0])
    assert exposed_of(still, female="id-41", tag="41", group="cows").bulls_out_on is None
    (fresh,) = read(ADDED, AI)
    told = exposed_of(fresh, female="id-41", tag="41", group="cows")
    assert (told.bulls_in_on, told.bulls_out_on, told.last_found) == (None, None, "")


def test_with_a_bull_to_his_last_day_and_what_was_found_from_then_on():
    (now,) = read(ADDED, AI, IN, OUT, check(50, "not_pregnant"))
    said = [say_state(now, None, today=day(n)) for n in (50, 60, 61)]
    assert said == ["with bull", "with bull", "not pregnant"]
    (unseen,) = read(ADDED, IN, OUT)
    assert say_state(unseen, None, today=day(70)) == "with bull"


def test_a_note_of_the_very_instant_asked_about_is_seen():
    (now,) = read(ADDED, AI, until=AI_AT)
    assert now.is_served
