"""From a herd file to forecasts: the commands, the plan with forecasts in it, one female traced."""

import json
import re
from datetime import date, timedelta
from pathlib import Path

import ovary  # noqa: F401  keeps the compiled kernel between test files
import pytest

from herds import AI_ON
from sunup.app import forecast_kernel
from sunup.app.forecast_asked import Asked
from sunup.app.forecast_season import forecast_season
from sunup.app.forecast_timing import split_costs
from sunup.app.plan_season import plan_season
from sunup.app.wishes import Wishes, make_request
from sunup.exchange.plan_file import read_plan_file
from sunup.forecast.forecast import DOTS
from sunup.planning.plan import Money

pytestmark = pytest.mark.app

WHEN = ("--first-ai", AI_ON.isoformat(), "--zone", "America/Denver", "--as-of", "2027-04-20")


@pytest.fixture(scope="module")
def herd(tmp_path_factory):
    """Twenty cows and eight heifers of our own invention; two cows without condition."""
    lines = [
        "tag,class,group,breed,calved on,condition,tract score,weight kg,mature weight kg,born"
    ]
    for i in range(20):
        calved = AI_ON - timedelta(days=50 + 2 * i)
        condition = "" if i < 2 else "5.5"
        lines.append(f"{100 + i},cow,cows,Angus,{calved},{condition},,,,2021-03-01")
    lines += [f"{700 + i},heifer,heifers,Angus,,6,5,390,600,2026-02-15" for i in range(8)]
    path = tmp_path_factory.mktemp("herd") / "herd.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return str(path)


def test_a_forecast_is_told_in_counts_with_what_it_rests_on(sunup, herd):
    code, out, _ = sunup("forecast", herd, *WHEN, "--replicates", "40")
    assert code == 0
    told = " ".join(out.split())
    assert re.search(r"pregnant to AI at day 30: \d+ of 20; in 8 of 10 seasons between", told)
    assert "Heats by half-day, in hours from the last PGF" in told
    assert "body condition not on file for 2 of 20: drawn around" in told
    assert "Left out: - technicians" in told
    assert "luck of the draw" in told
    assert "parameters:" in told
    assert "%" not in told  # never a bare percentage


def test_the_same_seed_gives_the_same_document_and_another_does_not(sunup, herd, monkeypatch):
    words = ("forecast", herd, *WHEN, "--replicates", "40", "--json")
    _, first, _ = sunup(*words, "--seed", "3")
    monkeypatch.setattr("sunup.app.forecast_group.count_threads", lambda: 1)
    _, again, _ = sunup(*words, "--seed", "3")
    _, other, _ = sunup(*words, "--seed", "4")
    assert first == again
    assert first != other
    data = json.loads(first)
    assert data["schema_version"] == 1
    cows = data["groups"][0]["chosen"]
    assert (cows["n"], cows["seed"], cows["replicates"]) == (20, 3, 40)
    assert len(cows["dots"]) == DOTS
    assert sum(step["count"] for step in cows["waterfall"]) == pytest.approx(20)
    assert date.fromisoformat(cows["calving"][0]["starts_on"]) > AI_ON + timedelta(days=250)


def test_a_protocol_asked_for_is_the_one_forecast(sunup, herd):
    _, out, _ = sunup(
        "forecast", herd, *WHEN, "--replicates", "20", "--json",
        "--protocol", "cows=split_insert7_cow_66_90", "--no-bulls",
    )  # fmt: skip
    cows = json.loads(out)["groups"][0]["chosen"]
    assert cows["protocol"] == "split_insert7_cow_66_90"
    assert any("no bulls" in line for line in cows["rests_on"])


def test_protocols_run_beside_it_are_compared_on_the_same_luck(sunup, herd):
    words = (
        "forecast", herd, *WHEN, "--replicates", "40", "--against", "cows=seven_and_seven_cow",
        "--against", "cows=co_synch_insert7_cow", "--against", "cows=bulls_alone",
    )  # fmt: skip
    _, out, _ = sunup(*words, "--json")
    cows = json.loads(out)["groups"][0]
    assert [o["protocol"] for o in cows["others"]] == [
        "seven_and_seven_cow", "co_synch_insert7_cow", "bulls_alone"
    ]  # fmt: skip
    first, itself, bulls = cows["comparisons"]
    assert (first["counted"], bulls["counted"]) == ("pregnant to AI", "conceived in the season")
    assert (first["a"], first["b"]) == ("seven_and_seven_cow", cows["chosen"]["protocol"])
    assert 0.0 <= first["chance_a_better"] <= 1.0
    # the chosen one against itself: only the clock of the schedule differs, within its window
    assert abs(itself["more_mean"]) < 1.0
    _, text, _ = sunup(*words)
    assert re.search(r"7 & 7 Synch +AI +\d+ +\d+ to \d+ +\d+ of 50", text)
    code, _, err = sunup("forecast", herd, *WHEN, "--against", "bulls=co_synch")
    assert (code, "No group 'bulls'" in err) == (2, True)


def test_a_second_ai_is_told_apart_and_set_beside_none(sunup, herd):
    words = (
        "forecast", herd, *WHEN, "--replicates", "40", "--resynch", "cows=resync_us28_cosynch",
        "--against", "cows=co_synch_insert7_cow",
        "--against", "cows=co_synch_insert7_cow+resync_watch",
    )  # fmt: skip
    _, out, _ = sunup(*words, "--json")
    cows, heifers = json.loads(out)["groups"]
    second = cows["chosen"]["second"]
    assert second["protocol"] == "resync_us28_cosynch"
    both = second["pregnant_to_first"]["mean"] + second["pregnant"]["mean"]
    assert both == pytest.approx(cows["chosen"]["pregnant_to_ai"]["mean"])
    assert [o["second"] is None for o in cows["others"]] == [True, False]
    alone, watched = (c["more_mean"] for c in cows["comparisons"])
    assert alone < min(watched, 0.0)
    assert heifers["chosen"]["second"] is None
    _, text, _ = sunup(*words)
    told = " ".join(text.split())
    assert re.search(r"to the first AI: \d+ of 20; .* inseminated again: \d+ of 20", told)
    assert "then Watch for returns" in told


@pytest.mark.parametrize(
    ("pair", "said"),
    [
        ("cows=co_synch", "does not follow an insemination"),
        ("cows=resync_e2_22", "is refused in region US"),
        ("bulls=resync_watch", "No group 'bulls'"),
        ("cows=nothing", "no protocol 'nothing'"),
    ],
)
def test_a_second_ai_that_cannot_be_is_refused_in_words(sunup, herd, pair, said):
    code, _, err = sunup("forecast", herd, *WHEN, "--replicates", "20", "--resynch", pair)
    assert (code, said in " ".join(err.split())) == (2, True)


def test_bulls_stated_are_reckoned_with_and_paid(sunup, herd):
    words = (
        "forecast", herd, *WHEN, "--replicates", "40", "--json", "--protocol", "cows=ns_pg2",
        "--against", "cows=bulls_alone",
    )  # fmt: skip
    told = [
        json.loads(sunup(*words, *more)[1])["groups"][0]
        for more in ((), ("--bulls", "cows=1:yearling"), ("--bulls", "cows=4"))
    ]
    enough, few, many = (group["chosen"] for group in told)
    assert any("the number and age of the bulls" in line for line in enough["left_out"])
    assert any("1 yearling bull, 20 females each" in line for line in few["rests_on"])
    assert not any("the number and age" in line for line in few["left_out"])
    in_calf = [chosen["season"][-1]["by_end"]["mean"] for chosen in (few, many, enough)]
    assert in_calf == sorted(in_calf)
    one, four = (group["others"][0]["cost_per_pregnancy"]["mean"] for group in told[1:])
    assert four > 3 * one
    code, _, err = sunup("forecast", herd, *WHEN, "--bulls", "cows=none")
    assert (code, "GROUP=NUMBER" in err) == (2, True)


def test_pictures_are_written_where_asked(sunup, herd, tmp_path):
    code, out, _ = sunup(
        "forecast", herd, *WHEN, "--replicates", "20", "--chart", str(tmp_path / "f.svg")
    )
    assert code == 0
    files = sorted(path.name for path in tmp_path.iterdir())
    assert [name for name in files if "cows" in name] == [
        "f_cows_calving.svg", "f_cows_heats.svg", "f_cows_pregnancy.svg", "f_cows_waterfall.svg"
    ]  # fmt: skip
    assert all(f"written: {tmp_path / name}" in out.replace("\n", "") for name in files)
    code, out, _ = sunup(
        "trace", "--protocol", "co_synch", "--chart", str(tmp_path / "t.png"), "--json"
    )
    assert json.loads(out)["files"] == [str(tmp_path / "t.png")]
    assert (tmp_path / "t.png").read_bytes().startswith(b"\x89PNG")
    code, _, err = sunup("trace", "--protocol", "co_synch", "--chart", str(tmp_path / "t.doc"))
    assert (code, "cannot draw" in err) == (2, True)


def test_past_results_move_a_forecast_and_it_says_so(sunup, herd):
    words = ("forecast", herd, *WHEN, "--replicates", "40", "--json")
    _, plain, _ = sunup(*words)
    _, good, _ = sunup(*words, "--past", "cows=co_synch_insert7_cow:180/200")
    before, after = (json.loads(text)["groups"][0]["chosen"] for text in (plain, good))
    assert after["pregnant_to_ai"]["mean"] > before["pregnant_to_ai"]["mean"]
    assert any("180 of 200 pregnant" in line for line in after["rests_on"])
    assert any("no past results" in line for line in before["rests_on"])
    code, _, err = sunup(*words, "--past", "cows=co_synch_insert7_cow:7/5")
    assert (code, "PREGNANT/INSEMINATED" in err) == (2, True)
    code, _, err = sunup(*words, "--past", "cows=nothing:3/5")
    assert (code, "no protocol 'nothing'" in err) == (2, True)


def test_a_past_season_with_a_protocol_of_another_class_is_taken_and_told(sunup, herd):
    words = ("forecast", herd, *WHEN, "--replicates", "20")
    code, out, err = sunup(*words, "--past", "cows=co_synch_insert7_heifer:60/100")
    assert "--past cows=co_synch_insert7_heifer: that protocol is for heifers" in err
    assert (code, "60 of 100 pregnant" in " ".join(out.split())) == (0, True)
    _, _, err = sunup(*words, "--past", "cows=co_synch_insert7_cow:60/100")
    assert "that protocol is for" not in err


def test_wrong_wishes_are_said_in_words(sunup, herd):
    code, _, err = sunup("forecast", herd, *WHEN, "--late", "0.7", "--missed", "0.7")
    assert (code, "more than all" in err) == (2, True)
    code, _, err = sunup("trace", "--protocol", "co_synch_insert7_cwo")
    assert (code, "Did you mean" in err) == (2, True)
    code, _, err = sunup("trace", "--protocol", "co_synch", "--class", "bull")
    assert (code, "Known: heifer" in err) == (2, True)


def test_a_plan_with_forecasts_keeps_them_in_its_file(sunup, herd, tmp_path):
    code, out, _ = sunup(
        "plan", herd, *WHEN, "--forecast", "--replicates", "20", "--out", str(tmp_path), "--no-pdf"
    )
    assert code == 0
    assert "bulls alone" in out
    text = (tmp_path / "plan.json").read_text("utf-8")
    plan = read_plan_file(text, "plan.json")
    for group in plan.groups:
        assert group.forecast is not None
        low, middle, high = group.forecast.pregnant_to_ai
        assert 0 <= low <= middle <= high <= group.forecast.n == group.ready
        told = {fit.protocol: fit.forecast for fit in group.fits}
        assert told[group.chosen] == group.forecast
        others = [f for key, f in told.items() if f is not None and key != group.chosen]
        assert len(others) > 3
        assert all(0.0 <= f.better_than_chosen <= 1.0 for f in others)
        assert group.bulls_alone.forecast.pregnant_to_ai is None
        assert group.bulls_alone.forecast.pregnant_in_season[1] > 0


def test_a_plan_without_the_wish_has_no_forecast(herd):
    request = make_request(
        Wishes(plain={"zone": "America/Denver"}, first_ai=AI_ON.isoformat()),
        today=date(2027, 3, 1),
    )
    outcome = plan_season(Path(herd), request, as_of_given=True)
    assert {group.forecast for group in outcome.plan.groups} == {None}
    assert dict(outcome.forecasts) == {}


def test_one_female_is_followed_by_the_hour(sunup):
    code, out, _ = sunup(
        "trace", "--cycle-day", "7", "--protocol", "co_synch_insert7_cow", "--json"
    )
    assert code == 0
    data = json.loads(out)
    hours = [line["hour"] for line in data["hours"]]
    assert hours == list(range(int(hours[0]), int(hours[-1]) + 1))
    done = [(h["hour"], h["key"]) for h in data["happenings"]]
    assert {(0.0, "gnrh"), (168.0, "pgf"), (231.0, "ai")} <= set(done)
    at = {line["hour"]: line for line in data["hours"]}
    assert at[24.0]["progesterone"] > 1.0 > at[224.0]["progesterone"]  # insert and CL, then none
    # a wave is taken to emerge at 4 mm (figure physiology.emergence_mm): smaller is no follicle
    assert all(line["follicle_mm"] == 0.0 or line["follicle_mm"] > 3.9 for line in data["hours"])
    _, text, _ = sunup("trace", "--cycle-day", "7", "--protocol", "co_synch_insert7_cow")
    assert "PGF (168 h)" in text


def test_a_female_that_does_not_cycle_can_be_followed(sunup):
    code, out, _ = sunup("trace", "--not-cycling", "--protocol", "co_synch_insert7_cow", "--json")
    assert (code, json.loads(out)["was_cycling"]) == (0, False)


def test_costs_of_an_insemination_are_kept_apart_from_those_of_a_female():
    lines = [
        Money("PGF", "female", 4.0, False, "prices.pgf_dose"),
        Money("semen", "female", 40.0, False, "prices.semen_conventional"),
        Money("technician", "female", 20.0, False, "prices.technician"),
    ]
    costs = split_costs(lines, straws=2)
    assert (costs.per_female, costs.per_insemination) == (4.0, 30.0)


def test_the_kernel_is_kept_where_the_system_keeps_such_things(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert forecast_kernel.cache_folders()[0] == str(tmp_path / "sunup")
    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.delenv("LOCALAPPDATA", raising=False)
    assert forecast_kernel.cache_folders()[0].endswith("sunup")
    assert forecast_kernel.count_threads() >= 1


def test_a_herd_in_which_nobody_is_ready_has_no_forecast_and_says_so(tmp_path):
    path = tmp_path / "one.csv"
    path.write_text(f"tag,class,calved on\n1,cow,{AI_ON - timedelta(days=5)}\n", "utf-8")
    request = make_request(
        Wishes(plain={"zone": "America/Denver"}, first_ai=AI_ON.isoformat()),
        today=date(2027, 3, 1),
    )
    told = forecast_season(path, request, asked=Asked(replicates=20), as_of_given=True)
    assert told.groups == ()
    said = [p.what for p in told.problems if "No forecast" in p.what]
    assert said == [
        (
            "No forecast: of 1 female none is ready on the day wanted "
            "(no calving date 1, held in the herd list 1)."
        )
    ]


def test_a_saved_forecast_says_where_its_numbers_came_from(sunup, herd, tmp_path):
    _, printed, _ = sunup("forecast", herd, *WHEN, "--replicates", "40", "--json")
    file = tmp_path / "forecast.json"
    file.write_text(printed, "utf-8")
    code, out, _ = sunup("explain", "cows", "--forecast", str(file), "--json")
    assert code == 0
    lines = json.loads(out)["lines"]
    told = next(g["chosen"] for g in json.loads(printed)["groups"] if g["group"] == "cows")
    # losses and pregnancies make up the group, but for the tenths that are rounded away
    losses = sum(float(name) for name, text in lines if re.match(r"[a-z].* to \d+\)$", text))
    assert losses + told["pregnant_to_ai"]["mean"] == pytest.approx(told["n"], abs=1.0)
    words = " ".join(text for _, text in lines)
    for said in (told["params_words"], *told["assumed"], "luck of the draw", "32 sets"):
        assert said in words


def test_a_file_that_is_no_forecast_is_refused_in_words(sunup, herd):
    code, _, err = sunup("explain", "cows", "--forecast", herd)
    assert code != 0
    assert "is not a forecast: make one with sunup forecast" in err
