"""A herd list is a set of females: its order of rows is nobody's luck."""

import json
from datetime import timedelta

import ovary  # noqa: F401  keeps the compiled kernel between test files
import pytest

from herds import AI_ON

pytestmark = pytest.mark.app


def rows():
    found = []
    for i in range(24):
        calved = AI_ON - timedelta(days=45 + 2 * i)
        found.append(f"{100 + i},cow,cows,Angus,{calved},{4.5 + 0.25 * (i % 6)},,,")
    found += [f"{700 + i},heifer,heifers,Angus,,6,{3 + i % 3},{370 + i},600" for i in range(10)]
    return found


def test_the_order_of_rows_changes_no_number(tmp_path, sunup):
    head = "tag,class,group,breed,calved on,condition,tract score,weight kg,mature weight kg"
    told = []
    lines = rows()
    for order in (lines, lines[::-1], lines[1::2] + lines[::2]):
        path = tmp_path / "herd.csv"
        path.write_text("\n".join([head, *order]) + "\n", "utf-8")
        when = [
            "--first-ai",
            AI_ON.isoformat(),
            "--zone",
            "America/Denver",
            "--as-of",
            "2027-04-20",
        ]
        _, out, _ = sunup("forecast", str(path), *when, "--replicates", "40", "--json")
        groups = json.loads(out)["groups"]
        told.append({group["group"]: group for group in groups})
    assert told[0]
    assert told[1] == told[0]
    assert told[2] == told[0]
