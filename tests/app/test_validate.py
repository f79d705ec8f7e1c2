"""`sunup validate` on a small file of trials of the published form."""

import json
import tomllib
from pathlib import Path

import pytest
from typer.testing import CliRunner

from sunup.app.validate_trials import TrialFileError, validate_trials, validation_to_json
from sunup.cli.main import app

TRIALS = Path(__file__).parents[2] / "authorities" / "trials" / "trials.toml"
KEPT = ("LARSON2006C/3", "ANDERSEN2021/1", "SCHAFER2007/1", "SALES2012/2")


@pytest.fixture(scope="module")
def few(tmp_path_factory):
    """Four arms of the transcribed trials."""
    text = TRIALS.read_text("utf-8")
    head, *blocks = text.split("[[arm]]")
    kept = [b for b in blocks if tomllib.loads("[[arm]]" + b)["arm"][0]["id"] in KEPT]
    assert len(kept) == len(KEPT)
    path = tmp_path_factory.mktemp("trials") / "few.toml"
    path.write_text(head + "".join("[[arm]]" + b for b in kept), "utf-8")
    return path


def test_arms_are_scored_in_the_form_of_the_design(few):
    shown = validation_to_json(validate_trials(few, females=60))
    assert shown["schema_version"] == 1
    assert [arm["id"] for arm in shown["arms"]] == [
        arm["id"] for arm in tomllib.loads(few.read_text("utf-8"))["arm"]
    ]
    for arm in shown["arms"]:
        figure = arm["pregnancy"]
        assert figure["lo90"] <= figure["predicted"] <= figure["hi90"]
        assert figure["inside"] == (figure["lo90"] <= figure["published"] <= figure["hi90"])
    overall = shown["overall"]["pregnancy"]
    for key in (
        "n",
        "rmse",
        "weighted_rmse",
        "bias",
        "floor",
        "ratio",
        "coverage90",
        "mean_width90",
        "class_mean_rmse",
        "log_score",
        "direction_right",
        "pairs",
    ):
        assert key in overall
    errors = [a["pregnancy"]["predicted"] - a["pregnancy"]["published"] for a in shown["arms"]]
    assert overall["bias"] == pytest.approx(sum(errors) / len(errors), abs=0.01)
    assert overall["n"] == len(KEPT)
    assert shown["read_only"]["pregnancy"]["n"] == 1  # ANDERSEN2021/1; the others are from memory


def test_same_seed_gives_the_same_numbers(few):
    first, second = (validation_to_json(validate_trials(few, females=60)) for _ in range(2))
    assert first == second


def test_command_prints_json_and_words(few):
    told = CliRunner().invoke(app, ["validate", str(few), "--females", "60", "--json"])
    assert told.exit_code == 0
    assert json.loads(told.stdout)["arms"]
    words = CliRunner().invoke(app, ["validate", str(few), "--females", "60"])
    assert "class mean" in words.stdout
    assert "floor" in words.stdout


def test_file_that_is_no_trials_file_is_said_in_words(tmp_path):
    path = tmp_path / "no.toml"
    path.write_text("x = ", "utf-8")
    with pytest.raises(TrialFileError, match="not a file of trials"):
        validate_trials(path)
    path.write_text("[scoring]\n", "utf-8")
    with pytest.raises(TrialFileError, match="not a file of trials"):
        validate_trials(path)


def test_every_arm_of_the_transcribed_trials_runs():
    """With ten females an arm: whether each runs, not how well. A second or two."""
    arms = tomllib.loads(TRIALS.read_text("utf-8"))["arm"]
    shown = validation_to_json(validate_trials(TRIALS, females=10))
    run = {arm["id"] for arm in shown["arms"]}
    assert run == {arm["id"] for arm in arms}
    assert shown["problems"] == []
    reported = {
        what: {arm["id"] for arm in arms if "pct" in arm.get(what, {})}
        for what in ("pregnancy", "estrus", "conception")
    }
    pairs = {
        frozenset((arm["id"], arm["estrus_pooled_with"]))
        for arm in arms
        if "estrus_pooled_with" in arm
    }
    assert pairs
    for what, ids in reported.items():
        told = {arm["id"] for arm in shown["arms"] if what in arm}
        assert told <= ids
        if what != "estrus":  # of two arms whose heats were published together one is told
            assert told == ids
        else:
            left = ids - told
            assert len(left) == len(pairs)
            assert all(len(pair & left) == 1 for pair in pairs)
    cows = [arm for arm in arms if arm["class"] == "cow" and arm["id"] in run]
    given = {step["do"] for arm in cows for step in arm["steps"]}
    assert {"mga_start", "mga_end", "estradiol_benzoate", "estradiol_cypionate"} <= given


SCORING = TRIALS.read_text("utf-8").split("[[arm]]")[0]


def write_arms(path, *arms):
    """Write a file of made-up arms: (id, trial, lines that replace or add keys)."""
    text = SCORING
    for name, trial, lines in arms:
        keys = {
            "id": f'"{name}"',
            "trial": f'"{trial}"',
            "source": '"made up for this test"',
            "read": "true",
            "class": '"cow"',
            "subspecies": '"taurus"',
            "semen": '"conventional"',
            "steps": (
                '[{ at = 0, do = "gnrh" }, { at = 168, do = "pgf" }, '
                '{ at = 168, do = "watch", until = 252, inseminate = "am_pm" }, '
                '{ at = 252, do = "ai", who = "not_inseminated" }]'
            ),
            "n": "100",
            "pregnancy": '{ pct = 50, to = "first_ai" }',
        } | dict(line.split(" = ", 1) for line in lines)
        text += "\n[[arm]]\n" + "".join(f"{key} = {value}\n" for key, value in keys.items())
    path.write_text(text, "utf-8")
    return path


def told(*arguments):
    return CliRunner().invoke(app, ["validate", *map(str, arguments), "--females", "50"])


NO_END = 'steps = [{ at = 0, do = "watch", inseminate = "am_pm" }]'


def test_good_arms_run_beside_faulty_ones_which_are_named_in_file_and_on_terminal(tmp_path):
    path = write_arms(
        tmp_path / "some.toml",
        ("A/1", "A", []),
        ("A/2", "A", [NO_END]),
        ("A/3", "A", ['n = "506"']),
        ("B/1", "B", ['pregnancy = { pct = 40, to = "period" }']),
        ("B/2", "B", ['steps = "x"']),
        ("B/3", "B", ['pregnancy = { pct = 530, to = "first_ai" }']),
    )
    as_json = told(path, "--json")
    shown = json.loads(as_json.stdout)
    assert [arm["id"] for arm in shown["arms"]] == ["A/1", "B/1"]
    assert shown["overall"]["pregnancy"]["n"] == 2
    assert shown["left_out"] == ["A/2", "A/3", "B/2", "B/3"]
    keys = ("A/2.steps[1].until", "A/3.n", "B/2.steps", "B/3.pregnancy.pct")
    assert [p["where"] for p in shown["problems"]] == [f"some.toml: arm.{key}" for key in keys]
    words = told(path)
    assert (as_json.exit_code, words.exit_code) == (1, 1)
    assert all(key in words.stderr for key in keys)
    assert "B/1" in words.stdout
    assert "A/2, A/3, B/2, B/3" in " ".join(words.stdout.split())


def test_where_no_arm_is_left_the_reasons_are_told(tmp_path):
    path = write_arms(tmp_path / "one.toml", ("A/1", "A", [NO_END, "n = 0"]))
    with pytest.raises(TrialFileError) as error:
        validate_trials(path)
    assert "holds no arm that can be run" in str(error.value)
    assert "arm.A/1.steps[1].until" in str(error.value)
    assert "arm.A/1.n: the number 0 is out of range" in str(error.value)


def test_a_file_of_one_trial_has_no_guess_which_is_said(tmp_path):
    path = write_arms(tmp_path / "one.toml", ("A/1", "A", []), ("A/2", "A", []))
    as_json, words = told(path, "--json"), told(path)
    overall = json.loads(as_json.stdout)["overall"]["pregnancy"]
    assert overall["class_mean_rmse"] is None
    assert overall["class_mean_log_score"] is None
    assert overall["rmse"] >= 0.0
    assert "no other trial to guess from" in " ".join(words.stdout.split())
    assert (as_json.exit_code, words.exit_code) == (0, 0)


def test_a_remark_under_a_key_of_ones_own_is_named_and_stops_nothing(tmp_path):
    path = write_arms(tmp_path / "one.toml", ("A/1", "A", ['paper_kept_in = "the drawer"']))
    words = told(path)
    assert words.exit_code == 0
    assert "paper_kept_in" in words.stderr


@pytest.mark.parametrize("what", ["estrus", "pregnancy"])
@pytest.mark.parametrize(("first", "second"), [(True, True), (True, False), (False, True)])
def test_a_figure_published_for_two_arms_together_is_counted_once(tmp_path, what, first, second):
    heats = "estrus = { pct = 40, from_h = 0, to_h = 84 }"
    path = write_arms(
        tmp_path / "two.toml",
        ("A/1", "A", [heats] + [f'{what}_pooled_with = "A/2"'] * first),
        ("A/2", "A", [heats] + [f'{what}_pooled_with = "A/1"'] * second),
    )
    found = validate_trials(path, females=50)
    assert [p.arm.id for p in found.predictions if p.what == what] == ["A/1"]
    other = "estrus" if what == "pregnancy" else "pregnancy"
    assert [p.arm.id for p in found.predictions if p.what == other] == ["A/1", "A/2"]


PAIR = [
    ("A/1", "A", ["n = 300", 'pregnancy_pooled_with = "A/2"']),
    ("A/2", "A", ['class = "heifer"', "n_locations = 4"]),
    ("A/3", "A", ['steps = [{ at = 0, do = "pgf" }, { at = 60, do = "ai" }]']),
    ("B/1", "B", ['pregnancy = { pct = 70, to = "first_ai" }']),
]


def test_a_figure_of_two_arms_is_foretold_as_the_mean_of_their_females(tmp_path):
    path = write_arms(tmp_path / "pair.toml", *PAIR)
    whole = validate_trials(path, females=50)
    alone = validate_trials(
        write_arms(tmp_path / "alone.toml", ("A/1", "A", []), *PAIR[1:]), females=50
    )
    one, two = alone.predictions[:2]
    both = whole.predictions[0]
    assert both.predicted == pytest.approx((300 * one.predicted + 100 * two.predicted) / 400)
    assert (both.arm.n, both.arm.n_locations) == (400, 4)
    assert [arm.id for arm in both.told_for] == ["A/1", "A/2"]
    assert len(whole.predictions) == len(alone.predictions) - 1
    narrow, wide = (high - low for low, high in (p.interval(whole.scoring) for p in (both, two)))
    assert narrow < wide


def test_the_order_of_the_arms_in_the_file_changes_no_score(tmp_path):
    scores = [
        validation_to_json(validate_trials(write_arms(tmp_path / name, *arms), females=50))[
            "overall"
        ]
        for name, arms in (("one.toml", PAIR), ("two.toml", PAIR[::-1]))
    ]
    assert scores[0]["pregnancy"]["n"] == 3
    assert scores[0] == scores[1]


def test_every_arm_is_shown_and_of_one_figure_the_later_says_with_which_it_is_counted(tmp_path):
    path = write_arms(tmp_path / "pair.toml", *PAIR)
    arms = json.loads(told(path, "--json").stdout)["arms"]
    assert [arm["id"] for arm in arms] == ["A/1", "A/2", "A/3", "B/1"]
    assert arms[1] == {
        "id": "A/2",
        "trial": "A",
        "read": True,
        "counted_with": {"pregnancy": "A/1"},
    }
    assert sum("pregnancy" in arm for arm in arms) == 3
    (line,) = (line for line in told(path).stdout.splitlines() if "A/2" in line)
    assert "counted with A/1" in line


def test_a_figure_of_some_females_is_as_sure_as_those_are_many(tmp_path):
    """Of 1000 cows the share that the watch inseminates on heat; the herds stay as many."""
    lines = ['conception = { pct = 60, of = "inseminated_on_heat" }', "n = 1000", "n_locations = 5"]
    found = validate_trials(write_arms(tmp_path / "one.toml", ("A/1", "A", lines)), females=50)
    pregnancy, conception = found.predictions
    assert pregnancy.arm.n == 1000
    assert 200 < conception.arm.n < 900
    assert pregnancy.arm.n_locations == conception.arm.n_locations == 5


def test_a_figure_of_females_that_cannot_be_is_left_out_and_told(tmp_path):
    """Nobody can be seen in heat in a window that ends before the steps begin."""
    path = write_arms(
        tmp_path / "one.toml",
        ("A/1", "A", []),
        ("A/2", "A", ["only = { in_heat = true, from_h = -900, to_h = -800 }"]),
    )
    found = validate_trials(path, females=50)
    assert [p.arm.id for p in found.predictions] == ["A/1"]
    (problem,) = found.problems
    assert problem.where == "one.toml: arm.A/2.pregnancy"
    assert "not compared" in problem.what
