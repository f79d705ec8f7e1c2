"""What stands beside a forecast: natural service, bulls alone, keys that cannot be, clashes."""

import itertools
import json
import re
import sys
from dataclasses import replace
from datetime import timedelta
from types import SimpleNamespace

import ovary  # noqa: F401  keeps the compiled kernel between test files
import pytest

from herds import AI_ON, LIBRARY
from sunup.app.forecast_problems import no_forecast
from sunup.cli.forecast_view import _more
from sunup.cli.main import main
from sunup.forecast.forecast import Comparison
from sunup.planning.alternative import bull_line, cost_of_bull, find_bulls_alone

pytestmark = pytest.mark.app

WHEN = ("--first-ai", AI_ON.isoformat(), "--zone", "America/Denver", "--as-of", "2027-04-20")
FEW = ("--replicates", "40")


def herd_file(folder, n, *, days=lambda i: 50 + i % 40, born=lambda _: "2021-03-01"):
    lines = ["tag,class,group,breed,calved on,condition,born"]
    lines += [
        f"{100 + i},cow,cows,Angus,{AI_ON - timedelta(days=days(i))},5.5,{born(i)}"
        for i in range(n)
    ]
    path = folder / f"herd{n}.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return str(path)


@pytest.fixture(scope="module")
def herd(tmp_path_factory):
    return herd_file(tmp_path_factory.mktemp("herd"), 30)


def asked(sunup, herd, *words):
    _, out, _ = sunup("forecast", herd, *WHEN, *FEW, "--json", *words)
    return json.loads(out)


def test_a_plan_beside_itself_makes_no_difference_and_none_is_minus_nothing():
    versus = Comparison(
        group="cows", a="a", b="b", chance_a_better=0.5, more_median=0.0, more_low80=-0.0,
        more_high80=0.0, more_mean=0.0,
    )  # fmt: skip
    assert _more(versus, 30) == "no difference"
    assert _more(replace(versus, more_low80=-0.4, more_high80=2.0), 30) == "0 (0 to +2)"
    assert _more(replace(versus, more_mean=-0.001), 1) == "0"


@pytest.mark.parametrize("key", ["ns_insert7", "ns_pg2", "ns_pg_day5"])
def test_natural_service_stands_beside_ai_by_all_that_conceive_in_the_season(sunup, herd, key):
    words = ("--against", f"cows={key}")
    told = asked(sunup, herd, *words)["groups"][0]
    (other,), (versus,) = told["others"], told["comparisons"]
    assert versus["counted"] == "conceived in the season"
    assert other["season"][-1]["to_day"] == told["chosen"]["season"][-1]["to_day"]
    ours, theirs = (x["season"][-1]["by_end"]["mean"] for x in (told["chosen"], other))
    assert versus["more_mean"] == pytest.approx(theirs - ours)
    code, out, _ = sunup("forecast", herd, *WHEN, *FEW, *words)
    assert (code, "all that conceive in the season" in " ".join(out.split())) == (0, True)


def test_ai_beside_natural_service_is_no_sure_winner_for_having_ai(sunup, herd):
    told = asked(
        sunup, herd, "--protocol", "cows=ns_pg_day5",
        "--against", "cows=co_synch_insert7_cow", "--against", "cows=bulls_alone",
    )["groups"][0]  # fmt: skip
    ai, bulls = told["comparisons"]
    assert {ai["counted"], bulls["counted"]} == {"conceived in the season"}
    # a difference of a few of 30, not of every cow that a bull gets in calf
    assert abs(ai["more_mean"]) < 8
    assert ai["chance_a_better"] < 1.0
    # natural service pays its bulls as bulls alone does, and its drugs besides
    cost, alone = (x["cost_per_pregnancy"]["median"] for x in (told["chosen"], told["others"][1]))
    assert cost > 0.9 * alone


def test_bulls_are_whole_for_synchronised_females_as_for_bulls_alone():
    each = cost_of_bull(LIBRARY).per_year
    # 15 to 25 females a bull (the library's figure): 20 in the middle, so 21 need two
    assert bull_line(LIBRARY, head=20).amount * 20 == pytest.approx(each)
    assert bull_line(LIBRARY, head=21).amount * 21 == pytest.approx(2 * each)
    assert bull_line(LIBRARY, head=21, bulls=3).amount * 21 == pytest.approx(3 * each)
    alone = find_bulls_alone(21, library=LIBRARY)
    assert alone.cost_per_female * 21 == pytest.approx(alone.bulls * each)


def test_a_plan_with_forecasts_has_natural_service_in_it(sunup, herd):
    _, out, _ = sunup("plan", herd, *WHEN, "--forecast", "--replicates", "20", "--json")
    group = json.loads(out)["groups"][0]
    fits = {fit["protocol"]: fit for fit in group["fits"]}
    told = fits["ns_pg_day5"]["forecast"]
    assert told["pregnant_to_ai"] is None
    assert told["pregnant_in_season"][1] > 0
    assert 0.0 <= told["better_than_chosen"] <= 1.0
    assert group["bulls_alone"]["forecast"]["better_than_chosen"] is not None
    code, text, _ = sunup("plan", herd, *WHEN, "--forecast", "--replicates", "20")
    assert (code, text.count("ns_pg_day5 ")) == (0, 2)


def test_one_key_that_cannot_be_run_leaves_the_forecast_and_is_named(sunup, herd):
    code, out, err = sunup(
        "forecast", herd, *WHEN, *FEW, "--against", "cows=resync_watch",
        "--against", "cows=ns_pg2+resync_watch", "--against", "cows=co_synch_insert7_cow",
        "--against", "cows=bulls_alone+resync_watch",
    )  # fmt: skip
    told = " ".join(err.split())
    assert code == 1
    assert "pregnant to AI at day 30" in out
    assert "7-day CO-Synch + insert" in out.partition("Beside it")[2]
    assert "--against resync_watch was not run" in told
    assert "--against ns_pg2+resync_watch was not run" in told
    assert "no second AI follows bulls alone. Run bulls_alone by itself" in told
    assert "No forecast" not in told
    code, _, err = sunup("forecast", herd, *WHEN, *FEW, "--against", "cows=nothing")
    assert (code, "--against: no protocol 'nothing'" in err) == (2, True)


def test_what_the_class_or_the_region_refuses_is_said_beside_its_row(sunup, herd):
    words = ("--against", "cows=mga_pg_heat", "--against", "cows=co_synch_insert7_cow")
    told = asked(sunup, herd, *words)["groups"][0]
    ((key, why),) = told["objections"]
    assert key == "mga_pg_heat"
    assert "heifers only" in why
    _, out, _ = sunup("forecast", herd, *WHEN, *FEW, *words)
    assert "melengestrol is for heifers only" in " ".join(out.split())


def test_what_the_chute_cannot_do_is_said_with_the_forecast(sunup, tmp_path):
    code, _, err = sunup(
        "forecast", herd_file(tmp_path, 900), *WHEN, "--replicates", "20",
    )  # fmt: skip
    said = " ".join(err.split())
    assert "hours are there" in said or "outside 06:00-20:00" in said
    assert "at the planned hour, which the plan cannot keep" in said
    assert code == 0


def test_a_season_that_ends_before_the_second_ai_or_the_bulls_is_told(sunup, herd):
    words = ("--resynch", "cows=resync_us28_cosynch", "--season-days", "25")
    code, out, err = sunup("forecast", herd, *WHEN, *FEW, *words)
    said = " ".join(err.split())
    assert code == 0
    assert "conceived after the season, to AI" in out
    assert "The second AI falls after the last day of the season (day 25)" in said
    assert "No bulls go in" in said
    _, _, err = sunup("forecast", herd, *WHEN, *FEW, *words, "--no-bulls")
    assert "No bulls go in" not in err
    _, _, err = sunup("forecast", herd, *WHEN, *FEW, "--bulls-after", "300")
    assert "No bulls go in: 300 days after the last insemination is day 300" in " ".join(
        err.split()
    )


def test_one_cow_has_a_chance_and_no_count(sunup, tmp_path):
    code, out, _ = sunup(
        "forecast", herd_file(tmp_path, 1), *WHEN, *FEW, "--against", "cows=bulls_alone"
    )
    told = " ".join(out.split())
    assert code == 0
    # of one cow in 40 seasons: her chance in 100, not a count of 0 or 1
    assert re.search(r"counted of 100 .* bulls alone season \d\d+ - \d+ of 50", told)
    assert "insert, 1 female pregnant to AI at day 30: a chance of" in told
    assert "1 females" not in told
    _, out, _ = sunup("plan", herd_file(tmp_path, 1), *WHEN, "--forecast", "--replicates", "20")
    told = " ".join(out.split())
    assert "Of one female no count can be told, only a chance" in told
    assert "0 to 100" not in told
    _, out, _ = sunup("forecast", herd_file(tmp_path, 2), *WHEN, *FEW)
    assert "what all seasons pay over all their pregnancies" in " ".join(out.split())
    assert "of 100 seasons end without a pregnancy; what is paid in them is in it" in " ".join(
        out.split()
    )


@pytest.mark.parametrize("n", [1, 3])
def test_what_becomes_of_a_few_cows_is_told_in_parts_of_one(sunup, tmp_path, n):
    _, out, _ = sunup("forecast", herd_file(tmp_path, n), *WHEN, "--replicates", "100")
    heats = out.partition("Heats by half-day")[2]
    table = out.partition("what becomes of them")[2].partition("Rests on")[0]
    number = r"\d+" if n == 1 else r"\d\.\d"
    assert re.search(rf"\d+ to \d+ +{number} +{number} ", heats)
    lost = re.findall(rf" ({number}) +(?:-|\d+ to \d+)? *$", table, re.MULTILINE)
    assert len(lost) >= 4  # not only that she is pregnant
    # parts of three cows, or of 100 like the one, each rounded to its last digit
    whole, digit = (100, 1.0) if n == 1 else (3, 0.1)
    assert sum(map(float, lost)) == pytest.approx(whole, abs=0.51 * digit * len(lost))
    assert "about 0 calves" not in " ".join(out.split())


def test_fewer_seasons_than_sets_of_parameters_are_told_as_such(sunup, herd):
    few, enough = (
        json.loads(sunup("forecast", herd, *WHEN, "--json", "--replicates", n)[1])
        for n in ("20", "40")
    )
    few, enough = (told["groups"][0]["chosen"] for told in (few, enough))
    assert few["sources"]["sets"] == 20
    assert "20 of the 32 sets of parameters, a season each" in few["rests_on"]
    assert not any("a season each" in line for line in enough["rests_on"])


def test_captions_fill_a_narrow_terminal(herd, monkeypatch, capsys):
    words = ("forecast", herd, *WHEN, "--replicates", "20", "--against", "cows=bulls_alone")
    monkeypatch.setenv("COLUMNS", "60")
    monkeypatch.setattr(sys, "argv", ["sunup", *words])
    with pytest.raises(SystemExit):
        main()
    out = capsys.readouterr().out
    caption = out[out.index("Beside it") :].partition("protocol")[0].rstrip().splitlines()
    assert len(caption) > 3
    # each line is as long as the next word allows
    for line, after in itertools.pairwise(caption):
        assert len(line.rstrip()) + 1 + len(after.split()[0]) > 60


def test_a_saved_forecast_of_one_cow_is_explained_in_parts_of_one(sunup, tmp_path):
    _, printed, _ = sunup("forecast", herd_file(tmp_path, 1), *WHEN, *FEW, "--json")
    file = tmp_path / "forecast.json"
    file.write_text(printed, "utf-8")
    _, out, _ = sunup("explain", "cows", "--forecast", str(file))
    assert re.search(r"pregnant +0\.\d to AI", out)
    assert "1 females" not in out


def test_means_and_medians_are_not_mixed_up_unsaid(sunup, herd):
    _, out, _ = sunup("forecast", herd, *WHEN, *FEW)
    told = " ".join(out.split())
    assert "simulated: means, which add up" in told
    assert "the counts above are those of the middle season" in told


def test_how_heats_are_watched_is_said_and_kept_in_the_plan(sunup, herd):
    heat = ("--protocol", "cows=select_synch_insert_tai_cow")
    usual, eye = (
        asked(sunup, herd, *heat, *more)["groups"][0]["chosen"]
        for more in ((), ("--watch", "cows=1x20:eye"))
    )
    assert any("heat patches read" in x and "buys heat aids" in x for x in usual["rests_on"])
    assert "heats watched by eye once a day for 20 minutes (your figures)" in eye["rests_on"]
    assert eye["on_heat"]["mean"] < usual["on_heat"]["mean"]
    code, out, _ = sunup("plan", herd, *WHEN, "--watch", "cows=1x20:eye", "--json", *heat)
    assert (code, json.loads(out)["settings"]["watches"]) == (0, {"cows": "1x20:eye"})
    code, _, err = sunup("plan", herd, *WHEN, "--watch", "cows=2x45", "--no-watching")
    assert (code, "contradict" in err) == (2, True)
    code, _, err = sunup("plan", herd, *WHEN, "--watch", "bulls=2x45")
    assert (code, "No group 'bulls'" in err) == (2, True)


def test_who_inseminates_changes_how_sure_the_forecast_is_and_is_kept_in_the_plan(sunup, herd):
    timed = ("--protocol", "cows=co_synch_insert7_cow")
    told = {
        who: asked(sunup, herd, *timed, *(("--technicians", f"cows={who}") if who else ()))
        for who in ("", "1", "1:trained", "4:untrained", "1:untrained")
    }
    spread = {who: one["groups"][0]["chosen"]["sources"]["herd"] for who, one in told.items()}
    assert spread[""] == spread["1"]
    assert spread["1:trained"] < spread["1"] < spread["4:untrained"] < spread["1:untrained"]
    rests = told["4:untrained"]["groups"][0]["chosen"]["rests_on"]
    assert any("inseminated by 4 untrained technicians" in line for line in rests)
    code, out, _ = sunup("plan", herd, *WHEN, "--technicians", "cows=2", "--json", *timed)
    assert (code, json.loads(out)["settings"]["technicians"]) == (0, {"cows": "2"})
    code, _, err = sunup("plan", herd, *WHEN, "--technicians", "bulls=2")
    assert (code, "No group 'bulls'" in err) == (2, True)


def test_heats_of_a_plan_in_which_nobody_watches_are_seen_only_if_somebody_did(sunup, herd):
    timed = ("--protocol", "cows=co_synch_insert7_cow")
    _, out, _ = sunup("forecast", herd, *WHEN, *FEW, *timed)
    assert "(first seen: if somebody watched by eye 3 times a day" in " ".join(out.split())
    _, out, _ = sunup("forecast", herd, *WHEN, *FEW, *timed, "--watch", "cows=2x45")
    assert "if somebody watched" not in out


def test_more_heats_seen_than_begin_are_explained_where_they_are_told(sunup, herd):
    """Chalk is rubbed off without a heat (physiology.false_chalk_per_d): none is seen by nobody."""
    words = ("--protocol", "cows=natural_heat", "--watch", "cows=2x45:chalk")
    told = asked(sunup, herd, *words)["groups"][0]["chosen"]
    begun, seen = (sum(half[key] for half in told["heats"]) for key in ("true_mean", "seen_mean"))
    assert seen > begun
    _, out, _ = sunup("forecast", herd, *WHEN, *FEW, *words)
    assert "(first seen: all that the crew takes for a heat, true or not)" in out


@pytest.mark.parametrize("command", ["plan", "forecast"])
def test_sexed_semen_of_a_sire_that_is_not_sexed_is_refused_and_a_mix_is_not(sunup, herd, command):
    words = (command, herd, *WHEN, "--option", "cows=sexed_semen", "--sire", "cows=DEF")
    code, _, err = sunup(*words)
    assert code == 2
    assert "--option cows=sexed_semen and --sire cows=DEF contradict" in err
    assert "--sire cows=DEF:sexed" in err
    few = ("--replicates", "20") if command == "forecast" else ()
    code, _, _ = sunup(*words[:-1], "cows=DEF:0.5", "--sire", "cows=GHI:sexed:0.5", *few)
    assert code == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--bulls", "cows=2", "--no-bulls"), "--no-bulls and --bulls cows=... contradict"),
        (("--no-bulls", "--bulls-after", "10"), "--no-bulls and --bulls-after contradict"),
        (("--bulls-after", "70", "--season-days", "63"), "after the 63 days of the season"),
        (("--late-hours", "3"), "say of what share too"),
        (("--late", "0.1", "--late-hours", "0"), "--late-hours 0 is not late"),
        (("--bulls", "cows=31"), "--bulls cows=31: more bulls than females (30)"),
        (("--dates", "foo"), "--dates 'foo': say mdy, dmy or iso"),
        (("--weights", "stone"), "--weights 'stone': say lb or kg"),
        (("--chart", "out.jpg"), "We cannot draw a chart as '.jpg'"),
        (("--chart", "no_such_folder/out.svg"), "There is no folder 'no_such_folder'"),
        (
            ("--protocol", "cows=co_synch", "--protocol", "cows=ns_pg2"),
            "--protocol says cows=co_synch and cows=ns_pg2",
        ),
    ],
)
def test_wishes_that_contradict_each_other_are_refused(sunup, herd, words, said):
    code, out, err = sunup("forecast", herd, *WHEN, *words)
    assert (code, said in " ".join(err.split())) == (2, True)
    assert (out, "simulating" in err) == ("", False)  # before any work


def test_a_pgf_missed_by_those_not_inseminated_counts_and_without_pgf_it_is_told(sunup, herd):
    words = ("--protocol", "cows=select_synch", "--no-bulls")
    none, all_missed = (
        asked(sunup, herd, *words, *more)["groups"][0]["chosen"] for more in ((), ("--missed", "1"))
    )
    # without the PGF only those in heat by themselves are inseminated: 6 days of a 21-day cycle
    assert all_missed["on_heat"]["mean"] < 0.7 * none["on_heat"]["mean"]
    assert "at pgf, 100 of 100 missed (your figures)" in all_missed["rests_on"]
    none = asked(
        sunup, herd, "--protocol", "cows=natural_heat", "--missed", "0.5",
        "--against", "cows=ns_insert7", "--against", "cows=co_synch_insert7_cow",
    )  # fmt: skip
    said = [p["what"] for p in none["problems"] if "--missed" in p["what"]]
    assert len(said) == 2
    assert all("change nothing" in what and "gives no PGF" in what for what in said)


@pytest.mark.parametrize("wish", [("--no-bulls",), ("--bulls-after", "20")])
def test_natural_service_without_or_with_later_bulls_is_refused(sunup, herd, wish):
    words = ("--protocol", "cows=ns_pg2", "--against", "cows=bulls_alone", *wish)
    _, out, err = sunup("forecast", herd, *WHEN, *FEW, *words)
    assert f"puts bulls in by itself, against {wish[0]}; leave {wish[0]} out" in " ".join(
        err.split()
    )
    assert "conceived" not in out
    # beside AI without bulls after it natural service keeps its own
    told = asked(sunup, herd, "--no-bulls", "--against", "cows=ns_pg2")["groups"][0]
    (versus,) = told["comparisons"]
    assert versus["counted"] == "conceived in the season"


FAULTY = """
[protocol.double_gnrh]
name = "double GnRH"
standing = "older"
style = "timed_ai"
classes = ["cow"]
cattle = "any"
order = 10
why = "tried here"
suits = "cows"
cycling_need = "half"
zero = "first_treatment"
clock = "pgf"
source = ["ranch"]
seen = "memory"
steps = [
  { id = "gnrh_1", day = 0, clock = "same", early_h = 1, late_h = 1, do = "gnrh", dose = 2.0 },
  { id = "pgf", day = 7, clock = "same", early_h = 1, late_h = 1, do = "pgf" },
  { id = "ai", after = "pgf", hours = 60, early_h = 1, late_h = 1, do = "ai" },
]
"""


@pytest.mark.parametrize(
    "words",
    [
        ("forecast", "HERD", *WHEN, "--against", "cows=double_gnrh"),
        ("forecast", "HERD", *WHEN, "--protocol", "cows=double_gnrh"),
        ("plan", "HERD", *WHEN, "--protocol", "cows=double_gnrh"),
        ("trace", "--protocol", "double_gnrh"),
    ],
)
def test_why_a_protocol_of_an_overlay_is_not_there_is_said_with_the_refusal(
    sunup, herd, tmp_path, words
):
    overlay = tmp_path / "ours.toml"
    overlay.write_text(FAULTY, "utf-8")
    typed = (herd if word == "HERD" else word for word in words)
    code, _, err = sunup(*typed, "--overlay", str(overlay))
    assert (code, "rotocol 'double_gnrh'" in err) == (2, True)
    assert "protocol.double_gnrh.steps.gnrh_1.dose: the number 2.0 is out of range" in err


def test_a_refused_protocol_and_none_that_fits_are_told_apart(sunup, herd):
    _, _, err = sunup("forecast", herd, *WHEN, "--protocol", "cows=mga_pg_heat")
    said = " ".join(err.split())
    assert "No forecast: Melengestrol-PGF, asked for, is refused." in said
    plan = json.loads(sunup("plan", herd, *WHEN, "--json")[1])["groups"][0]
    bare = SimpleNamespace(
        name="cows", n=30, ready=29, by_reason=(), fits=(),
        rejected=[SimpleNamespace(**x) for x in plan["rejected"]],
    )  # fmt: skip
    told = no_forecast(bare).what
    assert told.startswith("No forecast: no recommended protocol fits the 29 females that are")
    reason = plan["rejected"][0]["reason"].rstrip(".")
    alike = sum(x["reason"].rstrip(".") == reason for x in plan["rejected"])
    assert f"{reason}: {alike}" in told
    assert "no clock times" in no_forecast(bare, asked="co_synch").what


def test_a_small_group_has_its_heats_in_a_table_that_adds_up(sunup, tmp_path):
    """The rows of twelve cows watched for three weeks, to the rounding of a mean (0.5 a row)."""
    words = ("--protocol", "cows=natural_heat")
    twelve = herd_file(tmp_path, 12)
    told = asked(sunup, twelve, *words)["groups"][0]["chosen"]
    _, out, _ = sunup("forecast", twelve, *WHEN, *FEW, *words)
    table = out.split("Heats by ")[1].split("conceived by")[0].splitlines()[4:]
    rows = [re.match(r" *(?:-?\d+ to -?\d+|\D+together) +(\d+) +(\d+)", line) for line in table]
    begun = [int(row[1]) for row in rows if row]
    assert len(begun) >= 2
    summed = sum(half["true_mean"] for half in told["heats"])
    assert abs(sum(begun) - summed) <= 0.5 * (len(begun) + 1)


def test_cows_that_are_old_are_told_and_that_the_forecast_does_not_know_it(sunup, herd, tmp_path):
    """Ten years at the first insemination (forecast.old_cow_years), the day itself counted."""
    day = AI_ON.replace(year=AI_ON.year - 10)
    ages = [day - timedelta(days=400), day, day + timedelta(days=1)]
    old = herd_file(tmp_path, 30, born=lambda i: ages[min(i, 2)])
    told = asked(sunup, old)
    assert any("2 of 30 females are 10 years or older" in p["what"] for p in told["problems"])
    assert any("the age of cows" in line for line in told["groups"][0]["chosen"]["left_out"])
    assert not any("years or older" in p["what"] for p in asked(sunup, herd)["problems"])
    words = ("--forecast", "--replicates", "20", "--json")
    _, out, _ = sunup("plan", old, *WHEN, *words)
    assert "2 of 30 females are 10 years or older" in out


def test_a_range_of_a_plan_that_rests_on_heats_is_told_to_be_too_narrow(sunup, herd):
    for key, is_told in (("select_synch_insert", True), ("co_synch_insert7_cow", False)):
        _, out, _ = sunup("forecast", herd, *WHEN, *FEW, "--protocol", f"cows={key}")
        assert ("this range is too narrow" in out) is is_told
