"""One broken file a rule, each with the place and the words its message must have.

The first lines of a file in ``bad/`` say which file of the sound library it stands in for (``as``),
the dotted key that must be named and the words that must be said.
"""

from dataclasses import replace
from pathlib import Path

import pytest

from sunup.base.problems import Severity
from sunup.library import build_library

HERE = Path(__file__).parent
BAD = sorted((HERE / "bad").glob("*.toml"))


def read_sound():
    root = HERE / "sound"
    return {
        path.relative_to(root).as_posix(): path.read_text(encoding="utf-8")
        for path in root.rglob("*.toml")
    }


def read_header(text):
    lines = text.splitlines()[:3]
    return {
        name: line.removeprefix(f"# {name}: ").removeprefix(f"# {name}:").strip()
        for name, line in zip(("as", "key", "message"), lines, strict=True)
    }


def build_with(path):
    text = path.read_text(encoding="utf-8")
    header = read_header(text)
    files = read_sound()
    if header["as"] == "overlay":
        library, problems = build_library(files, overlay=text)
    else:
        library, problems = build_library(files | {header["as"]: text})
    return header, library, problems


def test_there_is_a_broken_file_for_every_rule():
    assert len(BAD) >= 30


def test_the_sound_library_has_no_problem():
    library, problems = build_library(read_sound())
    assert [str(problem) for problem in problems] == []
    assert set(library.protocols) == {"plain"}
    assert set(library.regions) == {"US"}
    assert set(library.breeds) == {"angus"}


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
def test_a_broken_file_is_reported_with_place_and_words(path):
    header, _, problems = build_with(path)
    where = f"{header['as']}: {header['key']}" if header["key"] else header["as"]
    if header["key"] == "line":  # which line it is differs between versions of Python
        problems = [
            replace(one, where=one.where.partition(" line ")[0] + " line") for one in problems
        ]
    words = header["message"].split("; ")
    said = [
        problem
        for problem in problems
        if problem.where == where and all(word in str(problem) for word in words)
    ]
    assert said, "\n".join(str(problem) for problem in problems) or "nothing was reported"
    assert said[0].severity is Severity.ERROR


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
def test_one_fault_is_blamed_on_one_file(path):
    header, _, problems = build_with(path)
    assert {problem.where.split(": ")[0] for problem in problems} == {header["as"]}


@pytest.mark.parametrize(
    "path", [path for path in BAD if "as: protocols/plain.toml" in path.read_text()]
)
def test_a_protocol_at_fault_is_left_out_and_the_rest_loads(path):
    _, library, _ = build_with(path)
    assert not library.protocols
    assert set(library.regions) == {"US"}
    assert set(library.actives) == {"dinoprost", "gonadorelin"}
