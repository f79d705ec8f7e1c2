"""The written pages: commands in them run, their output is real, links resolve, words are kept."""

import re
import shlex
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from sunup.app.open import shipped_texts
from sunup.library import build_library

ROOT = Path(__file__).parents[2]
PAGES = sorted(
    [
        *(ROOT / "docs").rglob("*.md"),
        *(ROOT / name for name in ("README.md", "CHANGELOG.md", "CONTRIBUTING.md")),
        ROOT / "demo" / "README.md",
    ]
)
RUN = [
    "README.md",
    "docs/start/first_season.md",
    "docs/start/season.md",
    *(f"docs/how-to/{path.name}" for path in sorted((ROOT / "docs/how-to").glob("*.md"))),
]
# Files a reader has and we have not: the demo herd stands for the reader's own.
STAND_INS = {"herd.csv": "demo/herd.csv"}
FINE = {0, 1}  # 1: the demo list has faults, and they are named
pytestmark = pytest.mark.docs


def _blocks(text):
    return re.findall(r"^[ ]*```(\w*)\n(.*?)^[ ]*```$", text, flags=re.MULTILINE | re.DOTALL)


def _commands(text):
    """Every line in a block that begins with sunup, with what a block shows below it."""
    found = []
    for _, body in _blocks(text):
        lines = [line.removeprefix("   ") for line in body.splitlines()]
        for place, line in enumerate(lines):
            match = re.match(r"(\$ )?(?:\.venv/bin/)?sunup (.*)", line.strip())
            if not match:
                continue
            shown = []
            if match[1]:
                for after in lines[place + 1 :]:
                    if after.startswith("$ "):
                        break
                    shown.append(after)
            found.append((match[2], shown))
    return found


def _run(command, folder):
    words = [STAND_INS.get(word, word) for word in shlex.split(command)]
    return subprocess.run(
        [sys.executable, "-m", "sunup", *words],
        cwd=folder,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )


def _flat(text):
    return " ".join(text.split())


@pytest.fixture
def reader(tmp_path):
    """Where a reader stands: the demo herd, and files the how-tos show."""
    (tmp_path / "demo").mkdir()
    shutil.copy(ROOT / "demo" / "herd.csv", tmp_path / "demo" / "herd.csv")
    (tmp_path / "ranch.toml").write_text(_overlay(), encoding="utf-8")
    (tmp_path / "phone.jsonl").write_text(_block("ledger.md", "jsonl"), encoding="utf-8")
    return tmp_path


def _block(name, wanted):
    page = (ROOT / "docs/how-to" / name).read_text(encoding="utf-8")
    (body,) = [body for kind, body in _blocks(page) if kind == wanted]
    return body


def _overlay():
    body = _block("own_figures.md", "toml")
    return "\n".join(line.strip() for line in body.splitlines())


@pytest.mark.parametrize("name", RUN)
def test_the_commands_of_a_page_run_and_print_what_it_shows(name, reader):
    commands = _commands((ROOT / name).read_text(encoding="utf-8"))
    assert commands, f"{name} shows no command"
    for command, shown in commands:
        done = _run(command, reader)
        assert done.returncode in FINE, f"{name}: sunup {command}\n{done.stderr}"
        assert "Traceback" not in done.stderr
        printed = _flat(done.stdout + " " + done.stderr)
        absent = [
            line for line in shown if line.strip() not in {"", "..."} and _flat(line) not in printed
        ]
        assert absent == [], f"{name} shows lines that 'sunup {command}' does not print"


def test_what_the_tutorial_tells_is_what_the_program_prints(reader):
    """The counts and animals of the text, not only its commands."""
    text = (ROOT / "docs/start/first_season.md").read_text(encoding="utf-8")
    first, second = [command for command, _ in _commands(text) if command.startswith("plan")]
    done = _run(first, reader)
    printed = _flat(done.stdout)
    assert "COWS: 174 of 189 ready" in text
    assert "COWS: 174 of 189 ready" in printed
    assert "181 ready 7 days on" in printed
    assert "8 ready on a later day" in printed
    for tag, words in (
        ("2056", "39 days at insemination, 45 wanted"),
        ("1016", "not found open"),
        ("1039", "too early to be sure"),
        ("3007", "no calving date on file"),
        ("9022", "lame"),
        ("4017", "for sale"),
        ("6027", "infantile tract"),
        ("6015", "under 50 %"),
        ("6022", "found pregnant"),
    ):
        assert tag in text
        told = _run(f"explain {tag} --plan packet/plan.json", reader).stdout
        assert words in told, tag
    changed = _run(second, reader)
    assert "changed: heifers" in changed.stdout
    assert "Tue 16 Mar" in changed.stdout


def test_planning_again_says_the_move_the_page_shows(reader):
    text = (ROOT / "docs/how-to/plan_again.md").read_text(encoding="utf-8")
    first, again = [command for command, _ in _commands(text)][:2]
    _run(first, reader)
    done = _run(again, reader)
    (line,) = re.findall(r"^changed: .*$", text, flags=re.MULTILINE)
    assert _flat(line).rstrip(".") in _flat(done.stdout)


def test_the_overlay_of_the_page_is_taken_and_holds_more_cows_back(reader):
    library, problems = build_library(shipped_texts(), _overlay())
    assert problems == []
    assert set(tomllib.loads(_overlay())) == {k for k, f in library.figures.items() if f.yours}
    ours = _run("plan demo/herd.csv --first-ai 2027-05-25 --zone America/Denver", reader)
    yours = _run(
        "plan demo/herd.csv --first-ai 2027-05-25 --zone America/Denver --overlay ranch.toml",
        reader,
    )
    ready = [int(re.search(r"COWS: (\d+) of", run.stdout)[1]) for run in (ours, yours)]
    assert ready[1] < ready[0]


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_links_between_pages_resolve(page):
    text = re.sub(r"```.*?```", "", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    targets = re.findall(r"\]\(([^)\s]+)\)", text)
    gone = [t for t in targets if not (page.parent / t.partition("#")[0]).exists()]
    assert gone == []


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_pages_hold_no_web_address_or_place_of_our_own(page):
    text = page.read_text(encoding="utf-8").lower()
    words = (
        "http",
        "www.",
        "pypi",
        "npmjs",
        "/wo" + "rk/",
        "/home/",
        "tran" + "script",
        "sub" + "agent",
    )
    assert [word for word in words if word in text] == []
    assert re.findall(r"\w@\w", text) == []


def test_every_written_page_can_be_reached_from_the_readme():
    reached, todo = set(), [ROOT / "README.md"]
    while todo:
        page = todo.pop()
        if page in reached or page.suffix != ".md":
            continue
        reached.add(page)
        for target in re.findall(r"\]\(([^)\s]+)\)", page.read_text(encoding="utf-8")):
            path = (page.parent / target.partition("#")[0]).resolve()
            if path.exists():
                todo.append(path)
    lost = [p.relative_to(ROOT).as_posix() for p in PAGES if p not in reached]
    assert lost == ["demo/README.md"]


def test_modules_named_in_the_architecture_exist():
    text = (ROOT / "docs/architecture.md").read_text(encoding="utf-8")
    tree = text.partition("## One walk")[2].partition("## Problems")[0]
    names = re.findall(r"(?:(\w+)/)?(\w+)\.py", tree)
    modules = {path.name for path in (ROOT / "src/sunup").rglob("*.py")}
    assert len(names) > 15
    for folder, name in names:
        if folder:
            assert (ROOT / "src/sunup" / folder / f"{name}.py").exists(), f"{folder}/{name}.py"
        assert f"{name}.py" in modules, name


def test_every_make_target_named_in_the_pages_exists():
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    targets = set(re.findall(r"^(\w+):", makefile, flags=re.MULTILINE))
    for name in ("README.md", "CONTRIBUTING.md"):
        text = (ROOT / name).read_text(encoding="utf-8")
        named = {
            w for m in re.findall(r"(?:`|^)make ([a-z ]+)", text, re.MULTILINE) for w in m.split()
        }
        assert named
        assert named <= targets, name


def test_each_changelog_line_ends_in_its_issue():
    text = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    entries = re.split(r"^- ", text, flags=re.MULTILINE)[1:]
    bodies = [_flat(e.partition("\n#")[0].partition("\n\n")[0]) for e in entries]
    assert bodies
    assert [body for body in bodies if not re.search(r"\(#\d+\)$", body)] == []


def test_every_ruled_file_for_the_loader_is_told_of():
    """The page of library files speaks of each subject that has a broken file."""
    page = (ROOT / "docs/reference/library_files.md").read_text(encoding="utf-8")
    broken = {path.stem for path in (ROOT / "tests/data/bad").glob("*.toml")}
    for stem, words in {
        "luteolytic_after_five_days_of_bulls": "5 days or more",
        "luteolytic_without_a_pregnancy_check": "later than every breeding before it",
        "alias_twice": "an alias belongs to one breed",
        "default_barred": "a default may not be barred",
        "overlay_protocol_shipped": "may not take a shipped key",
        "order_missing": "required for recommended",
        "insert_in_without_insert_out": "needs `insert_out`",
    }.items():
        assert stem in broken
        assert words in page, stem
