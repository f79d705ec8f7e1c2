"""No figure, text or percentage is marked better seen than the best of its sources."""

import tomllib
from pathlib import Path

import pytest

import sunup
from sunup.base.figures import Seen

DATA = Path(sunup.__file__).parent / "library" / "data"
# from the weakest mark to the strongest, as docs/reference/figures.md explains them
ORDER = (Seen.MEMORY, Seen.SECOND_HAND, Seen.OLDER_EDITION, Seen.PART_READ, Seen.READ)


def marked(value, where):
    """Every table that has both a mark and sources, with the place it stands."""
    if isinstance(value, dict):
        if "seen" in value and "source" in value:
            yield where, value
        for key, one in value.items():
            yield from marked(one, f"{where}.{key}")
    elif isinstance(value, list):
        for index, one in enumerate(value):
            yield from marked(one, f"{where}[{index}]")


def overmarked(text, sources, name):
    """Tables of a file marked stronger than the best of their sources."""
    return [
        where
        for where, table in marked(tomllib.loads(text), name)
        if ORDER.index(Seen(table["seen"]))
        > max(ORDER.index(Seen(sources[key]["seen"])) for key in table["source"])
    ]


@pytest.fixture(scope="module")
def sources():
    return tomllib.loads((DATA / "sources.toml").read_text(encoding="utf-8"))


def test_no_mark_in_the_library_is_stronger_than_its_best_source(sources):
    files = [path for path in sorted(DATA.rglob("*.toml")) if path.name != "sources.toml"]
    found = [
        where
        for path in files
        for where in overmarked(
            path.read_text(encoding="utf-8"), sources, path.relative_to(DATA).as_posix()
        )
    ]
    assert found == []


def test_an_assumption_of_ours_called_read_is_found(sources):
    text = '[a]\nseen = "read"\nsource = ["house"]\n[b]\nseen = "memory"\nsource = ["house"]\n'
    assert overmarked(text, sources, "x.toml") == ["x.toml.a"]


def test_condition_at_calving_is_told_and_marked_in_protocols_as_readiness_holds_it():
    ready = tomllib.loads((DATA / "readiness.toml").read_text(encoding="utf-8"))
    full, first_calf = ready["condition_full"], ready["condition_first_calf_full"]
    said = (
        f"Cows: body condition {full['value']} or better at calving, {first_calf['value']} for "
        "two-year-olds."
    )
    told = [
        (table["seen"], table["source"])
        for path in sorted((DATA / "protocols").glob("*.toml"))
        for _, table in marked(tomllib.loads(path.read_text(encoding="utf-8")), path.name)
        if table.get("text") == said
    ]
    assert len(told) > 20
    assert {(seen, tuple(source)) for seen, source in told} == {
        (full["seen"], tuple(full["source"])),
        (first_calf["seen"], tuple(first_calf["source"])),
    }
