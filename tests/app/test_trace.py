"""One female followed: everything done to her is told, in its order and under its own name."""

from __future__ import annotations

import json

import pytest

from herds import LIBRARY
from sunup.app.forecast_trace import trace_female
from sunup.base.problems import UsageError
from sunup.cli.forecast_view import print_trace
from sunup.forecast.follow import WORDS


def follow(protocol, *, class_="cow", cycle_day=7.0, seed=1, days=None):
    followed, _ = trace_female(
        protocol, class_=class_, cycle_day=cycle_day, seed=seed, days_postpartum=days, condition=5.3
    )
    return followed


def done(followed):
    return [(h.hour, h.key) for h in followed.happenings]


@pytest.mark.parametrize(
    ("protocol", "class_", "steps"),
    [  # the published hours of each, sources in the protocol file
        ("co_synch_insert7_cow", "cow", {(0, "insert_in"), (168, "insert_out")}),
        (
            "eb8_ecp",
            "cow",
            {
                (0, "insert_in"),
                (0, "estradiol_benzoate"),
                (192, "insert_out"),
                (192, "estradiol_cypionate"),
                (192, "ecg"),
            },
        ),
        ("mga_pg_tai", "heifer", {(0, "mga_start"), (13 * 24, "mga_end")}),
    ],
)
def test_inserts_esters_ecg_and_melengestrol_are_told(protocol, class_, steps):
    assert steps <= set(done(follow(protocol, class_=class_)))


def test_calves_away_and_back_are_told():
    """`eb9_bi`: calves away when the insert comes out, back at the timed insemination."""
    told = done(follow("eb9_bi"))
    assert told == sorted(told, key=lambda pair: pair[0])
    at = {key: hour for hour, key in told}
    assert at["calves_off"] == at["insert_out"]
    assert at["calves_on"] == at["ai"]


@pytest.mark.parametrize("seed", range(1, 9))
def test_an_insert_for_those_not_inseminated_is_told_only_of_them(seed):
    """`pg6_insert_heat`: heats are watched for six days first; who was inseminated gets none."""
    told = done(follow("pg6_insert_heat", seed=seed, cycle_day=2.0 * seed))
    keys = [key for _, key in told]
    gnrh = "gnrh" in keys
    assert gnrh == ("insert_in" in keys)
    assert ("insert_out" in keys) <= ("insert_in" in keys)


def test_estradiol_that_is_high_is_not_called_the_surge():
    """The LH surge stands at the onset of heat (textbooks, from memory), not hours before it."""
    followed = follow("co_synch_insert7_cow", cycle_day=16.0)
    surges = [h for h in followed.happenings if h.key == "surge"]
    assert surges
    assert all(h.words.startswith("estradiol high enough") for h in surges)
    assert not any("LH" in words for words in WORDS.values())


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"class_": "heifer", "days": 20.0}, "a heifer has not calved"),
        ({"days": 4000.0}, "--days-calved 4000: give the days since she calved, 0 to 730"),
        ({"days": -3.0}, "--days-calved -3"),
        ({"days": 5.0}, "her last heat would be before she calved"),
    ],
)
def test_days_since_calving_she_cannot_have_are_refused_in_words(given, words):
    with pytest.raises(UsageError, match=words):
        follow("co_synch_insert7_cow", **given)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (("mga_pg_ftai", "--class", "cow"), "melengestrol is for heifers only"),
        (("eb8_ecp",), "refused in region US"),
        (("co_synch_insert7_cow", "--class", "heifer"), "not for heifers"),
    ],
)
def test_what_a_plan_would_not_lay_out_is_traced_with_a_caution(sunup, typed, said):
    """In the US melengestrol's label is for heifers, and no estradiol is approved for breeding."""
    code, out, err = sunup("trace", "--protocol", *typed)
    assert code == 0
    assert "A plan does not lay this out for her: " in err
    assert said in " ".join(err.split())
    assert "The label in hand and your veterinarian decide." in out
    _, text, _ = sunup("trace", "--protocol", *typed, "--json")
    assert said in json.loads(text)["problems"][0]["what"]


def test_a_trace_of_what_a_plan_lays_out_has_no_caution_but_an_unknown_region_is_refused(sunup):
    code, _, err = sunup("trace", "--protocol", "co_synch_insert7_cow")
    assert (code, err) == (0, "")
    code, _, err = sunup("trace", "--protocol", "eb8_ecp", "--region", "br")
    assert "refused" not in err
    code, _, err = sunup("trace", "--protocol", "eb8_ecp", "--region", "Mars")
    assert (code, "No rule pack for region 'Mars'" in err) == (2, True)


def test_hours_count_from_the_first_step_where_there_is_no_treatment(capsys):
    """`natural_heat` treats nobody: its hours count from the start of the watch."""
    print_trace(follow("natural_heat"), "nothing")
    out = capsys.readouterr().out
    assert "from the first step" in out
    assert "first treatment" not in out


def test_a_heat_under_way_at_the_first_step_is_told_before_what_is_done_for_it(sunup):
    """`natural_heat` inseminates by the morning/evening rule: nobody is served without a heat."""
    for cycle_day, began in ((0.0, 0.0), (0.25, -6.0)):
        told = done(follow("natural_heat", cycle_day=cycle_day))
        first_ai = next(hour for hour, key in told if key == "ai")
        heats = [hour for hour, key in told if key == "heat"]
        assert heats[0] == pytest.approx(began)
        assert heats[0] < first_ai < 48
        assert told == sorted(told, key=lambda pair: pair[0])
    assert "heat" not in {key for hour, key in done(follow("natural_heat")) if hour <= 0.0}
    _, out, _ = sunup("trace", "--protocol", "natural_heat", "--cycle-day", "0")
    first, second = [line for line in out.splitlines() if "(" in line and " h)" in line][:2]
    assert first.split()[:4] == ["0", "0.0", "-", "-"]
    assert "standing heat begins (0 h)" in first
    assert "inseminated" in second


def test_an_insemination_without_a_chance_is_told_with_its_reason(sunup):
    """Ten days after calving nothing follows a timed AI (short first cycles, `luteum`)."""
    words = ("--protocol", "co_synch_insert7_cow", "--not-cycling", "--days-calved", "10")
    _, out, _ = sunup("trace", *words)
    said = " ".join(out.split())
    assert "(231 h)" in said
    assert "none would be pregnant at day 30 to the first insemination: " in said
    assert json.loads(sunup("trace", *words, "--json")[1])["because"]
    _, out, _ = sunup("trace", "--protocol", "ns_insert7")
    assert "She is not inseminated." in out
    assert follow("co_synch_insert7_cow").because == ""


def test_a_condition_nobody_gives_is_the_figures():
    usual = LIBRARY.number("forecast.condition_mean")
    asked = {"class_": "cow", "cycle_day": None, "seed": 1, "days_postpartum": None}
    absent, _ = trace_female("natural_heat", **asked)
    given, _ = trace_female("natural_heat", **asked, condition=usual)
    thin, _ = trace_female("natural_heat", **asked, condition=3.0)
    assert done(absent) == done(given) != done(thin)
