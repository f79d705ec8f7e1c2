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
    """Four arms of the transcribed trials: cows on melengestrol and estradiol among them."""
    text = TRIALS.read_text("utf-8")
    head, *blocks = text.split("[[arm]]")
    kept = [b for b in blocks if tomllib.loads("[[arm]]" + b)["arm"][0]["id"] in KEPT]
    assert len(kept) == len(KEPT)
    path = tmp_path_factory.mktemp("trials") / "few.toml"
    path.write_text(head + "".join("[[arm]]" + b for b in kept), "utf-8")
    return path


def test_every_arm_is_run_and_scored_in_the_form_of_the_design(few):
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
