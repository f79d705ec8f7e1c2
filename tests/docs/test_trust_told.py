"""What every forecast and the first page say of trust is what was measured last."""

import re
from pathlib import Path

from sunup.forecast.figures import TRUST
from sunup.forecast.summary import LEFT_OUT_BULLS

ROOT = Path(__file__).parents[2]
PAGES = ("heat.md", "heat_seen.md", "trust.md")
ROW = re.compile(r"^\| pregnancy \| \d+ \| ([\d.]+) \| [\d.]+ \| ([\d.]+) \|", re.MULTILINE)


def measured():
    """Misfit and that of guessing the class mean: left-out, never fitted, found last."""
    rows = ROW.findall((ROOT / "docs" / "science" / "trust.md").read_text("utf-8"))
    assert len(rows) == 3
    return tuple(int(float(number) + 0.5) for row in rows for number in row)  # half up


def test_forecasts_tell_the_misfit_that_was_measured():
    assert tuple(map(int, re.findall(r"\d+", TRUST))) == measured()


def test_the_first_page_tells_it_too():
    text = " ".join((ROOT / "README.md").read_text("utf-8").split())
    told = re.search(
        r"misses by about (\d+) points where the mean of the class misses by (\d+), "
        r"on others that stand in no fit by (\d+) where it misses by (\d+), "
        r"on trials found last, .*? by (\d+) where it misses by (\d+)",
        text,
    )
    assert tuple(map(int, told.groups())) == measured()


def test_heats_found_by_two_checks_a_day_are_one_number_on_every_page():
    pages = {name: (ROOT / "docs" / "science" / name).read_text("utf-8") for name in PAGES}
    row = r"^\| by eye, two checks of 45 minutes \| 73 % .*? \| (\d+) %"
    told = {
        "heat.md": re.findall(row, pages["heat.md"], re.MULTILINE),
        "heat_seen.md": re.findall(row, pages["heat_seen.md"], re.MULTILINE),
        "trust.md": re.findall(r"Two checks a day find (\d+) of 100 heats", pages["trust.md"]),
    }
    assert {len(found) for found in told.values()} == {1}
    assert len({found[0] for found in told.values()}) == 1


def test_how_far_off_bulls_are_is_told_as_measured():
    page = (ROOT / "docs" / "science" / "season.md").read_text("utf-8")
    rows = re.findall(r"^\| in calf after 63 days, (.*?) \| (.*?) \| (\d+) %", page, re.MULTILINE)
    after_ai = [(int(published[:2]), int(found)) for who, published, found in rows if "to" in who]
    alone = next(row for row in rows if "mature bull" in row[0])
    low, high = re.search(r"\((\d+)-(\d+)\)", alone[1]).groups()
    told = re.search(
        r"\((\d+) of 100 .* (\d+) to (\d+)\).*\((\d+), (\d+) to (\d+)\)", LEFT_OUT_BULLS
    )
    assert told.groups()[:3] == (alone[2], low, high)
    published, found = zip(*after_ai, strict=True)
    assert tuple(map(int, told.groups()[3:])) == (max(found), min(published), max(published))
