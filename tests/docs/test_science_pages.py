"""Every process of docs/science is told in the same six parts; what it names exists."""

import importlib
import re
import sys
import tomllib
from pathlib import Path

import pytest

from sunup.app.open import open_library

ROOT = Path(__file__).parents[2]
SCIENCE = ROOT / "docs" / "science"
PARTS = (
    "Question", "Mechanism", "Equations", "Figures", "Against published values", "Limits",
)  # fmt: skip
NO_PROCESS = {"README", "readiness", "trust"}
PROCESSES = sorted(path.stem for path in SCIENCE.glob("*.md") if path.stem not in NO_PROCESS)
PICTURE = re.compile(r"!\[[^\]]+\]\((\.\./pictures/\w+\.svg)\)")
pytestmark = pytest.mark.docs


def _builder(name):
    folder = str(ROOT / "builders")
    if folder not in sys.path:
        sys.path.insert(0, folder)
    return importlib.import_module(name)


def page(name):
    return (SCIENCE / f"{name}.md").read_text(encoding="utf-8")


def parts_of(name):
    """Headings of a page in their order, each with its text."""
    pieces = re.split(r"^## (.+)$", page(name), flags=re.MULTILINE)[1:]
    return dict(zip(pieces[::2], pieces[1::2], strict=True))


def figures_told(name):
    """Names in the first column of the table of figures."""
    return set(re.findall(r"^\| `([\w.]+)` \|", parts_of(name)["Figures"], re.MULTILINE))


def test_a_page_that_is_no_process_is_one_of_three_and_readiness_says_so():
    assert {path.stem for path in SCIENCE.glob("*.md")} - set(PROCESSES) == NO_PROCESS
    assert "not a process" in page("readiness").partition("\n## ")[0]


@pytest.mark.parametrize("name", PROCESSES)
def test_a_process_is_told_in_six_parts_in_their_order(name):
    parts = parts_of(name)
    assert tuple(parts) == PARTS
    assert [part for part, text in parts.items() if len(text.split()) < 8] == []
    assert parts["Question"].rstrip().endswith("?")
    assert "`" in parts["Equations"], "no figure is named"


@pytest.mark.parametrize("name", PROCESSES)
def test_a_process_shows_a_picture_or_says_why_not(name):
    text = parts_of(name)["Against published values"]
    shown = PICTURE.findall(text)
    assert bool(shown) != text.lstrip().startswith("No plot: ")
    for target in shown:
        assert (SCIENCE / target).is_file(), target


@pytest.mark.parametrize("name", PROCESSES)
def test_every_process_has_its_figures_from_the_library(name):
    library = open_library()[0]
    for told in figures_told(name):
        assert told in library.figures or f"physiology.{told}" in library.figures, told
    assert figures_told(name)


@pytest.mark.parametrize("name", PROCESSES)
def test_what_the_equations_name_is_a_figure_told_here_or_on_a_page_of_its_kin(name):
    """`..._mm` and the like stand for two figures, of cows and of heifers."""
    told = {figure for one in PROCESSES for figure in figures_told(one)}
    for named in re.findall(r"`([^`\s]+)`", parts_of(name)["Equations"]):
        if named.endswith(".py"):
            continue
        if "..." in named:
            stem, _, end = named.partition("...")
            assert any(f.startswith(stem) and f.endswith(end) for f in told), named
        else:
            assert named in told


@pytest.mark.parametrize("name", PROCESSES)
def test_tests_and_modules_named_on_a_page_exist(name):
    text = page(name)
    for path in re.findall(r"`((?:tests|builders)/[\w/]+\.py)`", text):
        assert (ROOT / path).is_file(), path
    known = {path.name for path in (ROOT / "tests").rglob("test_*.py")}
    assert set(re.findall(r"\btest_\w+\.py", text)) <= known
    for path in re.findall(r"`((?:base|physiology|forecast|planning)/\w+\.py)`", text):
        assert (ROOT / "src" / "sunup" / path).is_file(), path


def test_whether_a_miss_is_met_follows_from_the_number_beside_it():
    """Read back from the page: the number printed against the limits of the file."""
    held = tomllib.loads((ROOT / "authorities/feasibility/misses.toml").read_text("utf-8"))
    lines = [line for miss in held["miss"] for line in miss["line"]]
    told = page("trust").partition("## The seven misses")[2]
    rows = re.findall(r"^\| [^|]*\| ([^|]+) \| [^|]+ \| ([\d.]+)[^|]*\|[^|]*\| ([^|]+) \|$", told,
                      re.MULTILINE)  # fmt: skip
    by_what = {what: (float(now), met) for what, now, met in rows}
    assert set(by_what) == {line["what"] for line in lines}
    met = 0
    for line in lines:
        now, said = by_what[line["what"]]
        if "met_words" in line:
            assert said == line["met_words"]
            assert "met_from" not in line
            continue
        is_met = line["met_from"] <= now <= line["met_to"]
        assert said == ("yes" if is_met else "**no**"), line["what"]
        met += is_met
    judged = sum("met_from" in line for line in lines)
    assert f"Of {judged} expectations with a number {met} are met." in told


def test_a_range_in_the_notes_is_taken_as_it_stands():
    held = tomllib.loads((ROOT / "authorities/feasibility/misses.toml").read_text("utf-8"))
    for miss in held["miss"]:
        for one in miss["line"]:
            ends = re.fullmatch(r"([\d.]+)-([\d.]+)(?: \(.*\))?", one["expect"])
            if ends:
                assert [one["met_from"], one["met_to"]] == [float(ends[1]), float(ends[2])]
