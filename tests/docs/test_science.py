"""The pages of docs/science: what is published is transcribed once, and numbers are not stale."""

import importlib
import re
import sys
import tomllib
from pathlib import Path

import pytest
from statsmodels.stats.proportion import proportion_confint

ROOT = Path(__file__).parents[2]
AUTHORITIES = ROOT / "authorities"
pytestmark = pytest.mark.docs


def _builder(name):
    folder = str(ROOT / "builders")
    if folder not in sys.path:
        sys.path.insert(0, folder)
    return importlib.import_module(name)


science = _builder("science")
science_published = _builder("science_published")
science_panels = _builder("science_panels")
docs_science = _builder("docs_science")
docs_trust = _builder("docs_trust")


@pytest.fixture(scope="module")
def published():
    return science_published.read_published()


@pytest.fixture(scope="module")
def measured():
    return science_published.read_measured()


def _toml(path):
    return tomllib.loads(path.read_text(encoding="utf-8"))


def test_the_numbers_were_measured_with_the_figures_in_use(measured):
    now = science.version_of(science.present_params())
    assert measured["params"] == now, "the figures have changed since: run make science"


def test_trials_were_foretold_with_the_sets_of_figures_in_use(measured):
    from sunup.app.open import open_library
    from sunup.forecast.figures import params_from_library

    now = params_from_library(open_library()[0]).version
    assert measured["trust"]["params_version"] == now, "run make science"


def test_the_pictures_are_what_the_numbers_draw(measured):
    for name, svg in science.pictures(measured).items():
        held = (ROOT / "docs" / "pictures" / name).read_text(encoding="utf-8")
        assert held == svg, f"{name}: run make science"


def test_every_published_figure_is_drawn_or_tabled(published, measured):
    drawn = {
        key
        for _, panels in science_panels.PAGES.values()
        for panel in panels
        for key, _ in panel.series
    }
    assert drawn <= set(measured["series"])
    lost = {one.series for one in published} - drawn
    assert {name for name in lost if not name.startswith("misses.")} == set()
    assert lost <= set(measured["series"])


def test_no_published_figure_is_without_source_and_mark(published):
    for one in published:
        assert one.source, one
        assert one.seen in {"read", "part_read", "memory"}, one
        assert one.value is not None or (one.low is not None and one.high is not None), one


@pytest.mark.parametrize(("count", "n"), [(62, 91), (14, 17), (16, 18), (0, 12), (12, 12)])
def test_the_interval_of_a_published_count_is_wilsons(count, n):
    # Wilson 1927, by another writing of it (statsmodels); 1.96 for 1.95996: within 0.01 points
    low, high = proportion_confint(count, n, method="wilson")
    found = science_published.wilson(count, n)
    assert found == pytest.approx((100 * low, 100 * high), abs=0.01)


def test_what_stands_in_two_files_is_the_same(published):
    """The hour of insemination and the heifers of South Dakota are in the trials' file as well."""
    trials = _toml(AUTHORITIES / "trials" / "trials.toml")
    timing = trials["insemination_timing"]
    held = [one for one in published if one.series == "fertility.timing"]
    assert [[one.first, one.last] for one in held] == timing["hours_after_onset"]
    assert [one.value for one in held] == timing["pregnancy_pct"]
    assert [one.n for one in held] == timing["n"]
    arms = {arm["id"]: arm for arm in trials["arm"]}
    for series, at, arm in (
        ("heat.presync_heifer", 54, "PRESYNCHSD/1"),
        ("heat.presync_heifer", 72, "PRESYNCHSD/2"),
        ("heat.seven_seven_heifer", 54, "PRESYNCHSD/3"),
        ("heat.seven_seven_heifer", 72, "PRESYNCHSD/4"),
    ):
        (one,) = [p for p in published if p.series == series and p.first == at]
        assert one.n == arms[arm]["n"]
        assert one.value == pytest.approx(arms[arm]["estrus"]["pct"], abs=0.06)


def test_every_figure_of_the_animal_stands_on_one_page_of_its_process():
    from sunup.app.open import open_library

    library = open_library()[0]
    names = [key.partition(".")[2] for key in library.figures if key.startswith("physiology.")]
    text = {
        page: (ROOT / "docs" / "science" / f"{page}.md").read_text(encoding="utf-8")
        for page in science_panels.PAGES
    }
    for name in names:
        own = [page for page, body in text.items() if f"\n| `{name}` |" in body]
        assert own == [docs_science.page_of(name)], name


def test_a_figure_that_no_page_tells_is_refused():
    with pytest.raises(SystemExit, match=r"put physiology\.moonlight_h on a page"):
        docs_science.page_of("moonlight_h")


def test_a_page_without_its_marks_is_refused(tmp_path):
    page = tmp_path / "a.md"
    page.write_text("# A\n\n<!-- figures: written by builders/docs.py -->\n", encoding="utf-8")
    with pytest.raises(SystemExit, match="expected once"):
        docs_science.filled(page, {"figures": "new"})


def test_what_stands_around_the_marks_is_kept(tmp_path):
    page = tmp_path / "a.md"
    mark = "<!-- figures: written by builders/docs.py -->"
    page.write_text(f"by hand\n{mark}\nold\n<!-- end -->\nby hand too\n", encoding="utf-8")
    found = docs_science.filled(page, {"figures": r"a \1 new"})
    assert found == f"by hand\n{mark}\na \\1 new\n<!-- end -->\nby hand too\n"


def test_reasons_of_misses_name_arms_and_trials_that_exist():
    arms = _toml(AUTHORITIES / "trials" / "trials.toml")["arm"]
    known = {"arm": {arm["id"] for arm in arms}, "trial": {arm["trial"] for arm in arms}}
    for reason in _toml(docs_trust.SAID)["reason"]:
        (key,) = set(reason) - {"text"}
        assert reason[key] in known[key]


def test_the_seven_misses_are_all_told_before_and_after(measured):
    held = _toml(docs_trust.MISSES)
    assert [miss["number"] for miss in held["miss"]] == [1, 2, 3, 4, 5, 7]
    assert held["modelled"]  # the sixth: what was not held
    for miss in held["miss"]:
        for line in miss["line"]:
            assert {"before", "before_range", "before_words"} & set(line), line["what"]
            assert line["after"] in measured["series"], line["what"]


def test_what_the_first_page_says_of_trust_agrees_with_the_score_command(measured):
    """The misfit on the page is the root mean square of the rows, worked out here by hand."""
    rows = [row for row in measured["trust"]["rows"] if row["what"] == "pregnancy"]
    square = sum((row["predicted"] - row["published"]) ** 2 for row in rows) / len(rows)
    text = (ROOT / "docs" / "science" / "README.md").read_text(encoding="utf-8")
    told = re.search(r"misfit of (\d+\.\d) points of pregnancy", text)
    assert float(told[1]) == pytest.approx(square**0.5, abs=0.05)
