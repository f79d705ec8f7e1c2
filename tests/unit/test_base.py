"""Hours, quantities, figures and problems do what they say."""

from __future__ import annotations

from datetime import UTC, date, datetime, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sunup.base.days import GestationDaysError, days_between, due_on
from sunup.base.figures import Figure, Kind, Seen
from sunup.base.hours import NaiveInstantError, add_hours, read_clock, to_local
from sunup.base.json_text import render_json
from sunup.base.problems import Problem, Severity, UsageError
from sunup.base.quantities import Quantity, UnitError, kg_from, micrograms, volume_ml


def figure(value):
    return Figure("practice.x", value, "h", Kind.ASSUMED, Seen.MEMORY, ("memory",))


@pytest.mark.parametrize(("text", "clock"), [("06:30", time(6, 30)), (" 6:5 ", time(6, 5))])
def test_a_clock_is_read_on_24_hours(text, clock):
    assert clock == read_clock(text)


@pytest.mark.parametrize("text", ["", "6", "24:00", "06:60", "6pm", "06:30:15", "-1:00", "a:b"])
def test_what_is_no_clock_is_refused_in_words(text):
    with pytest.raises(UsageError, match="Write it as 06:30"):
        read_clock(text)


def test_an_instant_without_a_zone_is_a_mistake_of_ours():
    naive = datetime(2027, 5, 25, 8)
    for act in (lambda: add_hours(naive, 1), lambda: to_local(naive, UTC)):
        with pytest.raises(NaiveInstantError):
            act()


@pytest.mark.parametrize(
    ("dose", "strength"),
    [
        (Quantity(400, "IU"), Quantity(1, "mg/mL")),
        (Quantity(1, "mg"), Quantity(200, "IU/mL")),
        (Quantity(1, "mg"), Quantity(1.38, "g/insert")),
        (Quantity(1, "lb"), Quantity(1, "mg/mL")),
    ],
)
def test_mass_and_activity_are_never_mixed(dose, strength):
    with pytest.raises(UnitError, match="cannot be used here"):
        volume_ml(dose, strength)


@given(st.floats(0.001, 1e4), st.floats(0.001, 1e4))
def test_a_volume_is_the_same_in_any_unit_of_mass(dose, strength):
    in_mg = volume_ml(Quantity(dose, "mg"), Quantity(strength, "mg/mL"))
    in_ug = volume_ml(Quantity(dose * 1000, "ug"), Quantity(strength, "mg/mL"))
    assert in_mg == pytest.approx(in_ug)
    assert in_mg == pytest.approx(dose / strength)


def test_pounds_are_the_international_pound():
    """0.45359237 kg exactly, by the agreement of 1959."""
    assert kg_from(1000, "lb") == pytest.approx(453.59237, rel=1e-15)
    assert kg_from(1000, "kg") == 1000
    with pytest.raises(UnitError):
        kg_from(70, "stone")
    with pytest.raises(UnitError):
        micrograms(Quantity(1, "IU"))


def test_a_figure_gives_its_number_and_its_span():
    assert figure(45).number == 45.0
    assert figure(45).span == (45.0, 45.0)
    assert figure((60.0, 66.0)).span == (60.0, 66.0)


@pytest.mark.parametrize("value", [True, "text", (1.0, 2.0)])
def test_what_is_not_one_number_does_not_pass_for_one(value):
    with pytest.raises(TypeError, match=r"practice\.x is not a single number"):
        _ = figure(value).number


def test_a_problem_reads_as_a_sentence_and_leaves_absent_fields_out():
    problem = Problem("herd.csv row 4", "No tag.", "Write one.", Severity.WARNING, row=4)
    assert str(problem) == "herd.csv row 4: No tag. Write one."
    assert problem.to_json() == {
        "where": "herd.csv row 4",
        "what": "No tag.",
        "fix": "Write one.",
        "severity": "warning",
        "row": 4,
    }


@given(st.dates(date(1980, 1, 1), date(2100, 1, 1)), st.integers(1, 400))
def test_days_to_a_calving_are_those_of_the_gestation(day, gestation):
    assert gestation == days_between(day, due_on(day, gestation))


def test_no_gestation_of_no_days():
    with pytest.raises(GestationDaysError):
        due_on(date(2027, 5, 25), 0)


PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=60) | st.dictionaries(st.text(), inner, max_size=8),
    max_leaves=80,
)  # fmt: skip


@given(PLAIN)
def test_json_comes_back_as_it_was_and_tells_true_from_one(value):
    import json

    back = json.loads(render_json(value))
    assert back == value
    assert repr(back) == repr(json.loads(json.dumps(value)))


def test_a_long_list_of_records_has_one_a_line():
    lines = render_json({"n": 1, "females": [{"tag": str(i)} for i in range(100)]}).splitlines()
    assert lines[3] == '  {"tag": "0"},'
    assert len(lines) == 100 + 5


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_json_has_no_word_for_what_is_not_a_number(value):
    with pytest.raises(ValueError, match="JSON"):
        render_json({"x": [value]})
