"""Did a layer leak: imports, modules that stand alone, what the shipped text may not name."""

from __future__ import annotations

import ast
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SRC = ROOT / "src"
MODULES = sorted((SRC / "sunup").rglob("*.py"))
NAMES = [
    ".".join(path.relative_to(SRC).with_suffix("").parts).removesuffix(".__init__")
    for path in MODULES
    if path.name != "__main__.py"
]
# found on no Windows; design section 7: POSIX-only calls behind one module
POSIX_MODULES = {"fcntl", "pwd", "grp", "resource", "termios", "tty", "pty", "syslog", "posix"}
POSIX_CALLS = {"fork", "getuid", "geteuid", "chown", "mkfifo", "setsid", "killpg", "O_DSYNC"}
LONGEST = 600  # lines


def name(path):
    return str(path.relative_to(SRC))


@cache
def tree(path):
    return ast.parse(path.read_text("utf-8"), name(path))


def imports(path):
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module


def test_imports_only_point_down():
    """The contracts of pyproject.toml, kept by import-linter."""
    script = "from importlinter.cli import lint_imports; raise SystemExit(lint_imports())"
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr


def test_every_module_imports_alone():
    """Each in a process of its own, forked from one that has loaded nothing of ours."""
    script = """
import importlib, multiprocessing, sys, traceback

def alone(name):
    try:
        importlib.import_module(name)
    except BaseException:
        return f"{name}: {traceback.format_exc(limit=-1)}"

if __name__ == "__main__":
    method = "fork" if "fork" in multiprocessing.get_all_start_methods() else "spawn"
    with multiprocessing.get_context(method).Pool(2, maxtasksperchild=1) as pool:
        failed = [f for f in pool.imap_unordered(alone, sys.argv[1:], chunksize=1) if f]
    print("\\n".join(failed))
    raise SystemExit(bool(failed))
"""
    done = subprocess.run(
        [sys.executable, "-W", "error::DeprecationWarning:sunup", "-c", script, *NAMES],
        capture_output=True,
        text=True,
        check=False,
        timeout=240,
    )
    assert done.returncode == 0, done.stdout + done.stderr[-2000:]


@pytest.mark.parametrize("path", MODULES, ids=name)
def test_a_module_is_short_enough_to_read(path):
    assert len(path.read_text("utf-8").splitlines()) <= LONGEST


def test_what_only_posix_has_stands_in_one_module_at_most():
    found = {}
    for path in MODULES:
        used = {i.partition(".")[0] for i in imports(path)} & POSIX_MODULES
        used |= {
            f"os.{node.attr}"
            for node in ast.walk(tree(path))
            if isinstance(node, ast.Attribute)
            and isinstance(node.value, ast.Name)
            and node.value.id == "os"
            and node.attr in POSIX_CALLS
        }
        if used:
            found[name(path)] = used
    assert len(found) <= 1, found


def test_only_the_face_prints():
    printing = [
        f"{name(path)}:{node.lineno}"
        for path in MODULES
        if path.relative_to(SRC).parts[1] != "cli"
        for node in ast.walk(tree(path))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in {"print", "input", "breakpoint"}
    ]
    assert not printing


def test_nothing_below_app_reads_clock_environment_or_network():
    """The linter bans some names; this looks at every import below ``app``."""
    banned = {"socket", "urllib", "http", "ssl", "requests", "httpx", "subprocess", "tempfile"}
    found = [
        f"{name(path)}: {module}"
        for path in MODULES
        if path.relative_to(SRC).parts[1] not in {"cli", "app"}
        for module in imports(path)
        if module.partition(".")[0] in banned
    ]
    assert not found


def shipped_files():
    listed = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if listed.returncode:
        pytest.skip("not a git checkout: what is shipped cannot be listed")
    for line in listed.stdout.split("\0"):
        path = ROOT / line
        if line and path.is_file() and path.suffix not in {".ttf", ".png", ".xlsx", ".pdf"}:
            yield path


def test_no_file_names_a_registry_or_a_place_outside_the_project():
    """Written in two halves here, so that this file may be searched too."""
    banned = [
        "pypi" + ".org",
        "files.python" + "hosted",
        "npmjs" + ".com",
        "crates" + ".io",
        "/wo" + "rk/",
        "farm" + "-",
        "sub" + "agent",
        "tran" + "script",
    ]
    found = []
    for path in shipped_files():
        text = path.read_text("utf-8", errors="replace").lower()
        found += [f"{path.relative_to(ROOT)}: {word}" for word in banned if word in text]
    assert not found


def test_no_test_file_shares_its_name_with_another():
    """Test folders are not packages: two files of one name would hide one another."""
    names = [path.name for path in (ROOT / "tests").rglob("test_*.py")]
    assert len(names) == len(set(names))


def test_every_test_folder_has_its_marker():
    import tomllib

    options = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["pytest"]
    markers = {m.partition(":")[0] for m in options["ini_options"]["markers"]}
    folders = {
        path.relative_to(ROOT / "tests").parts[0] for path in (ROOT / "tests").rglob("test_*.py")
    }
    assert folders <= markers
