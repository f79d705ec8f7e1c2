"""The edges of the command line: help, exit codes, JSON, wrong usage in words, width, pipes."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys

import pytest

from herd_csv import AS_OF, rows, write_herd
from sunup.base.problems import UsageError
from sunup.cli.main import app

AGREED = ("--first-ai", "2027-05-25", "--zone", "America/Denver", "--as-of", AS_OF)
COMMANDS = (
    ("plan",),
    ("herd", "check"),
    ("protocol", "list"),
    ("protocol", "show"),
    ("check",),
    *(
        ("ledger", verb)
        for verb in ("backup", "restore", "export", "import", "verify", "rebuild", "upgrade")
    ),
    ("today",),
    *(("season", v) for v in ("adopt", "show", "join", "move", "leave", "retag", "identify")),
    *(
        ("record", verb)
        for verb in ("visit", "ai", "calving", "measure", "feed", "bulls-in", "bulls-out", "sire")
    ),
    *(("record", verb) for verb in ("weaning", "abortion", "drug", "vaccine", "bull-exam")),
    *(("exchange", verb) for verb in ("read", "write")),
    ("season", "set"),
    *(("record", verb) for verb in ("hold", "head", "last", "undo", "correct")),
    *(("heats", verb) for verb in ("seen", "read", "watch", "list")),
    *(("scan", verb) for verb in ("sheet", "result", "returns", "book", "next")),
    *(("stock", verb) for verb in ("buy", "lose", "count", "nitrogen", "show", "cautions")),
    *(("stock", verb) for verb in ("treatments", "withdrawals", "certificates", "bred")),
    ("explain",),
    ("forecast",),
    ("trace",),
    ("validate",),
    ("review",),
)
ANSI = re.compile(r"\x1b\[")


@pytest.fixture(scope="session")
def herd(tmp_path_factory):
    return str(write_herd(tmp_path_factory.mktemp("herd") / "herd.csv"))


@pytest.fixture
def sunup(sunup):
    """The program in a terminal of the usual width."""

    def run(*arguments, columns="80"):
        return sunup(*arguments, columns=columns)

    return run


# help ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_the_help_of_every_command_ends_with_an_example(sunup, command):
    code, out, _ = sunup(*command, "--help")
    assert code == 0
    assert "Example: sunup " + " ".join(command) in " ".join(out.split())


def test_every_command_there_is_stands_in_the_list_above():
    """A new command cannot slip past the tests of this file."""
    names = set()
    for command in app.registered_commands:
        names.add((command.name,))
    for group in app.registered_groups:
        names |= {(group.name, c.name) for c in group.typer_instance.registered_commands}
    assert names == set(COMMANDS)


def test_the_program_alone_shows_its_help_and_where_to_start(sunup):
    code, out, err = sunup()
    assert code == 2  # nothing was asked for
    assert "Start with: sunup plan" in " ".join((out + err).split())


def test_the_version_is_told(sunup):
    code, out, _ = sunup("--version")
    assert (code, out.strip()) == (0, "sunup 0.1.0")


# exit codes and JSON -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("command", "field"),
    [
        (("plan", "HERD", *AGREED), "groups"),
        (("herd", "check", "HERD", "--as-of", AS_OF), "females"),
        (("protocol", "list"), "protocols"),
        (("protocol", "show", "co_synch_insert7_cow"), "steps"),
        (("check",), "library_version"),
        (("explain", "practice.work_rate_ai"), "lines"),
    ],
    ids=lambda value: " ".join(value[:2]) if isinstance(value, tuple) else value,
)
def test_every_reader_gives_one_json_document_on_standard_output(sunup, herd, command, field):
    words = [herd if w == "HERD" else w for w in command]
    code, out, _ = sunup(*words, "--json")
    data = json.loads(out)
    assert code == (1 if any(p["severity"] == "error" for p in data.get("problems", ())) else 0)
    assert data["schema_version"] == 1
    assert field in data


def test_a_protocol_shown_says_what_of_its_windows_is_from_memory(sunup):
    """The window of PGF, 4 hours either side, is common practice; the sources give a day."""
    said = "either side of the steps by day are common practice, from memory."
    code, out, _ = sunup("protocol", "show", "eight_and_six_cow")
    assert code == 0
    assert said in " ".join(out.split())
    _, out, _ = sunup("protocol", "show", "eight_and_six_cow", "--json")
    assert json.loads(out)["steps_note"].endswith(said)


def test_a_bad_cell_ends_with_1_and_names_row_and_column(sunup, tmp_path):
    lines = rows()
    lines[3] = lines[3].replace("2021-03-01", "2021-13-01")
    path = str(write_herd(tmp_path / "bad.csv", lines))
    for command in (("herd", "check", path, "--as-of", AS_OF), ("plan", path, *AGREED)):
        code, out, err = sunup(*command)
        assert code == 1
        assert "row 4" in err
        assert "birth date" in err
        assert "row 4" not in out, "problems go to standard error"
    _, out, _ = sunup("plan", path, *AGREED, "--json")
    assert any(p.get("row") == 4 for p in json.loads(out)["problems"])


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), "Say when: --first-ai"),
        (("--first-ai", "2027-05-25"), "Say where the clock is: --zone"),
        ((*AGREED, "--first-treatment", "2027-05-01"), "not both"),
        (("--first-ai", "25/5/2027", "--zone", "UTC"), "'25/5/2027' is not a date"),
        (("--first-ai", "2027-02-30", "--zone", "UTC"), "is not a date. Write it as"),
        (("--first-ai", "0001-01-05", "--zone", "UTC"), "the year must be"),
        (("--first-ai", "9999-12-30", "--zone", "UTC"), "the year must be"),
        (("--first-ai", "2027-05-25T25:00", "--zone", "UTC"), "'25:00' is not a time of day"),
        (("--first-ai", "2027-05-25", "--zone", "Denver"), "'Denver' is not a time zone"),
        ((*AGREED, "--hours", "6"), "write it as 06:00-20:00"),
        ((*AGREED, "--hours", "20:00-06:00"), "must start before it ends"),
        ((*AGREED, "--hours", "06:00-25:00"), "'25:00' is not a time of day"),
        ((*AGREED, "--protocol", "cows"), "--protocol"),
        ((*AGREED, "--protocol", "cows=co_synch_insert7"), "Did you mean co_synch_insert7_cow"),
        ((*AGREED, "--protocol", "cwos=pg1_all"), "No group 'cwos'"),
        ((*AGREED, "--protocol", "cwos=pg1_all"), "Groups: cows, heifers"),
        ((*AGREED, "--option", "cows=sexed"), "Option 'sexed' is not known"),
        ((*AGREED, "--option", "heifers=calf_removal_48h"), "this group has none"),
        ((*AGREED, "--sire", "cows=B1:2"), "share above 0"),
        ((*AGREED, "--sire", "cows=B1:red"), "'red' is neither sexed nor a share"),
        ((*AGREED, "--drug", "pgf=cloprostenol/125"), "not for synchronisation"),
        ((*AGREED, "--drug", "pgf=nothing"), "Choose one of"),
        ((*AGREED, "--drug", "pfg=dinoprost/5"), "not a step that takes a drug"),
        ((*AGREED, "--split", "cows=0"), "whole number of starts"),
        ((*AGREED, "--split", "cows=\u00b2"), "whole number of starts"),
        ((*AGREED, "--haul", "soon"), "--haul 'soon' is not a date"),
        ((*AGREED, "--diet-change", "soon"), "--diet-change 'soon' is not a date"),
        ((*AGREED, "--earlier-days", "nan"), "give a number of days"),
        ((*AGREED, "--region", "ZZ"), "No rule pack for region 'ZZ'. Held: AR"),
        ((*AGREED, "--again", "nowhere.json"), "no file 'nowhere.json'"),
        ((*AGREED, "--overlay", "nowhere.toml"), "no file 'nowhere.toml'"),
        ((*AGREED, "--chutes", "0"), "chutes"),
        ((*AGREED, "--paper", "a5", "--out", "OUT"), "a5"),
        ((*AGREED, "--no-such-option"), "--no-such-option"),
    ],
    ids=lambda value: " ".join(value[-2:]) if isinstance(value, tuple) else None,
)  # fmt: skip
def test_wrong_usage_ends_with_2_and_says_what_to_write(sunup, herd, tmp_path, arguments, words):
    words_typed = [str(tmp_path / "out") if w == "OUT" else w for w in arguments]
    code, out, err = sunup("plan", herd, *words_typed, columns="200")
    assert code == 2
    assert words in err
    assert "Traceback" not in err + out
    assert out == ""


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("plan",), "herd_file"),
        (("plan", "nowhere.csv", *AGREED), "no file 'nowhere.csv'"),
        (("plan", ".", *AGREED), "is a folder"),
        (("protocol", "show", "co_synch_insert7"), "Did you mean"),
        (("protocol", "list", "--class", "bull"), "Classes: heifer"),
        (("protocol", "show", "co_synch", "--region", "ZZ"), "No rule pack"),
        (("explain", "practice.work_rate"), "Near: practice.work_rate_ai"),
        (("herd", "check", "nowhere.csv"), "no file"),
        (("herd", "check", "HERD", "--as-of", "soon"), "--as-of 'soon' is not a date"),
        (("nothing",), "nothing"),
    ],
    ids=lambda value: " ".join(value[:3]) if isinstance(value, tuple) else None,
)
def test_other_commands_end_with_2_on_wrong_usage_too(sunup, herd, arguments, words):
    code, _, err = sunup(*[herd if w == "HERD" else w for w in arguments], columns="200")
    assert code == 2
    assert words.lower() in err.lower()
    assert "Traceback" not in err


# what is shown -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "command",
    [
        ("plan", "HERD", *AGREED, "--all"),
        ("herd", "check", "HERD", "--as-of", AS_OF),
        ("protocol", "list", "--all"),
        ("protocol", "show", "co_synch_insert7_cow"),
        ("protocol", "show", "eb8_ecp"),
        ("check",),
        ("explain", "readiness.weight_share_full"),
        ("explain", "cloprostenol"),
        ("explain", "co_synch_insert7_cow.ai"),
    ],
    ids=lambda value: " ".join(value[:3]),
)
@pytest.mark.parametrize("columns", [80, 120])
def test_what_is_printed_stays_inside_the_window_and_has_no_colour_when_piped(
    sunup, herd, command, columns
):
    words = [herd if w == "HERD" else w for w in command]
    _, out, _ = sunup(*words, columns=str(columns))
    assert not ANSI.search(out)
    wide = [line for line in out.splitlines() if len(line) > columns]
    assert not wide, wide[:3]


def test_a_plan_shows_readiness_choices_schedule_and_the_last_word(sunup, herd):
    code, out, _ = sunup("plan", herd, *AGREED)
    assert code == 0
    for words in ("COWS", "HEIFERS", "bulls alone", "PGF", "Run-up", "Shopping", "Tue 25 May"):
        assert words in out
    assert out.strip().endswith("The label in hand and your veterinarian decide.")


def test_explain_ends_in_a_source_for_a_figure_a_step_and_a_female(sunup, herd, tmp_path):
    out = tmp_path / "packet"
    sunup("plan", herd, *AGREED, "--out", str(out), "--no-pdf")
    plan = str(out / "plan.json")
    for what in (
        ("practice.vaccination_before_days",),
        ("cows/ai", "--plan", plan),
        ("2001", "--plan", plan),
    ):
        code, shown, _ = sunup("explain", *what)
        assert code == 0
        assert shown.strip().splitlines()[-1].split()[0] in {"source", "seen"} or "source" in shown


def test_planning_again_keeps_settings_and_ids(sunup, herd, tmp_path):
    out = tmp_path / "packet"
    given = (*AGREED, "--protocol", "cows=pg1_all", "--ranch", "North", "--out", str(out))
    assert sunup("plan", herd, *given, "--no-pdf")[0] == 0
    first = json.loads((out / "plan.json").read_text("utf-8"))
    again = ("--again", str(out / "plan.json"), "--as-of", AS_OF)
    code, shown, _ = sunup("plan", herd, *again, "--json")
    second = json.loads(shown)
    assert code == 0
    for key in ("ranch", "zone", "settings"):
        assert first[key] == second[key]
    uids = [[s["uid"] for g in d["groups"] for s in g["schedule"]] for d in (first, second)]
    assert uids[0] == uids[1]
    assert second["changes"] == first["changes"] == []


# as a program --------------------------------------------------------------------------------


def start(*arguments, stdin=None, env=None, **kwargs):
    return subprocess.run(
        [sys.executable, "-m", "sunup", *arguments],
        input=stdin,
        capture_output=True,
        check=False,
        timeout=60,
        env=os.environ | {"COLUMNS": "80"} | (env or {}),
        **kwargs,
    )


def test_the_module_runs_as_the_program_does():
    done = start("--version")
    assert (done.returncode, done.stdout) == (
        0,
        b"sunup 0.1.0\n".replace(b"\n", os.linesep.encode()),
    )


def test_a_herd_may_be_piped_in():
    done = start("plan", "-", *AGREED, "--json", stdin="\n".join(rows()).encode())
    data = json.loads(done.stdout)
    assert done.returncode == 0, done.stderr
    assert len(data["females"]) == len(rows()) - 1
    assert data["ranch"] == "ranch"


def test_a_reader_that_hangs_up_early_causes_no_traceback(herd):
    with subprocess.Popen(
        [sys.executable, "-m", "sunup", "plan", herd, *AGREED, "--json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as process:
        process.stdout.read(10)
        process.stdout.close()
        err = process.stderr.read()
        process.wait(60)
    assert b"Traceback" not in err
    assert b"Exception ignored" not in err


def test_a_console_of_another_code_page_gets_text_not_a_crash(herd):
    done = start("plan", herd, *AGREED, env={"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"})
    assert done.returncode == 0, done.stderr
    assert b"Traceback" not in done.stderr


def test_a_mistake_of_ours_is_not_dressed_up_as_wrong_usage():
    """Exit 2 belongs to UsageError alone; anything else must show itself."""
    assert not issubclass(ValueError, UsageError)
    assert not issubclass(KeyError, UsageError)
