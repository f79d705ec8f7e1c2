"""The page on files of trials: its example is read, its lists are those of the program."""

import re
import tomllib
from dataclasses import fields
from pathlib import Path

from sunup.forecast.arms import OF, TO, read_trials
from sunup.forecast.score import Score
from sunup.forecast.trial import CLASSES, INDICUS
from sunup.forecast.trial_steps import STEP_KEYS, WATCH_KEYS
from sunup.forecast.trial_tables import ARM_KEYS, FIGURE_KEYS
from sunup.physiology.orders import Act, Aid, Rule, Who

PAGE = (Path(__file__).parents[2] / "docs/reference/trials_file.md").read_text("utf-8")


def test_the_example_is_read_without_a_word():
    (example,) = re.findall(r"^```toml\n(.*?)^```$", PAGE, flags=re.MULTILINE | re.DOTALL)
    found = read_trials(tomllib.loads(example))
    assert len(found.arms) == 1
    assert found.problems == ()


def test_every_key_word_and_score_is_told():
    told = set(re.findall(r"`(\w+)`", PAGE))
    keys = {*ARM_KEYS, *STEP_KEYS, *WATCH_KEYS, "dose"}.union(*FIGURE_KEYS.values())
    words = {*CLASSES, *INDICUS, *OF, *TO}
    words |= {member.name.lower() for kind in (Act, Who, Aid, Rule) for member in kind}
    scores = {field.name for field in fields(Score)}
    assert not (keys | words | scores) - told
