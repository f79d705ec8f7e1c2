"""The manual covers what the program holds, and the generated pages are fresh."""

import ast
import importlib
import re
import sys
from pathlib import Path

import pytest
import typer.main

from sunup.app.open import open_library
from sunup.cli.main import app
from sunup.records.female import FemaleClass

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
SRC = ROOT / "src" / "sunup"
pytestmark = pytest.mark.docs


@pytest.fixture(scope="module")
def library():
    return open_library()[0]


def _builder(name):
    folder = str(ROOT / "builders")
    if folder not in sys.path:
        sys.path.insert(0, folder)
    return importlib.import_module(name)


def _page(name):
    return (DOCS / name).read_text(encoding="utf-8")


def test_generated_pages_are_what_the_builder_writes_now():
    docs = _builder("docs")
    assert docs.find_stale(DOCS, docs.render_all()) == []


def test_a_page_that_was_changed_by_hand_is_found_stale(tmp_path):
    docs = _builder("docs")
    pages = {"a.md": "as written\n", "b.md": "as written\n", "c.md": "as written\n"}
    (tmp_path / "a.md").write_text("as written\n", encoding="utf-8")
    (tmp_path / "b.md").write_text("changed by hand\n", encoding="utf-8")
    assert docs.find_stale(tmp_path, pages) == ["b.md", "c.md"]


def _walk(command, path):
    for name, one in command.commands.items():
        if hasattr(one, "commands"):
            yield from _walk(one, f"{path} {name}")
        else:
            yield f"{path} {name}", one


def test_every_command_and_option_has_an_entry():
    page = _page("reference/cli.md")
    missing = []
    for path, command in _walk(typer.main.get_command(app), "sunup"):
        section = page.partition(f"## `{path}`\n")[2].partition("\n## ")[0]
        names = [opt for p in command.params for opt in p.opts if opt.startswith("--")]
        missing += [path] * (not section)
        missing += [f"{path} {n}" for n in names if not re.search(rf"`{n}[ `]", section)]
    assert missing == []


def test_every_command_has_a_worked_example_in_the_manual():
    page = _page("reference/cli.md")
    for path, _ in _walk(typer.main.get_command(app), "sunup"):
        section = page.partition(f"## `{path}`\n")[2].partition("\n## ")[0]
        assert f"Example:\n```\n{path}" in section, path


def test_every_exit_code_of_the_program_is_told():
    codes = set(re.findall(r"SystemExit\((\d+)\)", (ROOT / "src/sunup/cli/main.py").read_text()))
    page = _page("reference/cli.md")
    assert codes >= {"2", "130"}
    assert [c for c in codes | {"0", "1"} if f"| {c} |" not in page] == []


@pytest.mark.parametrize(
    ("page", "held"),
    [
        ("reference/figures.md", "figures"),
        ("reference/protocols.md", "protocols"),
        ("reference/sources.md", "sources"),
        ("reference/actives.md", "actives"),
        ("reference/regions.md", "regions"),
    ],
)
def test_every_key_of_the_library_has_an_entry(library, page, held):
    text = _page(page)
    keys = list(getattr(library, held))
    assert keys
    assert [key for key in keys if f"`{key}`" not in text] == []


def test_a_figure_stands_with_its_value_unit_kind_and_mark(library):
    """Read back from the page: what a reader sees is what the program uses."""
    rows = {
        cells[1].strip("` "): [cell.strip() for cell in cells[2:7]]
        for line in _page("reference/figures.md").splitlines()
        if (cells := re.split(r"(?<!\\)\|", line)) and line.startswith("| `")
    }
    figure = library.figure("readiness.days_since_calving_at_ai")
    expected = [f"{figure.value}", figure.unit, figure.kind.value, figure.seen.value, "memory"]
    assert rows[figure.key] == expected
    assert rows["readiness.uterus_recovery_days"][0] == "20 to 40"
    assert rows["prices.insert"][0] == "13 to 16 *example*"
    assert len(rows) == len(library.figures)


def _terms():
    return {
        term.strip().lower()
        for line in _page("reference/glossary.md").splitlines()
        if line.startswith("| ") and not line.startswith("| word")
        for term in line.split("|")[1].split(",")
    }


def test_the_glossary_is_in_order_and_every_word_has_a_meaning():
    rows = [
        [cell.strip() for cell in line.strip("|").split("|")]
        for line in _page("reference/glossary.md").splitlines()
        if line.startswith("| ") and not line.startswith("| word")
    ]
    assert len(rows) > 60
    assert [row[0] for row in rows if len(row) != 3 or len(row[1]) < 6] == []
    words = [row[0].lower() for row in rows]
    assert words == sorted(words)


def test_the_words_the_program_prints_are_in_the_glossary():
    """States, classes, standings, styles and drug words a user meets must be explained."""
    from sunup.base.figures import Kind, Seen

    text = _page("reference/glossary.md").lower()
    words = [
        *("ready", "expect less", "ready on", "hold", "clash", "run-up", "window", "overlay"),
        *("gnrh", "pgf", "insert", "melengestrol", "ecg", "estradiol ester", "timed ai"),
        *("split-time ai", "clean-up bull", "example price", "resynchronisation"),
        *(c.words for c in FemaleClass),
        *(k.value for k in Kind),
        *(s.value.replace("_", " ") for s in Seen),
    ]
    assert [word for word in words if word not in text] == []
    for term in ("hold", "window", "exposure", "visit", "zero", "overlay", "packet"):
        assert term in _terms()


def _words(name):
    text = (Path(__file__).parent / name).read_text(encoding="utf-8")
    return [line for line in text.splitlines() if line and not line.startswith("#")]


def test_every_word_of_the_list_of_words_printed_has_an_entry():
    words = _words("words_printed.txt")
    assert len(words) > 60
    assert [word for word in words if word.lower() not in _terms()] == []


def test_the_list_of_words_printed_holds_words_that_are_printed():
    """A word is printed where a text of the program or the help of a command has it."""
    told = set()
    for path in sorted(SRC.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        docs = {
            node.body[0].value
            for node in ast.walk(tree)
            if isinstance(node, ast.Module | ast.FunctionDef | ast.ClassDef)
            and path.parent.name != "cli"  # what stands there is the help of a command
            and node.body
            and isinstance(node.body[0], ast.Expr)
        }
        told |= {
            node.value.lower()
            for node in ast.walk(tree)
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and node not in docs
        }
    text = "\n".join(told)
    words = _words("words_printed.txt")
    assert [w for w in words if not re.search(rf"\b{w.lower()}", text)] == []


def test_every_command_has_an_entry():
    commands = typer.main.get_command(app).commands
    assert [c for c in commands if not {c, c.removesuffix("s")} & _terms()] == []


def test_every_rule_of_the_readiness_page_names_its_figures(library):
    text = _page("science/readiness.md")
    keys = [key for key in library.figures if key.startswith("readiness.")]
    assert len(keys) > 20
    assert [key for key in keys if f"`{key}`" not in text] == []
