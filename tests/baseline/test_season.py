"""One season of our own invention, stored. A regression, never validation.

A change here says that results moved, not that they were right before. To renew the stored
summary on purpose: ``PYTHONPATH=tests python tests/baseline/test_season.py`` and an entry in the
changelog.
"""

from __future__ import annotations

import json
import random
from datetime import timedelta
from pathlib import Path

from herds import AI_ON, COW, FIRST_CALF, cow, heifer, season
from sunup.planning.request import Event, Sire

STORED = Path(__file__).with_name("season.json")


def herd(seed=20270525):
    """160 cows and 90 heifers with the faults of a real list, the same for a seed for ever."""
    luck = random.Random(seed)  # noqa: S311  a herd, not a secret
    cows = [
        cow(
            str(2000 + i),
            class_=luck.choice([COW, COW, COW, FIRST_CALF]),
            days=luck.randint(20, 100),
            condition=luck.choice([None, 3.5, 4.0, 4.5, 5.0, 5.5, 6.0]),
            calving_ease=luck.choice([1, 1, 1, 2, 3]),
            hold_reason=luck.choice([None] * 30 + ["lame"]),
        )
        for i in range(160)
    ]
    heifers = [
        heifer(
            str(7000 + i),
            born_on=AI_ON - timedelta(days=luck.randint(350, 470)),
            weight_kg=float(luck.randint(285, 400)),
            tract_score=luck.choice([None, 1, 2, 3, 4, 4, 5, 5]),
        )
        for i in range(90)
    ]
    return cows + heifers


def summary():
    """What a person would notice if it changed: counts, choices, clock times, money."""
    plan = season(
        herd(),
        sires=(Sire("heifers", "B1", "sexed", 0.5), Sire("heifers", "B2", share=0.5)),
        options={"heifers": ("sexed_semen",)},
        events=(Event("haul", AI_ON + timedelta(days=30)),),
    )
    return {
        "groups": [
            {
                "name": group.name,
                "states": dict(group.by_state),
                "later": {str(view.days): view.ready for view in group.later},
                "chosen": group.chosen,
                "fits": [f"{f.protocol} {f.cost_per_female:.2f}" for f in group.fits][:8],
                "rejected": len(group.rejected),
                "steps": [
                    f"{s.id} {s.at_utc:%Y-%m-%dT%H:%MZ} {s.head} {s.straws} {bool(s.label_note)}"
                    for s in group.schedule
                ],
                "cost": round(group.cost_total or 0, 2),
            }
            for group in plan.groups
        ],
        "clashes": [f"{c.kind} {c.group} {c.step} {c.on}" for c in plan.clashes],
        "shopping": [f"{s.item}: {s.quantity:g} {s.unit}" for s in plan.shopping],
        "run_up": len(plan.run_up),
    }


def test_the_stored_season_is_what_it_was():
    assert json.loads(STORED.read_text("utf-8")) == summary()


if __name__ == "__main__":  # pragma: no cover
    STORED.write_text(json.dumps(summary(), indent=1) + "\n", encoding="utf-8")
