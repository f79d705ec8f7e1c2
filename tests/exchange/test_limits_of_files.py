"""What is believed of a cell is what the library's figures say, to the last one believed."""

import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from herds import LIBRARY, LIMITS
from sunup.exchange.dates import expiry_reader
from sunup.exchange.faults import Fault
from sunup.exchange.herd_file import read_herd
from sunup.exchange.reader_clock import doubt_clock
from sunup.exchange.reader_file import Read
from sunup.exchange.result_fields import ResultKind
from sunup.exchange.result_taking import draft_results
from sunup.exchange.results_file import read_results
from sunup.records.event import Kind
from support.small_ledger import RANCH, ZONE, event, four, roster

ON = date(2027, 9, 30)
PAGE = (Path(__file__).parents[2] / "docs/reference/herd_file.md").read_text(encoding="utf-8")


def of(key):
    return LIBRARY.figure(key).span


def told_of_list(kind, header, cell, more):
    """What a list of results says of one cell beside tag, day and `more`."""
    head, beside = more.split("=")
    text = f"Tag,Date,{head},{header}\n101,2027-09-14,{beside},{cell}\n"
    file = read_results(text.encode(), "l.csv", kind=ResultKind(kind), on=ON, limits=LIMITS)
    return [problem.what for problem in file.problems]


def told_of_herd(header, cell, class_="cow"):
    text = f"Tag,Class,{header}\n1,{class_},{cell}\n"
    return [one.what for one in read_herd(text.encode(), "h.csv", on=ON, limits=LIMITS).problems]


@pytest.mark.parametrize(
    ("kind", "header", "more", "key"),
    [
        ("scans", "Follicle mm", "CL seen=yes", "practice.follicle_most_mm"),
        ("scans", "Pelvic area", "CL seen=yes", "practice.pelvic_area_believed_cm2"),
        ("treatments", "Dose ml", "Given=other drug", "practice.any_dose_most_ml"),
        ("treatments", "Withdrawal days", "Given=other drug", "practice.withdrawal_most_days"),
        ("calvings", "Birth weight (kg)", "Calf sex=H", "practice.birth_weight_believed_kg"),
        ("weights", "Weight (kg)", "BCS=5", "practice.weight_believed_kg"),
        ("pregnancy", "Fetal age days", "Preg=P", "practice.calving_after_service_days"),
    ],
)
def test_a_cell_of_a_list_is_believed_as_far_as_its_figure(kind, header, more, key):
    low, high = of(key)
    assert told_of_list(kind, header, high, more) == []
    assert len(told_of_list(kind, header, high + 1, more)) == 1
    if key.endswith(("believed_kg", "believed_cm2")):
        assert told_of_list(kind, header, low, more) == []
        assert len(told_of_list(kind, header, low - 1, more)) == 1


@pytest.mark.parametrize(
    ("header", "class_", "key"),
    [
        ("Weight (kg)", "heifer", "practice.heifer_weight_believed_kg"),
        ("Weight (kg)", "cow", "practice.cow_weight_believed_kg"),
        ("Weight (kg)", "first-calf cow", "practice.cow_weight_believed_kg"),
        ("Mature weight (kg)", "heifer", "practice.cow_weight_believed_kg"),
    ],
)
def test_a_weight_of_a_herd_list_is_believed_by_class(header, class_, key):
    low, high = of(key)
    for cell, is_told in ((low - 1, True), (low, False), (high, False), (high + 1, True)):
        assert bool(told_of_herd(header, cell, class_)) == is_told, cell


def test_more_calvings_than_any_cow_has_are_told():
    most = of("practice.calvings_most")[1]
    assert told_of_herd("Calvings", f"{most:g}") == []
    assert len(told_of_herd("Calvings", f"{most + 1:g}")) == 1


def test_a_date_older_than_any_cow_and_a_due_date_further_than_any_pregnancy_are_told():
    years = int(of("practice.oldest_female_years")[1])
    assert told_of_herd("Birth date", date(ON.year - years, 1, 1)) == []
    [what] = told_of_herd("Birth date", date(ON.year - years - 1, 12, 31))
    assert f"more than {years} years ago" in what
    longest = of("practice.calving_after_service_days")[1]
    due = ON + timedelta(days=longest)
    assert told_of_herd("Due date", due) == []
    [what] = told_of_herd("Due date", due + timedelta(days=1))
    assert f"more than {longest:g} days ahead" in what


@pytest.mark.parametrize(
    ("age", "class_", "is_held"),
    [
        (of("practice.first_calf_under_days")[1] - 1, "first_calf_cow", False),
        (of("practice.first_calf_under_days")[1], "cow", False),
        (of("practice.youngest_calving_days")[1], "first_calf_cow", False),
        (of("practice.youngest_calving_days")[1] - 1, "cow", True),
    ],
)
def test_age_at_a_calving_tells_the_class_as_far_as_the_figures_go(age, class_, is_held):
    calved = date(2027, 3, 4)
    text = f"Tag,Birth date,Calved\n1,{calved - timedelta(days=age)},{calved}\n"
    [female] = read_herd(text.encode(), "h.csv", on=ON, limits=LIMITS).females
    assert (female.class_, bool(female.hold_reason)) == (class_, is_held)


def test_the_year_of_the_first_calf_is_asked_about_up_to_the_figure():
    calved = date(2027, 3, 4)
    age = of("practice.later_calf_from_days")[1]
    for days, is_asked in ((age - 1, True), (age, False)):
        text = f"Tag,Birth date,Calved\n1,{calved - timedelta(days=days)},{calved}\n"
        herd = read_herd(text.encode(), "h.csv", on=ON, limits=LIMITS)
        assert herd.females[0].class_ == "cow"
        assert bool(herd.problems) == is_asked


def test_without_class_and_calving_only_the_young_are_heifers():
    age = of("practice.never_calved_under_days")[1]
    young, old = (ON - timedelta(days=d) for d in (age - 1, age))
    herd = read_herd(
        f"Tag,Birth date\n1,{young}\n2,{old}\n".encode(), "h.csv", on=ON, limits=LIMITS
    )
    assert [one.class_ for one in herd.females][:1] == ["heifer"]
    assert [bool(one.hold_reason) for one in herd.females] == [False, True]
    assert "not surely under 24 months" in herd.problems[0].what


def test_an_expiry_is_believed_years_ahead_and_a_slip_of_the_century_told_as_one():
    most = int(of("practice.expiry_most_years")[1])
    read = expiry_reader(ON, None, limits=LIMITS)
    assert read("2028-05") == date(2028, 5, 31)
    assert read("02/2028") == date(2028, 2, 29)
    assert read("2028-12") == date(2028, 12, 31)
    assert read("2026-06-30") == date(2026, 6, 30)  # what had expired is read all the same
    last = ON.year + most
    assert read(f"{last}-12") == date(last, 12, 31)
    for text in (f"{last + 1}-01", f"{last + 1}-01-01", "2128-05", "2128-05-31"):
        told = read(text)
        assert isinstance(told, Fault)
        assert told.what.endswith(f"is more than {most} years ahead.")
    assert read("2028-13").what == "'2028-13' is not a month."
    assert "years ago" in read("1928-05").what


def calved_at(day):
    return datetime(day.year, day.month, day.day, 18, tzinfo=UTC)


def test_two_calvings_nearer_than_a_calf_is_carried_are_put_aside_in_file_and_against_it():
    apart = int(of("practice.calving_after_service_days")[0])
    first = date(2026, 3, 1)
    events = [*four(), event(Kind.CALVED, {}, female="a", at=calved_at(first))]
    for days, n_taken in ((apart - 1, 0), (apart, 1)):
        day = first + timedelta(days=days)
        assert len(taken(f"Tag,Calved\n101,{day}\n", "calvings", events).drafts) == n_taken
        both = taken(f"Tag,Calved\n102,{first}\n102,{day}\n", "calvings", four())
        assert len(both.drafts) == 2 * n_taken


def taken(text, kind, events):
    file = read_results(text.encode(), "l.csv", kind=ResultKind(kind), on=ON, limits=LIMITS)
    return draft_results(file, roster(events), ranch=RANCH, zone=ZONE, limits=LIMITS)


def test_two_ages_of_one_day_may_differ_by_the_error_of_ageing_and_no_more():
    apart = of("breeding.fetal_age_error_d")[1]
    rows = "Tag,Check date,Preg,Fetal age days\n101,2027-09-14,P,60\n101,2027-09-14,P,{:g}\n"
    assert not taken(rows.format(60 + apart), "pregnancy", four()).aside
    assert len(taken(rows.format(61 + apart), "pregnancy", four()).aside) == 2
    assert len(taken(rows.format(59 - apart), "pregnancy", four()).aside) == 2


def test_the_same_drug_again_within_the_hours_of_the_figure_is_asked_about():
    hours = of("practice.act_in_file_hours")[1]
    at = datetime(2027, 9, 14, 6, tzinfo=UTC)  # midnight in Denver
    events = [*four(), event(Kind.TREATED, {"act": "pgf"}, female="a", at=at)]
    for minutes, n_aside in ((0, 1), (1, 0)):
        day = at + timedelta(hours=hours, minutes=minutes - 360)
        text = f"Tag,Date,Given\n101,{day:%Y-%m-%d %H:%M},PGF\n"
        assert len(taken(text, "treatments", events).aside) == n_aside


def test_the_hours_in_which_cattle_are_worked_are_those_of_the_figure():
    first, end = of("practice.chute_clock_hours")

    def doubts(hour):
        at = datetime(2027, 9, 14, int(hour), 30)
        reads = [Read(1, "840003123456789", at, last=at)]
        now = datetime(2027, 9, 20, tzinfo=UTC)
        return doubt_clock(reads, zone=ZONE, limits=LIMITS, now=now)

    hours = (first - 1, first, end - 1, end)
    assert [bool(doubts(hour)) for hour in hours] == [True, False, False, True]


@pytest.fixture
def large_cows(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("SUNUP_LEDGER", raising=False)
    own = '["practice.cow_weight_believed_kg"]\nvalue = [250, 1200]\nunit = "kg"\n'
    (tmp_path / "ranch.toml").write_text(own)
    (tmp_path / "herd.csv").write_text("Tag,Class,Weight (kg)\n1,cow,1100\n")
    return tmp_path


@pytest.mark.parametrize(
    "command",
    [
        ("herd", "check", "herd.csv"),
        ("exchange", "read", "herd", "herd.csv", "--zone", "America/Denver"),
    ],
)
@pytest.mark.usefixtures("large_cows")
def test_a_figure_of_a_ranchs_own_is_what_its_files_are_held_against(sunup, command):
    code, _, err = sunup(*command)
    assert code == 1
    assert "1100 kg" in err
    code, _, err = sunup(*command, "--overlay", "ranch.toml")
    assert (code, "1100 kg" in err) == (0, False)


@pytest.mark.parametrize(
    "command",
    [
        ("herd", "check", "herd.csv"),
        ("exchange", "read", "herd", "herd.csv", "--zone", "America/Denver"),
    ],
)
def test_a_fault_of_the_ranchs_own_figures_is_told_beside_the_file(large_cows, sunup, command):
    (large_cows / "ranch.toml").write_text('["practice.cow_weight"]\nvalue = 1\nunit = "kg"\n')
    code, _, err = sunup(*command, "--overlay", "ranch.toml")
    assert code == 1
    assert "practice.cow_weight" in err


def test_the_manual_tells_the_limits_that_are_in_force():
    def kg(key):
        low, high = of(key)
        return f"{low:g} to {high:g} kg"

    text = " ".join(PAGE.split())
    assert f"{kg('practice.heifer_weight_believed_kg')} (heifers)" in text
    assert f"{kg('practice.cow_weight_believed_kg')} (cows, mature weight)" in text
    low, high = of("practice.pelvic_area_believed_cm2")
    assert f"cm2, {low:g} to {high:g} " in text
    assert f"({of('practice.calving_after_service_days')[1]:g} days at most)" in text
    assert f"more than {of('practice.oldest_female_years')[1]:g} years back" in text
    months = [
        round(of(key)[1] / (365.25 / 12))
        for key in (
            "practice.first_calf_under_days",
            "practice.never_calved_under_days",
            "practice.youngest_calving_days",
        )
    ]
    assert f"a calving date before {months[0]} months of age is a first calf" in text
    assert f"under {months[1]} months is a heifer" in text
    assert f"below {months[2]} months" in text
    assert re.search(r"unless she was (\d+) years", text)[1] == str(
        round(of("practice.later_calf_from_days")[1] / 365.25)
    )
