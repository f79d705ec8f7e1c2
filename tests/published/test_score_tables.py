"""Our scoring scales against the published tables transcribed in authorities/.

Sources: North Dakota State University calving book with a body-fat table (condition, 1-9); Hall
1998, Virginia Tech, adapted from Odde and others 1994 (tract, 1-5). Printed figures are copied, so
they must agree exactly.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
DATA = ROOT / "src/sunup/library/data"
SCORES = tomllib.loads((DATA / "scores.toml").read_text("utf-8"))
READINESS = tomllib.loads((DATA / "readiness.toml").read_text("utf-8"))
CONDITION = tomllib.loads((ROOT / "authorities/condition_score_1_9/table.toml").read_text("utf-8"))
TRACT = tomllib.loads((ROOT / "authorities/tract_score_1_5/table.toml").read_text("utf-8"))


def facts(scale, fact):
    return [level["facts"][fact] for level in SCORES[scale]["levels"]]


def test_condition_runs_from_1_to_9_with_the_printed_names():
    levels = SCORES["body_condition"]["levels"]
    assert list(range(1, 10)) == [level["score"] for level in levels]
    assert CONDITION["names"] == [level["name"] for level in levels]


def test_body_fat_at_each_condition_is_the_printed_one():
    assert CONDITION["body_fat_pct"] == [int(f) for f in facts("body_condition", "body_fat_pct")]


def test_tract_runs_from_1_to_5_with_the_printed_horns_and_tone():
    assert [level["score"] for level in SCORES["tract"]["levels"]] == [1, 2, 3, 4, 5]
    assert TRACT["horn_mm"] == facts("tract", "horn_mm")
    assert TRACT["tone"] == facts("tract", "tone")


@pytest.mark.parametrize(("place", "side"), [(0, "length"), (1, "height"), (2, "width")])
def test_ovaries_at_each_tract_score_have_the_printed_size(place, side):
    printed = [sizes[place] for sizes in TRACT["ovary_mm"]]
    assert printed == [int(size) for size in facts("tract", f"ovary_{side}_mm")]


@pytest.mark.parametrize("when", ["synchronised", "season"])
def test_pregnancy_at_each_tract_score_is_the_printed_one_in_both_places(when):
    printed = TRACT[f"pregnant_{when}_pct"]
    assert printed == [float(share) for share in facts("tract", f"pregnant_{when}_pct")]
    key = "tract_sync_pregnancy" if when == "synchronised" else "tract_season_pregnancy"
    assert printed == READINESS[key]["value"]
