"""What every forecast and the first page say of trust is what was measured last."""

import re
from pathlib import Path

from sunup.forecast.figures import TRUST

ROOT = Path(__file__).parents[2]
ROW = re.compile(r"^\| pregnancy \| \d+ \| ([\d.]+) \| [\d.]+ \| ([\d.]+) \|", re.MULTILINE)


def measured():
    """Misfit to trials not seen, and that of guessing the mean of the class, in whole points."""
    found = ROW.search((ROOT / "docs" / "science" / "trust.md").read_text("utf-8"))
    return tuple(round(float(number)) for number in found.groups())


def test_forecasts_tell_the_misfit_that_was_measured():
    assert tuple(map(int, re.findall(r"\d+", TRUST))) == measured()


def test_the_first_page_tells_it_too():
    text = " ".join((ROOT / "README.md").read_text("utf-8").split())
    told = re.search(
        r"misses by about (\d+) points where the mean of the class misses by (\d+)", text
    )
    assert tuple(map(int, told.groups())) == measured()
