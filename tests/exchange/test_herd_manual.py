"""The manual's page on the herd file against the reader."""

import re
from datetime import date
from pathlib import Path

import pytest

from herds import LIMITS
from sunup.exchange.fields import BY_KEY
from sunup.exchange.headers import read_header
from sunup.exchange.herd_file import read_herd

PAGE = (Path(__file__).parents[2] / "docs/reference/herd_file.md").read_text(encoding="utf-8")
ROWS = re.findall(r"^\| (`[a-z_`, ]+`) \| ([^|]+) \|", PAGE, re.MULTILINE)


def test_example_of_the_manual_loads_without_a_word():
    example = re.search(r"```csv\n(.*?)```", PAGE, re.DOTALL)[1]
    herd = read_herd(example.encode(), "herd.csv", on=date(2027, 5, 1), limits=LIMITS)
    assert herd.problems == ()
    assert [one.tag for one in herd.females] == ["0412", "0413", "H07"]
    assert herd.unused == ()


def test_manual_lists_every_field():
    assert set(re.findall(r"`([a-z_]+)`", " ".join(keys for keys, _ in ROWS))) == set(BY_KEY)


@pytest.mark.parametrize(("keys", "names"), ROWS, ids=lambda text: text[:20])
def test_header_named_in_the_manual_is_known(keys, names):
    for name in re.split("[,;]", names):
        known = read_header(name)
        assert known is not None, name
        assert f"`{known.key}`" in keys
