"""Reading a file of trials: good arms are read, faulty ones are left out and named in words."""

import copy
import math
import tomllib
from pathlib import Path

import pytest
from made_trials import SCORING

from sunup.base.problems import Severity
from sunup.forecast.arms import TrialsError, read_trials
from sunup.physiology.orders import Aid, Rule

TRIALS = Path(__file__).parents[2] / "authorities" / "trials" / "trials.toml"
ARM = {
    "id": "GOOD/1",
    "trial": "GOOD",
    "source": "made up for this test",
    "read": True,
    "class": "cow",
    "subspecies": "taurus",
    "semen": "conventional",
    "steps": [
        {"at": 0, "do": "gnrh"},
        {"at": 168, "do": "pgf", "dose": 0.5},
        {"at": 168, "do": "watch", "until": 252, "inseminate": "am_pm"},
        {"at": 252, "do": "ai", "who": "not_inseminated"},
    ],
    "n": 100,
    "n_locations": 2,
    "estrus": {"pct": 60, "from_h": 0, "to_h": 84, "aid": "patch"},
    "conception": {"pct": 65, "of": "inseminated_on_heat"},
    "pregnancy": {"pct": 50, "to": "first_ai"},
}


class Absent:
    """Stands for a key taken away; told the same by every process that collects the tests."""

    def __repr__(self):
        return "absent"


GONE = Absent()


def bad_arm(changes):
    """A good arm with values put at dotted places; GONE takes a key away."""
    arm = copy.deepcopy(ARM) | {"id": "BAD/1", "trial": "BAD"}
    for path, value in changes.items():
        *outer, last = [int(part) if part.isdigit() else part for part in path.split(".")]
        place = arm
        for part in outer:
            place = place.setdefault(part, {}) if isinstance(place, dict) else place[part]
        if value is GONE:
            del place[last]
        else:
            place[last] = value
    return arm


def read(*arms, **top):
    return read_trials({"scoring": SCORING, "arm": list(arms), **top}, file="few.toml")


def bulls_only(to):
    """Changes that make an arm of one whose females bulls alone serve."""
    steps = [{"at": 0, "do": "bulls_in"}, {"at": 1000, "do": "bulls_out"}]
    return {"steps": steps, "estrus": GONE, "conception": GONE, "pregnancy.to": to}


JUDGED = {"at": 252, "do": "ai", "who": "not_in_heat"}
FAULTS = [
    # a step that cannot be carried out
    ({"steps.2.until": GONE}, "steps[3].until", "missing"),
    ({"steps.2.until": 100}, "steps[3].until", "ends at hour 100 and begins at hour 168"),
    ({"steps.2.until": math.inf}, "steps[3].until", "no number"),
    ({"steps.1.dose": -1}, "steps[2].dose", "out of range"),
    ({"steps.1.dose": 25}, "steps[2].dose", "from 0 to 3"),
    ({"steps.1.dose": "half"}, "steps[2].dose", "the text 'half'"),
    ({"steps.0.dose": True}, "steps[1].dose", "true"),
    ({"steps.3.dose": 1}, "steps[4].dose", "a step 'ai' takes no 'dose'"),
    ({"steps.0.at": -24}, "steps[1].at", "out of range"),
    ({"steps.0.at": math.nan}, "steps[1].at", "no number"),
    ({"steps.0.at": 1e7}, "steps[1].at", "from 0 to 8760"),
    ({"steps.0.at": GONE}, "steps[1].at", "missing"),
    ({"steps.0.do": "insert_im"}, "steps[1].do", "Did you mean 'insert_in'?"),
    ({"steps.3.who": "cows"}, "steps[4].who", "unknown word 'cows'"),
    ({"steps.2.inseminate": "pm"}, "steps[3].inseminate", "am_pm"),
    ({"steps.2.times_per_day": 0}, "steps[3].times_per_day", "out of range"),
    ({"steps.2.minutes": "long"}, "steps[3].minutes", "a number"),
    ({"steps.2.aid": "glass"}, "steps[3].aid", "chalk"),
    ({"steps.3.judged_at": "noon"}, "steps[4].judged_at", "a number"),
    ({"steps.1.dosis": 0.5}, "steps[2].dosis", "Did you mean 'dose'?"),
    ({"steps.0.until": 20}, "steps[1].until", "a step 'gnrh' takes no 'until'"),
    ({"steps": []}, "steps", "the list is empty"),
    ({"steps": "x"}, "steps", "the text 'x'"),
    ({"steps": GONE}, "steps", "missing"),
    ({"steps": ["gnrh"]}, "steps[1]", "the text 'gnrh'"),
    # a value of another kind, out of range, or an unknown word
    ({"n": "506"}, "n", "the text '506' was found. Write a whole number"),
    ({"n": 506.5}, "n", "whole number"),
    ({"n": 120.0}, "n", "the number 120.0 was found. Write a whole number"),
    ({"n": 0}, "n", "out of range"),
    ({"n": -3}, "n", "out of range"),
    ({"n": True}, "n", "whole number"),
    ({"n_locations": 0}, "n_locations", "out of range"),
    ({"n_locations": 101}, "n_locations", "from 1 to 100"),
    ({"cyclic_pct": 120}, "cyclic_pct", "from 0 to 100"),
    ({"cycle_day_at_zero": -1}, "cycle_day_at_zero", "out of range"),
    ({"read": "false"}, "read", "true or false, without quotes"),
    ({"read": GONE}, "read", "missing"),
    ({"class": "bull"}, "class", "unknown word 'bull'"),
    ({"class": ["cow"]}, "class", "a list"),
    ({"subspecies": "zebu"}, "subspecies", "taurus, cross, indicus"),
    ({"semen": "frozen"}, "semen", "conventional, sexed"),
    ({"trial": 5}, "trial", "a text in quotes"),
    ({"source": " "}, "source", "empty"),
    ({"pregnancy.pct": 530}, "pregnancy.pct", "from 0 to 100"),
    ({"pregnancy.pct": math.nan}, "pregnancy.pct", "no number"),
    ({"pregnancy.pct": -1}, "pregnancy.pct", "out of range"),
    ({"pregnancy.pct": "53"}, "pregnancy.pct", "the text '53'"),
    ({"pregnancy.pct": GONE}, "pregnancy.pct", "missing"),
    ({"estrus.pct": math.inf}, "estrus.pct", "no number"),
    ({"conception.pct": 100.5}, "conception.pct", "out of range"),
    ({"pregnancy.to": "firstai"}, "pregnancy.to", "Did you mean 'first_ai'?"),
    ({"conception.of": "heat"}, "conception.of", "inseminated_on_heat"),
    ({"pregnancy": 53}, "pregnancy", '{ pct = 53, to = "first_ai" }'),
    ({"estrus.to_h": 0}, "estrus.to_h", "ends at hour 0 and begins at hour 0"),
    ({"estrus.to_h": -5}, "estrus.to_h", "Let to_h be later than from_h"),
    ({"estrus.from_h": GONE}, "estrus.from_h", "missing"),
    ({"estrus.aid": "nose"}, "estrus.aid", "unknown word 'nose'"),
    ({"only": {"in_heat": "yes", "from_h": 0, "to_h": 9}}, "only.in_heat", "true or false"),
    ({"only": {"in_heat": True, "from_h": 9, "to_h": 9}}, "only.to_h", "later"),
    # a misspelt key
    ({"n_location": 14, "n_locations": GONE}, "n_location", "Did you mean 'n_locations'?"),
    ({"pregnancy_pct": 53, "pregnancy": GONE}, "pregnancy_pct", "Did you mean 'pregnancy'?"),
    ({"estrus.pc": 60, "estrus.pct": GONE}, "estrus.pc", "Did you mean 'pct'?"),
    ({"estrus.aids": "eye", "estrus.aid": GONE}, "estrus.aids", "Did you mean 'aid'?"),
    ({"conception.off": 1, "conception.of": GONE}, "conception.off", "Did you mean 'of'?"),
    ({"only": {"in_heats": True, "from_h": 0, "to_h": 9}}, "only.in_heats", "'in_heat'"),
    ({"cycle_day": 7}, "cycle_day", "Did you mean 'cycle_day_at_zero'?"),
    ({"n_females": 506, "n": GONE}, "n_females", "Did you mean 'n'?"),
    ({"n_herds": 3, "n_locations": GONE}, "n_herds", "Did you mean 'n_locations'?"),
    ({"location": 3, "n_locations": GONE}, "location", "Did you mean 'n_locations'?"),
    # counted once together with itself
    ({"estrus_pooled_with": "BAD/1"}, "estrus_pooled_with", "names itself"),
    ({"pregnancy_pooled_with": "BAD/1"}, "pregnancy_pooled_with", "names itself"),
    # figures that no replay of the steps could give
    (
        {"pregnancy": GONE, "conception": GONE, "estrus": GONE},
        "pregnancy",
        "reports no figure",
    ),
    ({"steps.2.inseminate": GONE}, "conception.of", "no watch inseminates"),
    (
        {"steps": [{"at": 0, "do": "pgf"}], "conception": GONE},
        "steps",
        "no step inseminates",
    ),
    (
        {"estrus": GONE, "conception.of": "in_heat_at_timed_ai"},
        "conception.of",
        "no estrus window",
    ),
    (bulls_only("first_ai"), "steps", "calves of the bulls are no pregnancy to first AI"),
    # steps that nothing before them gives a sense
    ({"steps.3.who": "not_pregnant"}, "steps[4].who", "nobody has looked before it"),
    (
        {"steps.1": {"at": 300, "do": "preg_check"}, "steps.3.who": "not_pregnant"},
        "steps[4].who",
        "Add a step preg_check before it",
    ),
    ({"steps.1": {"at": 168, "do": "insert_out"}}, "steps[2]", "before any 'insert_in'"),
    ({"steps.1": {"at": 168, "do": "mga_end"}}, "steps[2]", "Add the step 'mga_start'"),
    ({"steps.1": {"at": 168, "do": "bulls_out"}}, "steps[2]", "before any 'bulls_in'"),
    (
        {"steps.0": {"at": 200, "do": "calves_off"}, "steps.1": {"at": 168, "do": "calves_on"}},
        "steps[2]",
        "'calves_on' comes before any 'calves_off'",
    ),
    ({"class": "heifer", "steps.0.do": "calves_off"}, "steps[1]", "heifers have no calves"),
    ({"steps.3": JUDGED | {"judged_at": 253}}, "steps[4].judged_at", "at most 252"),
    ({"cyclic_pct": 0, "cycle_day_at_zero": 7}, "cycle_day_at_zero", "none is cycling"),
]


@pytest.mark.parametrize(("changes", "key", "words"), FAULTS, ids=lambda v: str(v)[:50])
def test_a_faulty_arm_is_left_out_and_its_key_named_and_the_good_one_beside_it_read(
    changes, key, words
):
    found = read(copy.deepcopy(ARM), bad_arm(changes))
    assert [arm.id for arm in found.arms] == ["GOOD/1"]
    at_key = [p for p in found.problems if p.where == f"few.toml: arm.BAD/1.{key}"]
    assert at_key, [str(p) for p in found.problems]
    assert any(words in str(p) for p in at_key), [str(p) for p in at_key]
    assert all(p.severity is Severity.ERROR and p.what and p.fix for p in found.problems)


@pytest.mark.parametrize("word", ["hcg", "pge", "gnhr", "estradiol_valerate", "mpa_start"])
def test_no_drug_is_suggested_for_a_word_that_may_be_another(word):
    (problem,) = read(bad_arm({"steps.0.do": word})).problems
    assert "Did you mean" not in problem.fix
    assert "gnrh, pgf" in problem.fix


def test_every_fault_of_an_arm_is_told_at_once():
    found = read(bad_arm({"n": "506", "pregnancy.pct": 530, "steps.0.do": "x", "class": "bull"}))
    assert not found.arms
    assert {p.where.rpartition("BAD/1.")[2] for p in found.problems} == {
        "n",
        "pregnancy.pct",
        "steps[1].do",
        "class",
    }


def test_an_arm_without_id_is_named_by_its_place():
    found = read(copy.deepcopy(ARM), bad_arm({"id": GONE}), bad_arm({"id": 7}))
    assert [p.where for p in found.problems] == ["few.toml: arm[2].id", "few.toml: arm[3].id"]
    assert found.left_out == ("arm 2", "arm 3")


def test_an_id_that_stands_twice_is_used_once():
    found = read(copy.deepcopy(ARM), copy.deepcopy(ARM))
    assert len(found.arms) == 1
    (problem,) = found.problems
    assert problem.where == "few.toml: arm.GOOD/1.id"
    assert "arm 2 of the file is left out" in problem.what


def test_a_key_of_the_writers_own_is_named_and_the_arm_still_runs():
    found = read(bad_arm({"paper_kept_in": "the drawer", "pregnancy.table": 3}))
    assert [arm.id for arm in found.arms] == ["BAD/1"]
    assert [(p.severity, p.where) for p in found.problems] == [
        (Severity.WARNING, "few.toml: arm.BAD/1.pregnancy.table"),
        (Severity.WARNING, "few.toml: arm.BAD/1.paper_kept_in"),
    ]


@pytest.mark.parametrize(
    ("key", "value", "gone"),
    [
        ("location", "Kansas", "n_locations"),
        ("conditions", "dry summer", "conception"),
        ("conception_note", "table 3", "conception"),
        ("class_note", "three herds of heifers", "n"),
        ("n_females_note", 3, "n"),
    ],
)
def test_a_remark_that_looks_like_a_key_leaves_no_arm_out(key, value, gone):
    found = read(bad_arm({key: value, gone: GONE}))
    assert [arm.id for arm in found.arms] == ["BAD/1"]
    (problem,) = found.problems
    assert (problem.severity, problem.where) == (Severity.WARNING, f"few.toml: arm.BAD/1.{key}")


def test_unknown_keys_are_named_shortly():
    found = read(bad_arm({f"paper_{i}": i for i in range(26)}))
    assert len(found.problems) == 26
    assert all(len(f"{problem.what} {problem.fix}") < 80 for problem in found.problems)


def test_remarks_are_taken_without_a_word():
    found = read(
        bad_arm(
            {
                "note": "a remark",
                "steps_assumed": True,
                "location_range_pct": "40-60",
                "pgf_to_heat_h": {"mean": 52},
                "pregnancy.source": "table 2",
                "estrus.read": False,
                "steps.0.note": "morning",
            }
        )
    )
    assert len(found.arms) == 1
    assert found.problems == ()


def test_another_arm_of_a_figure_that_is_not_there_is_named_and_the_arm_still_runs():
    """A part of a larger file may hold one arm of two whose heats were published together."""
    found = read(copy.deepcopy(ARM), bad_arm({"estrus_pooled_with": "GOOD/2"}))
    assert [arm.id for arm in found.arms] == ["GOOD/1", "BAD/1"]
    (problem,) = found.problems
    assert problem.severity is Severity.WARNING
    assert problem.where == "few.toml: arm.BAD/1.estrus_pooled_with"
    assert "no arm that can be run has the id 'GOOD/2'" in problem.what
    assert "Did you mean 'GOOD/1'?" in problem.fix


@pytest.mark.parametrize(
    "changes",
    [{"pregnancy.pct": 51}, {"pregnancy": GONE}, {}],
    ids=["other", "none", "other trial"],
)
def test_arms_that_cannot_share_a_figure_are_not_put_together(changes):
    first = copy.deepcopy(ARM) | {"pregnancy_pooled_with": "BAD/1"}
    other = bad_arm(changes) | ({"trial": "GOOD"} if changes else {})
    found = read(first, other)
    assert all(len(arms) == 1 for arms in found.pooled("pregnancy"))
    (problem,) = found.problems
    assert problem.where == "few.toml: arm.GOOD/1.pregnancy_pooled_with"
    assert "does not report the same pregnancy; the figure is compared without it" in problem.what


def test_arms_of_one_figure_stand_together_whichever_names_which_and_in_any_order():
    names = ["A", "B", "C", "D", "E"]
    partners = {"A": "C", "D": "C", "E": "gone", "B": "gone"}
    for order in (names, names[::-1], ["C", "B", "A", "E", "D"]):
        arms = [copy.deepcopy(ARM) | {"id": name} for name in order]
        for arm in arms:
            if arm["id"] in partners:
                arm["pregnancy_pooled_with"] = partners[arm["id"]]
        found = read(*arms)
        assert {frozenset(arm.id for arm in group) for group in found.pooled("pregnancy")} == {
            frozenset("ACD"),
            frozenset("BE"),
        }
        firsts = [group[0].id for group in found.pooled("pregnancy")]
        assert firsts == sorted(firsts, key=order.index)
        assert all(len(group) == 1 for group in found.pooled("estrus"))


def test_arms_of_one_figure_have_all_their_females_in_the_same_herds():
    one, two, three = (copy.deepcopy(ARM) | {"id": name} for name in ("A", "B", "C"))
    two |= {"n": 300, "n_locations": 3, "class": "heifer", "read": False}
    del three["n"], three["n_locations"]
    found = read(one, two, three)
    whole = found.scoring.as_one(found.arms)
    assert (whole.n, whole.n_locations) == (100 + 300 + SCORING["n_missing"], 3)
    assert (whole.female, whole.read) == ("mixed", False)
    alone = found.scoring.as_one(found.arms[2:])
    assert (alone.n, alone.n_locations, alone.female) == (150, 1, "cow")
    large = read(*({**three, "id": name, "n": 300} for name in ("D", "E")))
    whole = large.scoring.as_one(large.arms)
    assert (whole.n, whole.n_locations) == (600, 2)  # one herd for every 150 females of an arm


OPEN = [
    ({"steps.0.do": "insert_in"}, "steps[1]", "no 'insert_out' follows the 'insert_in'"),
    ({"steps.0.do": "mga_start"}, "steps[1]", "Add the step 'mga_end'"),
    ({"steps.0.do": "bulls_in"}, "steps[1]", "lasts to the end of the run"),
    ({"steps.3.judged_at": 240}, "steps[4].judged_at", "it is not used"),
    ({"steps.1.do": "gnrh"}, "steps", "hours of heat count from hour 0 of the steps"),
    (
        {"steps.1.do": "gnrh", "steps.3": JUDGED, "estrus": GONE},
        "steps",
        "in_heat too is heat seen since hour 0",
    ),
]


@pytest.mark.parametrize(("changes", "key", "words"), OPEN, ids=lambda v: str(v)[:50])
def test_what_may_be_meant_and_seldom_is_is_named_and_the_arm_still_runs(changes, key, words):
    found = read(bad_arm(changes))
    assert [arm.id for arm in found.arms] == ["BAD/1"]
    (problem,) = found.problems
    assert problem.where == f"few.toml: arm.BAD/1.{key}"
    assert problem.severity is Severity.WARNING
    assert words in str(problem)


@pytest.mark.parametrize(
    "changes",
    [
        {"steps.3": JUDGED | {"judged_at": 252}},
        {"steps.0": {"at": 252, "do": "preg_check"}, "steps.3.who": "not_pregnant"},
        {"steps.0": {"at": 168, "do": "calves_off"}},
        {"steps.0": {"at": 0, "do": "gnrh"}, "cyclic_pct": 0},
        {"steps.1.do": "gnrh", "estrus": GONE},
        bulls_only("period"),
    ],
    ids=str,
)
def test_steps_that_make_sense_are_taken_without_a_word(changes):
    """Calves may stay away; a check at the hour of the insemination comes before it."""
    found = read(bad_arm(changes))
    assert [arm.id for arm in found.arms] == ["BAD/1"]
    assert found.problems == ()


def test_a_figure_whose_meaning_is_not_said_is_taken_as_the_usual_and_told():
    found = read(bad_arm({"pregnancy.to": GONE, "conception.of": GONE}))
    (arm,) = found.arms
    assert (arm.pregnancy_to, arm.conception_of) == ("first_ai", "inseminated_on_heat")
    assert [p.severity for p in found.problems] == [Severity.WARNING] * 2
    assert any("taken as 'first_ai'" in p.what for p in found.problems)


def test_a_share_written_for_percent_is_pointed_out():
    (problem,) = read(bad_arm({"pregnancy.pct": 0.53})).problems
    assert problem.severity is Severity.WARNING
    assert "write 53, not 0.53" in problem.fix


def test_a_good_arm_is_read_as_it_was_written():
    (arm,) = read(copy.deepcopy(ARM)).arms
    assert (arm.n, arm.n_locations, arm.female, arm.read) == (100, 2, "cow", True)
    assert (arm.estrus_pct, arm.conception_pct, arm.pregnancy_pct) == (60, 65, 50)
    assert (arm.estrus_window.from_h, arm.estrus_window.to_h) == (0, 84)
    gnrh, pgf, watch, ai = arm.orders.orders
    assert (gnrh.amount, pgf.amount, ai.hour) == (1.0, 0.5, 252)
    # the estrus table's aid, the defaults' checks
    assert (watch.aid, watch.per_day, watch.minutes) == (Aid.PATCH, 2, 45)
    assert (watch.until_h, watch.rule) == (252, Rule.AM_PM)


def test_a_watch_of_its_own_goes_before_the_defaults_of_the_file():
    arm = bad_arm({"steps.2.times_per_day": 4, "estrus.aid": GONE})
    (found,) = read(
        arm, defaults={"watch": {"times_per_day": 3, "minutes": 30, "aid": "chalk"}}
    ).arms
    watch = found.orders.orders[2]
    assert (watch.aid, watch.per_day, watch.minutes) == (Aid.CHALK, 4, 30)
    assert (found.orders.aid, found.orders.per_day) == (Aid.CHALK, 3)


TRANSCRIBED = [TRIALS, TRIALS.with_name("unseen.toml"), TRIALS.with_name("later.toml")]


@pytest.mark.parametrize("file", TRANSCRIBED, ids=lambda p: p.stem)
def test_every_arm_of_the_transcribed_trials_is_read(file):
    values = tomllib.loads(file.read_text("utf-8"))
    found = read_trials(values)
    assert [arm.id for arm in found.arms] == [table["id"] for table in values["arm"]]
    # a heat counted from hour 0, for want of a PGF, is all that is remarked on
    assert all("no PGF is given" in str(problem) for problem in found.problems)


def test_no_trial_stands_in_two_files():
    trials = [
        {table["trial"] for table in tomllib.loads(file.read_text("utf-8"))["arm"]}
        for file in TRANSCRIBED
    ]
    assert len(set.union(*trials)) == sum(len(some) for some in trials)


def test_files_are_scored_alike():
    scoring = [tomllib.loads(file.read_text("utf-8"))["scoring"] for file in TRANSCRIBED]
    assert scoring[0] == scoring[1] == scoring[2]


@pytest.mark.parametrize(
    ("top", "words"),
    [
        ({"scoring": {}}, "scoring.herd_sd_points"),
        ({"scoring": 5}, "scoring: the number 5 was found"),
        ({"scoring": SCORING | {"n_missing": 0}}, "scoring.n_missing"),
        ({"scoring": SCORING | {"herd_sd_points": math.nan}}, "scoring.herd_sd_points"),
        ({"scoring": SCORING | {"mixed_is": {"cow": "half"}}}, "scoring.mixed_is.cow"),
        ({"scoring": SCORING | {"cyclic_pct_missing": {"cows": 5}}}, "Did you mean 'cow'?"),
        ({"scoring": SCORING | {"days_postpartum_missing": {"mean": 70}}}, "missing.sd"),
        ({"defaults": {"watch": {"aid": "nose"}}}, "defaults.watch.aid"),
        ({"defaults": {"watch": {"times_a_day": 2}}}, "Did you mean 'times_per_day'?"),
        ({"arm": {"id": "x"}}, "Begin each arm with [[arm]]"),
    ],
)
def test_what_stands_for_every_arm_must_be_right_or_nothing_is_scored(top, words):
    with pytest.raises(TrialsError) as told:
        read_trials({"scoring": SCORING, "arm": [ARM], **top}, file="few.toml")
    assert words in str(told.value)


def test_a_misspelt_list_of_arms_is_named():
    found = read_trials({"scoring": SCORING, "arms": [ARM]}, file="few.toml")
    assert not found.arms
    assert "Did you mean 'arm'?" in str(found.problems[0])


def test_a_class_the_stand_ins_do_not_cover_leaves_out_only_its_own_arms():
    scoring = SCORING | {"cyclic_pct_missing": {"cow": 62}, "mixed_is": {}}
    mixed, heifer = bad_arm({"class": "mixed", "cyclic_pct": 70}), bad_arm({"class": "heifer"})
    told = bad_arm({"class": "heifer", "cyclic_pct": 90}) | {"id": "TOLD"}
    heifer["id"] = "BAD/2"
    found = read_trials({"scoring": scoring, "arm": [mixed, heifer, told]}, file="few.toml")
    assert [arm.id for arm in found.arms] == ["TOLD"]
    assert [p.where for p in found.problems] == [
        "few.toml: arm.BAD/1.class",
        "few.toml: arm.BAD/2.cyclic_pct",
    ]
