"""Protocols forecast together share lives up to the first treatment, and nothing changes by it."""

from datetime import date, timedelta

import numpy as np
import ovary  # noqa: F401  keeps the compiled kernel between test files
import pytest

from herds import AI_ON
from sunup.app.forecast_asked import Asked
from sunup.app.forecast_group import forecast_chosen, forecast_other, make_bench, treated
from sunup.app.forecast_together import forecast_others
from sunup.app.open import open_library
from sunup.app.plan_season import plan_season
from sunup.app.wishes import Wishes, make_request

pytestmark = pytest.mark.app

# the first two begin on the same day, the third on another
KEYS = ("split_insert7_cow_66_90", "co_synch_insert7_cow", "seven_and_seven_cow")


@pytest.fixture(scope="module")
def cows(tmp_path_factory):
    lines = ["tag,class,group,breed,calved on,condition,born"]
    lines += [
        f"{100 + i},cow,cows,Angus,{AI_ON - timedelta(days=50 + i)},5.5,2021-03-01"
        for i in range(30)
    ]
    path = tmp_path_factory.mktemp("herd") / "herd.csv"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    request = make_request(
        Wishes(plain={"zone": "America/Denver"}, first_ai=AI_ON.isoformat()),
        today=date(2027, 4, 20),
    )
    outcome = plan_season(path, request, as_of_given=True)
    bench = make_bench(outcome.plan, open_library(None)[0], asked=Asked(replicates=30))
    group = outcome.plan.groups[0]
    return bench, group, treated(outcome.females, group)


def test_together_every_protocol_has_the_forecast_it_has_alone(cows):
    _, chosen = forecast_chosen(*cows)
    together = forecast_others(*cows, keys=KEYS, chosen=chosen)
    assert list(together) == list(KEYS)
    for key, (forecast, run) in together.items():
        alone, its_run = forecast_other(*cows, key=key, chosen=chosen)
        assert forecast == alone
        assert np.array_equal(run.tally.pregnant, its_run.tally.pregnant)


def test_what_is_run_is_told_by_the_first_and_how_many_more(cows):
    _, chosen = forecast_chosen(*cows)
    told = []
    forecast_others(*cows, keys=KEYS, chosen=chosen, tell=lambda name, _: told.append(name))
    assert set(told) == {
        "cows, split_insert7_cow_66_90 and 1 more",
        "cows, seven_and_seven_cow",
    }
