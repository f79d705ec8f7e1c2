"""RFID codes and reader lines against ``authorities/rfid/values.toml``.

No tolerance: an identity is right or wrong. Sources: ISO 11784 (second hand), ISO 24631-6 (second
hand), lines seen in readers' manuals (read), common practice (memory); each case names its own.
"""

import tomllib
from pathlib import Path

import pytest

from sunup.exchange.faults import Fault
from sunup.exchange.rfid import LARGEST_NATIONAL_CODE, read_rfid

VALUES = tomllib.loads(
    (Path(__file__).parents[2] / "authorities/rfid/values.toml").read_text(encoding="utf-8")
)


@pytest.mark.parametrize("case", VALUES["line"], ids=lambda case: repr(case["text"]))
def test_published_reader_line_gives_its_code(case):
    assert case["code"] == read_rfid(case["text"])


@pytest.mark.parametrize("case", VALUES["refused"], ids=lambda case: case["why"])
def test_code_no_animal_can_carry_is_refused_with_its_reason(case):
    found = read_rfid(case["text"])
    assert isinstance(found, Fault)
    assert case["says"] in found.what


def test_largest_national_code_is_that_of_the_standard():
    structure = VALUES["structure"]
    assert structure["largest_national_code"] == LARGEST_NATIONAL_CODE
    largest = f"840{LARGEST_NATIONAL_CODE:012d}"
    assert largest == read_rfid(largest)
    assert isinstance(read_rfid(f"840{LARGEST_NATIONAL_CODE + 1:012d}"), Fault)


def test_every_case_names_a_listed_source():
    named = {case["source"] for case in [*VALUES["line"], *VALUES["refused"]]}
    assert named <= set(VALUES["sources"])


def test_two_animals_in_one_cell_are_never_chosen_between():
    found = read_rfid("840003123456789 840003123456780")
    assert isinstance(found, Fault)
    assert "more than one" in found.what
