"""The loader on texts: what is kept, what is said, and that no text makes it raise."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sunup.base.figures import Kind
from sunup.library import build_library
from sunup.library.build import library_version

SOUND = Path(__file__).parents[1] / "data" / "sound"
TEXTS = {
    path.relative_to(SOUND).as_posix(): path.read_text(encoding="utf-8")
    for path in sorted(SOUND.rglob("*.toml"))
}
PLAIN = TEXTS["protocols/plain.toml"]
SPREAD = """
[carried]
value = 283
sd = 4.8
unit = "d"
kind = "assumed"
seen = "memory"
source = ["author_2001"]
"""


def own_protocol(key="mine"):
    text = PLAIN.replace('"author_2001"', '"ranch"').replace("[[", f"[[protocol.{key}.")
    return f"[protocol.{key}]\n{text}"


def test_a_figure_keeps_unit_kind_and_source():
    library, _ = build_library(TEXTS)
    rate = library.figure("practice.work_rate_ai")
    assert (rate.number, rate.unit, rate.kind) == (25.0, "head/h", Kind.ASSUMED)
    assert [str(library.sources[key]) for key in rate.source] == [
        "Author and others 2001. A title, A journal 1:1"
    ]


def test_a_range_becomes_a_span():
    library, _ = build_library(TEXTS)
    assert library.figure("practice.working_hours").span == (6.0, 20.0)


def test_a_protocol_keeps_its_steps_and_windows():
    library, _ = build_library(TEXTS)
    step = library.protocols["plain"].step("ai")
    assert (step.after, step.hours, step.early_h, step.late_h) == ("pgf", 63.0, 3.0, 3.0)
    assert library.protocols["plain"].step("in").with_ == "gnrh_1"


def test_a_withdrawal_that_was_not_found_stays_none():
    library, _ = build_library(TEXTS)
    held = library.regions["US"].withdrawal[0]
    assert (held.meat_hours, held.milk_hours) == (None, None)


@pytest.mark.parametrize("name", sorted(name for name in TEXTS if "/" not in name))
def test_a_missing_file_is_named(name):
    files = {other: text for other, text in TEXTS.items() if other != name}
    _, problems = build_library(files)
    assert f"{name}: the file is missing. Put it back." in [str(problem) for problem in problems]


def test_a_folder_without_files_is_named():
    files = {name: text for name, text in TEXTS.items() if "protocols/" not in name}
    _, problems = build_library(files)
    assert [problem.where for problem in problems] == ["protocols/"]


def test_no_files_at_all_give_an_empty_library():
    library, problems = build_library({})
    assert len(problems) == 19
    assert not library.figures
    assert not library.protocols


@pytest.mark.parametrize("name", ["sources.toml", "actives.toml", "gestation.toml"])
def test_one_unreadable_file_does_not_make_others_look_broken(name):
    _, problems = build_library(TEXTS | {name: "broken ="})
    assert {problem.where.split(": ")[0] for problem in problems} == {name}


def test_no_protocol_is_taken_without_the_figures_its_rules_need():
    text = TEXTS["practice.toml"].replace("[long_progestin_days]", "[other]")
    library, problems = build_library(TEXTS | {"practice.toml": text})
    assert not library.protocols
    assert [problem.where for problem in problems] == ["practice.toml: long_progestin_days"]


@pytest.mark.parametrize("value", ["true", '"12"', "[1, 12]", "0", "-3"])
def test_a_limit_of_the_rules_that_is_no_number_of_days_is_told(value):
    text = TEXTS["practice.toml"].replace("value = 12", f"value = {value}", 1)
    _, problems = build_library(TEXTS | {"practice.toml": text})
    assert any("long_progestin_days" in problem.where for problem in problems)


def test_a_bad_entry_leaves_the_other_entries_of_its_file():
    text = TEXTS["practice.toml"].replace("value = 25", 'value = ""')
    library, _ = build_library(TEXTS | {"practice.toml": text})
    assert "practice.work_rate_ai" not in library.figures
    assert "practice.spare_doses" in library.figures


def test_two_faults_of_one_protocol_are_both_told():
    text = PLAIN.replace('why = "It is a test."\n', "").replace("order = 10", 'order = "ten"')
    _, problems = build_library(TEXTS | {"protocols/plain.toml": text})
    assert {problem.where.split(": ")[1] for problem in problems} == {"why", "order"}


def test_an_overlay_figure_replaces_the_shipped_one_and_keeps_it():
    text = '["practice.work_rate_ai"]\nvalue = 32\nunit = "head/h"\nnote = "Counted."\n'
    library, problems = build_library(TEXTS, text)
    figure = library.figure("practice.work_rate_ai")
    assert problems == []
    assert (figure.value, figure.shipped, figure.yours) == (32, 25, True)
    assert figure.note == "Counted."


def test_a_figure_of_ones_own_keeps_the_spread_that_stands_beside_ours():
    """Who knows the mean of the herd's gestation has not said that all calves take as long."""
    sound = TEXTS | {"practice.toml": TEXTS["practice.toml"] + SPREAD}
    for said, sd in (("", 4.8), ("sd = 6\n", 6.0)):
        text = f'["practice.carried"]\nvalue = 280\nunit = "d"\n{said}'
        library, problems = build_library(sound, text)
        assert problems == []
        assert library.figure("practice.carried").sd == sd
    text = '["practice.carried"]\nvalue = 280\nunit = "d"\nsd = 0\n'
    library, problems = build_library(sound, text)
    assert [problem.what for problem in problems] == ["a spread of 0 says that all are alike."]
    assert library.figure("practice.carried").value == 283


def test_an_overlay_figure_at_fault_leaves_the_shipped_one():
    text = '["practice.work_rate_ai"]\nvalue = 32\nunit = "head"\n'
    figure = build_library(TEXTS, text)[0].figure("practice.work_rate_ai")
    assert (figure.value, figure.yours) == (25, False)


def test_an_overlay_protocol_stands_beside_the_shipped_ones():
    library, problems = build_library(TEXTS, own_protocol())
    assert problems == []
    assert set(library.protocols) == {"plain", "mine"}
    assert library.sources["ranch"].title


def test_the_ranch_is_no_source_for_a_shipped_file():
    _, problems = build_library(
        TEXTS | {"protocols/mine.toml": PLAIN.replace("author_2001", "ranch")}
    )
    assert any("'ranch' is not listed" in problem.what for problem in problems)


def test_an_overlay_cannot_loosen_the_rule_about_luteolytics():
    bulls = """steps = [
  { id = "bulls", day = 0, clock = "same", early_h = 0, late_h = 0, do = "bulls_in" },
  { id = "pgf", after = "bulls", hours = 240, do = "pgf", who = "all" },
]"""
    start, end = PLAIN.index("steps = ["), PLAIN.index("\n]\n") + 2
    mine = own_protocol().replace(PLAIN[start:end], bulls)
    loose = '["practice.exposure_before_pgf_days"]\nvalue = 30\nunit = "d"\n'
    library, problems = build_library(TEXTS, loose + mine)
    assert "mine" not in library.protocols
    assert any("end a pregnancy" in problem.what for problem in problems)


def test_the_version_follows_every_text_and_not_the_line_ends():
    version = library_version(TEXTS)
    windows = {name: text.replace("\n", "\r\n") for name, text in TEXTS.items()}
    assert len(version) == 12
    assert library_version(windows) == version
    assert library_version(dict(reversed(TEXTS.items()))) == version
    assert library_version(TEXTS | {"prices.toml": TEXTS["prices.toml"] + "\n"}) != version


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 5000,
        "a = " + "9" * 6000,
        "\ufeff[a]",
        "\x00",
        "a = 1979-05-27T07:32:00Z\nb = 07:32:00\n",
        "[a]\nsource = [1, {}, []]\nunit = []\nvalue = {}\nkind = 1\nseen = true\n",
        "[[a]]\n",
        "steps = 1\n",
        "steps = [1, { id = 2, day = 1.5 }, { id = [] }]\n",
        "[defaults]\npgf = 1\n",
        "last_checked = 07:32:00\nvalid_until = 1979-05-27T07:32:00Z\n",
        '"\ud800" = 1',
    ],
    ids=range(12),
)
def test_no_text_makes_the_loader_raise(text):
    for name in [*TEXTS, "regions/CA.toml", "protocols/other.toml"]:
        _, problems = build_library(TEXTS | {name: text})
        assert any(problem.where.startswith(name) for problem in problems)
    build_library(TEXTS, text)


@st.composite
def mutations(draw):
    """Draw one sound file with lines lost, doubled, moved or with values changed."""
    name = draw(st.sampled_from([*TEXTS, "overlay"]))
    text = own_protocol() if name == "overlay" else TEXTS[name]
    lines = text.splitlines()
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(lines) - 1))
        how = draw(st.sampled_from(["delete", "double", "swap", "value", "cut"]))
        if how == "delete" and len(lines) > 1:
            del lines[at]
        elif how == "double":
            lines.insert(at, lines[at])
        elif how == "swap":
            other = draw(st.integers(0, len(lines) - 1))
            lines[at], lines[other] = lines[other], lines[at]
        elif how == "value":
            new = draw(
                st.sampled_from(
                    ["-1", "1e400", "nan", "true", '""', '"x"', "[]", "[{}]", "{}", "2026-01-31"]
                )
            )
            lines[at] = lines[at].partition("=")[0] + f"= {new}"
        else:
            lines[at] = lines[at][: draw(st.integers(0, len(lines[at])))]
    return name, "\n".join(lines)


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(mutations())
def test_no_mangled_file_makes_the_loader_raise(mutation):
    name, text = mutation
    if name == "overlay":
        library, _ = build_library(TEXTS, text)
    else:
        library, _ = build_library(TEXTS | {name: text})
    for figure in library.figures.values():
        assert figure.unit.strip()
        assert figure.source
