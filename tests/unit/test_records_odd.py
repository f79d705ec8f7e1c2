"""What is odd in a ledger: found where it is, silent where it is not, told in plain words."""

from datetime import UTC, datetime, timedelta

import pytest
from ledger_events import event, made_id

from sunup.base.problems import Severity
from sunup.planning.odd_limits import odd_limits
from sunup.records.event import Kind
from sunup.records.fold import fold
from sunup.records.odd_herd import find_odd

T0 = datetime(2027, 5, 1, 14, tzinfo=UTC)
COW = made_id("cow")


@pytest.fixture(scope="module")
def limits(library):
    return odd_limits(library)


def say(kind, day, body=None, *, female=COW, **more):
    at = T0 + timedelta(days=day)
    return event(kind, at=at, body=body or {}, female=female, **more)


def herd(*events, group="Cows", **facts):
    return [
        say(Kind.FEMALE_ADDED, -1, {"tag": "412", "listed": True, **facts}),
        say(Kind.MOVED, -0.9, {"to": group}),
        *events,
    ]


def rules(events, limits, **more):
    return [odd.rule for odd in find_odd(fold(events), limits, **more)]


PLACED = Kind.INSERT_PLACED
OUT = {"found": True}
PGF = {"act": "pgf", "active": "cloprostenol"}
AI = {"sire": "S1"}
OPEN = {"method": "ultrasound", "result": "not_pregnant"}
PREGNANT = {"method": "ultrasound", "result": "pregnant"}
STANDING = {"sign": "standing"}


@pytest.mark.parametrize(
    ("events", "expected"),
    [
        ([say(PLACED, 0), say(Kind.INSERT_REMOVED, 7, OUT)], []),
        ([say(Kind.INSERT_REMOVED, 7, OUT)], ["insert_never_in", "more_out_than_in"]),
        ([say(Kind.INSERT_REMOVED, 7, {"found": False})], []),
        ([say(PLACED, 0), say(PLACED, 1), say(Kind.INSERT_REMOVED, 7, OUT)], ["insert_twice"]),
        # 14 days is a protocol's; three weeks is none's
        ([say(PLACED, 0), say(Kind.INSERT_REMOVED, 14, OUT)], []),
        ([say(PLACED, 0), say(Kind.INSERT_REMOVED, 21, OUT)], ["insert_too_long"]),
        ([say(PLACED, 0), say(Kind.WEIGHED, 30, {"weight_kg": 500})], ["insert_still_in"]),
        ([say(PLACED, 0), say(Kind.LEFT_HERD, 3, {"why": "sold"})], ["left_with_insert"]),
        ([say(PLACED, 0), say(Kind.INSEMINATED, 9, AI), say(Kind.INSERT_REMOVED, 10, OUT)],
         ["inseminated_with_insert"]),
        # PGF to a female recorded inseminated nine days before
        ([say(Kind.INSEMINATED, 0, AI), say(Kind.TREATED, 9, PGF)], ["pgf_when_exposed"]),
        ([say(Kind.INSEMINATED, 0, AI), say(Kind.TREATED, 4, PGF)], []),
        ([say(Kind.TREATED, 0, PGF), say(Kind.INSEMINATED, 3, AI)], []),
        ([say(Kind.INSEMINATED, 0, AI), say(Kind.PREGNANCY_CHECKED, 30, OPEN),
          say(Kind.TREATED, 31, PGF)], []),
        ([say(Kind.INSEMINATED, 0, AI), say(Kind.PREGNANCY_CHECKED, 30, OPEN),
          say(Kind.INSEMINATED, 31, AI), say(Kind.TREATED, 40, PGF)], ["pgf_when_exposed"]),
        ([say(Kind.INSEMINATED, 0, AI), say(Kind.ABORTED, 60), say(Kind.TREATED, 70, PGF)], []),
        # with a bull: by her group, still with him
        ([say(Kind.BULLS_IN, 0, {"bulls": ["A"]}, female=None, group="Cows"),
          say(Kind.TREATED, 6, PGF)], ["pgf_when_exposed"]),
        ([say(Kind.BULLS_IN, 0, {"bulls": ["A"]}, female=None, group="Cows"),
          say(Kind.PREGNANCY_CHECKED, 40, OPEN), say(Kind.TREATED, 50, PGF)],
         ["pgf_when_exposed"]),
        ([say(Kind.BULLS_IN, 0, {"bulls": ["A"]}, female=None, group="Heifers"),
          say(Kind.TREATED, 6, PGF)], []),
        # calvings: of the insemination, of the bull, of nothing recorded
        ([say(Kind.INSEMINATED, 0, AI), say(Kind.CALVED, 283)], []),
        ([say(Kind.INSEMINATED, 0, AI), say(Kind.CALVED, 200)], ["calving_fits_no_service"]),
        ([say(Kind.INSEMINATED, 0, AI), say(Kind.CALVED, 310)], ["calving_fits_no_service"]),
        ([say(Kind.INSEMINATED, 0, AI),
          say(Kind.BULLS_IN, 12, {"bulls": ["A"]}, female=None, group="Cows"),
          say(Kind.BULLS_OUT, 60, {}, female=None, group="Cows"), say(Kind.CALVED, 320)], []),
        ([say(Kind.CALVED, 3)], []),
        ([say(Kind.CALVED, 3), say(Kind.CALVED, 4)], ["calved_twice"]),
        # an abortion ends it: nothing is calved five months on, unless by a service since
        ([say(Kind.INSEMINATED, 0, AI), say(Kind.ABORTED, 120), say(Kind.CALVED, 283)],
         ["calved_after_abortion"]),
        ([say(Kind.INSEMINATED, 0, AI), say(Kind.ABORTED, 120), say(Kind.INSEMINATED, 150, AI),
          say(Kind.CALVED, 433)], []),
        # one day, two findings; on two days it is a loss
        ([say(Kind.PREGNANCY_CHECKED, 60, PREGNANT), say(Kind.PREGNANCY_CHECKED, 60.1, OPEN)],
         ["found_both_ways"]),
        ([say(Kind.PREGNANCY_CHECKED, 60, PREGNANT), say(Kind.PREGNANCY_CHECKED, 90, OPEN)], []),
        ([say(Kind.HEAT_SEEN, 0, STANDING), say(Kind.HEAT_SEEN, 0, STANDING, entered_by="Lee")],
         ["heat_twice"]),
        ([say(Kind.HEAT_SEEN, 0, STANDING), say(Kind.HEAT_SEEN, 0.01, STANDING)], []),
        # a bull turned in twice: with one group, with two; taken out between all is well
        ([say(Kind.BULLS_IN, 0, {"bulls": ["A"]}, female=None, group="Cows"),
          say(Kind.BULLS_IN, 3, {"bulls": ["a"]}, female=None, group="Cows")], ["bull_in_twice"]),
        ([say(Kind.BULLS_IN, 0, {"bulls": ["A"]}, female=None, group="Cows"),
          say(Kind.BULLS_IN, 3, {"bulls": ["A"]}, female=None, group="Heifers")],
         ["bull_in_twice"]),
        ([say(Kind.BULLS_IN, 0, {"bulls": ["A", "B"]}, female=None, group="Cows"),
          say(Kind.BULLS_OUT, 3, {"bulls": ["A"]}, female=None, group="Cows"),
          say(Kind.BULLS_IN, 4, {"bulls": ["A"]}, female=None, group="Heifers")], []),
        # recorded for next year: the year is wrong
        ([say(Kind.CALVED, 365, entered_at=T0)], ["entered_ahead"]),
        ([say(Kind.PREGNANCY_CHECKED, 60, PREGNANT, entered_at=T0)], ["entered_ahead"]),
        ([say(Kind.PREGNANCY_CHECKED, 60, PREGNANT), say(Kind.HEAT_SEEN, 70, STANDING)],
         ["heat_when_pregnant"]),
        ([say(Kind.PREGNANCY_CHECKED, 60, PREGNANT), say(Kind.HEAT_SEEN, 70, {"sign": "mounting"})],
         []),
        ([say(Kind.PREGNANCY_CHECKED, 60, PREGNANT), say(Kind.INSEMINATED, 70, AI)],
         ["inseminated_pregnant"]),
        ([say(Kind.PREGNANCY_CHECKED, 60, PREGNANT), say(Kind.ABORTED, 65),
          say(Kind.INSEMINATED, 70, AI)], []),
        ([say(Kind.TREATED, 0, PGF), say(Kind.TREATED, 0.1, PGF)], ["twice"]),
        # the second PGF of the 5-day protocols, 8 hours on
        ([say(Kind.TREATED, 0, PGF), say(Kind.TREATED, 8 / 24, PGF)], []),
        ([say(Kind.INSEMINATED, 0, {"sire": "S1", "straws": 2})], ["several_straws"]),
        ([say(Kind.LEFT_HERD, 0, {"why": "sold"}), say(Kind.TREATED, 1, PGF)], ["after_leaving"]),
        ([say(Kind.LEFT_HERD, 0, {"why": "sold"}), say(Kind.MOVED, 1, {"to": "Cows"}),
          say(Kind.TREATED, 2, PGF)], []),
        ([say(Kind.LEFT_HERD, 0, {"why": "died"}), say(Kind.WEANED, 90, {"calves": 1})], []),
        ([say(Kind.TREATED, 0, {**PGF, "expires_on": "2027-04-30"})], ["expired"]),
        ([say(Kind.TREATED, 0, {**PGF, "expires_on": "2027-05-01"})], []),
    ],
)  # fmt: skip
def test_each_rule_speaks_where_it_should_and_is_silent_where_not(events, expected, limits):
    assert rules(herd(*events), limits) == expected


@pytest.mark.parametrize(
    ("facts", "expected"),
    [({"class": "heifer"}, []), ({"class": "cow"}, ["melengestrol_to_cows"])],
)
def test_melengestrol_fed_to_a_group_is_odd_where_cows_stand_in_it(facts, expected, limits):
    days = [
        say(Kind.FED, d, {"feed": "melengestrol"}, female=None, group="Cows") for d in range(14)
    ]
    assert rules(herd(*days, **facts), limits) == expected


def test_the_sums_of_a_group_are_told_beside_the_females(limits):
    events = herd(say(PLACED, 0), say(Kind.INSERT_REMOVED, 7, OUT))
    events += [
        say(Kind.FEMALE_ADDED, -1, {"tag": "2", "listed": True}, female=made_id("b")),
        say(Kind.MOVED, -0.9, {"to": "Cows"}, female=made_id("b")),
        say(Kind.INSERT_REMOVED, 7.1, OUT, female=made_id("b")),
    ]
    found = {odd.rule: odd for odd in find_odd(fold(events), limits)}
    assert set(found) == {"insert_never_in", "more_out_than_in"}
    assert found["more_out_than_in"].what == "2 inserts are recorded out and 1 in."
    assert "group Cows" in found["more_out_than_in"].where


def test_two_females_with_one_tag_are_told_unless_one_left(limits):
    other = made_id("b")
    two = herd(say(Kind.FEMALE_ADDED, 0, {"tag": "412", "listed": True}, female=other))
    assert rules(two, limits) == ["shared_tag"]
    assert rules([*two, say(Kind.LEFT_HERD, 1, {"why": "sold"}, female=other)], limits) == []
    identified = say(Kind.IDENTIFIED, 1, {"same_as": COW}, female=other)
    assert rules([*two, identified], limits) == []


def test_an_unlisted_female_is_a_notice(limits):
    met = say(Kind.FEMALE_ADDED, 0, {"tag": "99", "listed": False}, female=made_id("b"))
    (odd,) = find_odd(fold(herd(met)), limits)
    assert (odd.rule, odd.severity) == ("unlisted", Severity.NOTICE)


def test_what_was_entered_long_after_is_one_notice_a_day(limits):
    late = {"entered_at": T0 + timedelta(days=12)}
    events = herd(
        say(Kind.TREATED, 0, PGF, **late),
        say(Kind.INSEMINATED, 0.1, AI, **late),
        say(Kind.WEIGHED, 0, {"weight_kg": 500}, **late),  # no hour hangs on a weight
        say(Kind.HEAT_SEEN, 5, STANDING, **late),  # a week's notes at the weekend
    )
    (odd,) = find_odd(fold(events), limits)
    assert (odd.rule, len(odd.events)) == ("entered_late", 2)
    assert "12 days later" in odd.what


def test_an_entry_of_the_future_is_odd(limits):
    events = herd(say(Kind.INSEMINATED, 2, AI, entered_at=T0))
    assert rules(events, limits) == ["entered_ahead"]


def test_a_clock_a_day_off_is_named_and_the_hours_are_right(limits):
    off = {"clock_offset_s": 86_400.0, "device": "phone 2"}
    events = herd(say(PLACED, 1, **off), say(Kind.INSERT_REMOVED, 7, OUT))
    (odd,) = find_odd(fold(events), limits)
    assert (odd.rule, odd.severity) == ("clock_off", Severity.NOTICE)
    assert ("phone 2" in odd.where, odd.what) == (True, "It was 24.0 hours ahead.")


def test_stock_below_nothing_is_told_once(limits):
    came = {"item": "cloprostenol", "unit": "doses", "why": "bought"}
    stock = [
        say(Kind.STOCK_MOVED, -1, {**came, "amount": 1, "lot": "A"}, female=None),
        say(Kind.STOCK_MOVED, -1, {**came, "amount": 5, "lot": "B"}, female=None),
    ]
    of = lambda lot: {**PGF, "lot": lot}  # noqa: E731
    two_of_a = herd(*stock, say(Kind.TREATED, 0, of("A")), say(Kind.TREATED, 11, of("A")))
    (odd,) = find_odd(fold(two_of_a), limits)
    assert (odd.rule, odd.where) == ("stock_below_nothing", "cloprostenol, lot A")
    assert odd.at == T0 + timedelta(days=11)
    without_lot = herd(stock[0], say(Kind.TREATED, 0, PGF), say(Kind.TREATED, 11, PGF))
    (odd,) = find_odd(fold(without_lot), limits)
    assert (odd.where, odd.what) == (
        "cloprostenol",
        "2 doses went out and 1 doses came in.",
    )
    nothing_kept = herd(say(Kind.TREATED, 0, PGF))
    assert rules(nothing_kept, limits) == []


def test_a_count_that_differs_is_told_with_the_difference(limits):
    tally = {"what": "head", "count": 3}
    (odd,) = find_odd(fold(herd(say(Kind.TALLIED, 0, tally, female=None, group="Cows"))), limits)
    assert odd.rule == "count_differs"
    assert odd.what == "3 head were counted; the records say 1 (2 more)."


def test_two_people_who_correct_one_entry_differently_are_named(limits):
    first = say(Kind.WEIGHED, 0, {"weight_kg": 501})
    fix = lambda day, by, kg: say(  # noqa: E731
        Kind.CORRECTED, day, {"taken_back": False, "body": {"weight_kg": kg}},
        corrects=first.id, entered_by=by,
    )  # fmt: skip
    assert rules(herd(first, fix(1, "Lee", 502), fix(2, "Kim", 503)), limits) == [
        "corrected_by_two"
    ]
    assert rules(herd(first, fix(1, "Lee", 502), fix(2, "Kim", 502)), limits) == []
    assert rules(herd(first, fix(1, "Lee", 502), fix(2, "Lee", 503)), limits) == []


def test_what_found_no_place_is_told(limits):
    events = [
        say(Kind.HEAT_SEEN, 0, STANDING, female=made_id("nobody")),
        say(Kind.WATCHED, 0, {"minutes": 5}, female=None),
        say(Kind.WEIGHED, 0, {"weight_kg": "x"}),
    ]
    assert sorted(rules(events, limits)) == ["no_place", "unknown_female", "unreadable"]


def test_every_word_names_the_female_the_day_and_what_to_do(limits):
    events = herd(say(Kind.INSEMINATED, 0, AI), say(Kind.TREATED, 9, PGF))
    (odd,) = find_odd(fold(events), limits)
    assert odd.problem.where == "female 412, 10 May 2027"
    assert "inseminated on 1 May 2027, 9 days before" in odd.problem.what
    assert "veterinarian" in odd.problem.fix
    assert odd.female == COW


def test_nothing_recorded_is_not_odd(limits):
    assert find_odd(fold([]), limits) == ()


def test_a_calving_soon_after_the_one_on_her_list_is_named(limits):
    listed = {"class": "cow", "calved_on": "2027-02-11"}
    assert rules(herd(say(Kind.CALVED, 14), **listed), limits) == ["calved_twice"]
    # the list's own calving recorded with its retained membranes is that one
    same = say(Kind.CALVED, -79, {"retained_membranes": True})
    assert rules(herd(same, **listed), limits) == []
    # the next year's calf
    bull = [
        say(Kind.BULLS_IN, 20, {"bulls": ["A"]}, female=None, group="Cows"),
        say(Kind.BULLS_OUT, 80, {}, female=None, group="Cows"),
    ]
    assert rules(herd(*bull, say(Kind.CALVED, 320), **listed), limits) == []


def test_a_calving_too_soon_after_an_open_finding_is_named(limits):
    bull = say(Kind.BULLS_IN, 0, {"bulls": ["A"]}, female=None, group="Cows")
    out = say(Kind.BULLS_OUT, 90, {}, female=None, group="Cows")
    found = say(Kind.PREGNANCY_CHECKED, 150, OPEN)
    assert rules(herd(bull, out, found, say(Kind.CALVED, 320)), limits) == ["calved_found_open"]
    # open while the bull was in: she can have conceived after it
    early = say(Kind.PREGNANCY_CHECKED, 40, OPEN)
    assert rules(herd(bull, out, early, say(Kind.CALVED, 340)), limits) == []


def test_a_calving_of_a_heifer_never_served_is_named(limits):
    calved = say(Kind.CALVED, 30)
    assert rules(herd(calved, **{"class": "heifer"}), limits) == ["calved_unserved"]
    assert rules(herd(calved, **{"class": "cow"}), limits) == []
    found = say(Kind.PREGNANCY_CHECKED, 2, PREGNANT)
    assert rules(herd(found, calved, **{"class": "heifer"}), limits) == []


def test_a_calving_corrected_into_the_future_is_named(limits):
    first = say(Kind.CALVED, 1)
    at = (T0 + timedelta(days=400)).isoformat()
    fix = say(Kind.CORRECTED, 2, {"taken_back": False, "occurred_at": at}, corrects=first.id)
    assert rules(herd(first, fix), limits) == ["entered_ahead"]
