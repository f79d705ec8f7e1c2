"""Scores of a small made-up file of trials, recomputed by hand.

The file's own rule (``[scoring]``, as in the transcribed trials): the variance of a report about
the truth is p(1-p)/n + herd_sd^2/locations + trial_sd^2; the floor is the root of its mean.
Nothing here was published; what is checked is arithmetic.
"""

import math
import tomllib

import pytest

from sunup.forecast.arms import read_trials
from sunup.forecast.score import Prediction, class_means, score

HEAD = """
[scoring]
herd_sd_points = 6.0
trial_sd_points = 3.0
n_missing = 150
females_per_location_missing = 150
mixed_is = { cow = 0.5, heifer = 0.5 }
cyclic_pct_missing = { cow = 62, first_calf_cow = 50, heifer = 89, mixed = 75 }
days_postpartum_missing = { mean = 70, sd = 18 }
body_condition_missing = { mean = 5.3, sd = 0.6 }
"""
ARM = """
[[arm]]
id = "{trial}/{number}"
trial = "{trial}"
source = "made up for this test"
read = true
class = "{female}"
subspecies = "taurus"
semen = "conventional"
steps = [{{ at = 0, do = "pgf" }}, {{ at = 60, do = "ai" }}]
pregnancy = {{ pct = {pct}, to = "first_ai" }}
{size}
"""
FOUR = "n = 100\nn_locations = 4"
Z = 1.64485  # 95 % point of the normal distribution, from tables


def made(*rows, size=FOUR):
    """Predictions of (trial, class, published, predicted, sd, size of the arm) and the scoring."""
    text = HEAD
    for number, (trial, female, pct, _, _, *own) in enumerate(rows, start=1):
        text += ARM.format(
            trial=trial, number=number, female=female, pct=pct, size=own[0] if own else size
        )
    file = read_trials(tomllib.loads(text))
    assert not file.problems
    predictions = [
        Prediction(arm=arm, what="pregnancy", published=row[2], predicted=row[3], sd=row[4])
        for arm, row in zip(file.arms, rows, strict=True)
    ]
    return predictions, file.scoring


@pytest.fixture(scope="module")
def four():
    """Arms:      published  predicted  error   variance of the report at the published share
    A/1  cow      50         54          +4     50*50/100 + 36/4 + 9 = 25    +  9 + 9 = 43
    A/2  cow      70         67          -3     70*30/100 + 36/4 + 9 = 21    +  9 + 9 = 39
    B/3  cow      50         35         -15     50*50/400 + 36/1 + 9 =  6.25 + 36 + 9 = 51.25
    C/4  heifer   60         60           0     60*40/150 + 36/1 + 9 = 16    + 36 + 9 = 61
    """
    predictions, scoring = made(
        ("A", "cow", 50, 54, 0.0),
        ("A", "cow", 70, 67, 3.0),
        ("B", "cow", 50, 35, 0.0, "n = 400\nn_locations = 1"),
        ("C", "heifer", 60, 60, 8.0, ""),  # 150 females, so one location, are assumed
    )
    return score(predictions, scoring=scoring)


def test_floor_is_the_root_of_the_mean_variance_of_the_reports(four):
    # (43 + 39 + 51.25 + 61) / 4 = 194.25 / 4 = 48.5625
    assert four.floor == pytest.approx(math.sqrt(48.5625))
    assert four.ratio == pytest.approx(math.sqrt(62.5) / math.sqrt(48.5625))


def test_misfit_and_bias_are_of_predicted_less_published(four):
    # 16 + 9 + 225 + 0 = 250; 250 / 4 = 62.5.  4 - 3 - 15 + 0 = -14; -14 / 4 = -3.5
    assert four.n == 4
    assert four.rmse == pytest.approx(math.sqrt(62.5))
    assert four.bias == pytest.approx(-3.5)


def test_weighted_misfit_weighs_an_arm_by_its_females(four):
    # 100*16 + 100*9 + 400*225 + 150*0 = 92500; of 100 + 100 + 400 + 150 = 750 females
    assert four.weighted_rmse == pytest.approx(math.sqrt(92500 / 750))


def test_guess_is_the_mean_of_the_class_over_the_other_trials(four):
    # A/1 and A/2: cows of other trials: B/3 alone, 50    -> errors 0 and -20
    # B/3: cows of A: (50 + 70) / 2 = 60                  -> error +10
    # C/4: no other heifers; all others: 170 / 3 = 56.667 -> error -3.333
    # (0 + 400 + 100 + 11.111) / 4 = 127.778
    assert four.class_mean_rmse == pytest.approx(math.sqrt((0 + 400 + 100 + 100 / 9) / 4))


def test_intervals_carry_report_and_prediction_and_cover_what_lies_inside(four):
    # variance at the predicted share, and sd^2 of the prediction:
    # A/1  54*46/100 + 18 + 0 = 42.84    half 10.77   43.2 to 64.8  holds 50
    # A/2  67*33/100 + 18 + 9 = 49.11    half 11.53   55.5 to 78.5  holds 70
    # B/3  35*65/400 + 45 + 0 = 50.6875  half 11.71   23.3 to 46.7  does not hold 50
    # C/4  60*40/150 + 45 + 64 = 125     half 18.39   41.6 to 78.4  holds 60
    halves = [Z * math.sqrt(v) for v in (42.84, 49.11, 50.6875, 125.0)]
    assert four.coverage90 == 3 / 4
    assert four.mean_width90 == pytest.approx(2 * sum(halves) / 4, rel=1e-5)


def test_log_score_is_the_mean_log_of_the_normal_density_at_the_report(four):
    # ln N(e; 0, v) = -(ln(2 pi v) + e^2 / v) / 2, with the variances and errors above
    pairs = ((4, 42.84), (-3, 49.11), (-15, 50.6875), (0, 125.0))
    logs = [-(math.log(2 * math.pi * v) + e * e / v) / 2 for e, v in pairs]
    assert four.log_score == pytest.approx(sum(logs) / 4)
    # of the guess: v is its own mean square, so that the e^2 / v average 1
    square = (400 + 100 + 100 / 9) / 4
    assert four.class_mean_log_score == pytest.approx(-(math.log(2 * math.pi * square) + 1) / 2)


def test_one_pair_of_one_trial_is_judged(four):
    assert (four.direction_right, four.pairs) == (1, 1)  # A/1 below A/2 in both; B and C alone


def test_direction_counts_pairs_of_one_trial_four_points_apart_and_a_tie_as_wrong():
    predictions, scoring = made(
        ("D", "cow", 40.0, 50, 0.0),
        ("D", "cow", 44.0, 50, 0.0),  # 4.0 over the first: counts; foretold alike: wrong
        ("D", "cow", 47.9, 52, 0.0),  # 7.9 over the first: right; 3.9 over the second: no pair
        ("D", "cow", 60.0, 51, 0.0),  # over first and second: right; 12.1 over the third: wrong
        ("E", "cow", 10.0, 90, 0.0),  # another trial: in no pair
    )
    found = score(predictions, scoring=scoring)
    # pairs: 1-2 wrong, 1-3 right, 1-4 right, 2-4 right, 3-4 wrong
    assert (found.direction_right, found.pairs) == (3, 5)


def test_reports_too_near_each_other_make_no_pair():
    predictions, scoring = made(("D", "cow", 50, 60, 0.0), ("D", "cow", 53, 20, 0.0))
    found = score(predictions, scoring=scoring)
    assert (found.direction_right, found.pairs) == (0, 0)


def test_intervals_stop_at_nought_and_at_a_hundred():
    predictions, scoring = made(("D", "cow", 1, 1, 0.0), ("E", "cow", 99, 99, 0.0))
    # the luck of a share below 2 % is taken as of 2 %: 2*98/100 + 18 = 19.96, half 7.349
    half = Z * math.sqrt(19.96)
    (low, low_end), (high_start, high) = (p.interval(scoring) for p in predictions)
    assert (low, high) == (0.0, 100.0)
    assert low_end == pytest.approx(1 + half, rel=1e-5)
    assert high_start == pytest.approx(99 - half, rel=1e-5)


def test_a_class_of_its_own_is_guessed_from_trials_of_any_class():
    predictions, _ = made(("A", "cow", 40, 0, 0.0), ("B", "heifer", 60, 0, 0.0))
    assert class_means(predictions) == {"A/1 pregnancy": 60.0, "B/2 pregnancy": 40.0}


def test_where_all_is_one_trial_there_is_no_guess_and_the_forecast_is_scored_all_the_same():
    predictions, scoring = made(("A", "cow", 50, 53, 0.0), ("A", "heifer", 60, 56, 0.0))
    assert class_means(predictions) == {}
    found = score(predictions, scoring=scoring)
    assert math.isnan(found.class_mean_rmse)
    assert math.isnan(found.class_mean_log_score)
    assert found.rmse == pytest.approx(math.sqrt((9 + 16) / 2))
    assert found.bias == pytest.approx((3 - 4) / 2)


def test_one_arm_alone_is_scored_without_guess_and_without_pair():
    predictions, scoring = made(("A", "cow", 50, 53, 0.0))
    found = score(predictions, scoring=scoring)
    assert (found.n, found.rmse, found.bias, found.coverage90) == (1, 3.0, 3.0, 1.0)
    assert found.floor == pytest.approx(math.sqrt(43))
    assert (found.direction_right, found.pairs) == (0, 0)
    assert math.isnan(found.class_mean_rmse)


def test_a_guess_that_hits_is_no_surer_than_the_floor():
    predictions, scoring = made(("A", "cow", 50, 53, 0.0), ("B", "cow", 50, 47, 0.0))
    found = score(predictions, scoring=scoring)
    assert found.class_mean_rmse == 0.0
    assert found.class_mean_log_score == pytest.approx(-math.log(2 * math.pi * 43) / 2)


def test_nothing_to_score_is_a_fault_of_the_caller():
    _, scoring = made(("A", "cow", 50, 53, 0.0))
    with pytest.raises(ValueError, match="nothing to score"):
        score([], scoring=scoring)
