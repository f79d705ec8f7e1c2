"""``docs/reference/plan_file.md``: every field of plan.json, from the types it is written from."""

from __future__ import annotations

import re
from dataclasses import fields
from typing import Any

from docs_markdown import page, table
from docs_plan_words import MEANINGS
from sunup.base.problems import Problem
from sunup.planning import plan as p
from sunup.planning.plan import PLAN_SCHEMA_VERSION

KINDS: tuple[tuple[type[Any], str], ...] = (
    (p.Plan, "the document"),
    (p.FemaleLine, "an entry of `females`"),
    (p.Reason, "an entry of a female's `reasons`"),
    (p.GroupPlan, "an entry of `groups`"),
    (p.Fit, "an entry of a group's `fits`"),
    (p.ForecastSummary, "`forecast` of a fit, of a group and of bulls alone"),
    (p.Money, "one cost"),
    (p.Published, "a published result beside a protocol"),
    (p.Rejected, "an entry of a group's `rejected`"),
    (p.BullsAlone, "a group's `bulls_alone`"),
    (p.LaterView, "an entry of a group's `later`"),
    (p.ScheduledStep, "an entry of a group's `schedule`"),
    (p.DoseLine, "the `dose` of a step"),
    (p.Capacity, "an entry of a group's `capacity`"),
    (p.SireUse, "an entry of a group's `sires`"),
    (p.Clash, "an entry of `clashes`"),
    (p.ShoppingLine, "an entry of `shopping`"),
    (p.RunUpItem, "an entry of `run_up`"),
    (Problem, "an entry of `problems`"),
)
_ADDED = {
    "Plan": (("schema_version", "number", f"{PLAN_SCHEMA_VERSION}; a file of another is refused"),),
    "ScheduledStep": (
        (
            "at_local",
            "text",
            "the same instant on the ranch's clock with its offset; not read back",
        ),
        ("ml", "number or null", "millilitres for all doses of the step; not read back"),
    ),
}
_PLAIN = {
    "str": "text",
    "int": "number",
    "float": "number",
    "bool": "true/false",
    "date": "date",
    "datetime": "instant",
    "State": "text",
    "Severity": "text",
    "dict[str, Any]": "object",
    "None": "null",
}
_JSON_FIELDS = (
    (
        "sunup herd check",
        (
            "`as_of`, `rows`, `females` (how many loaded), `columns` [{`header`, `field`}], "
            "`unused`, `groups`, `known` [{`fact`, `n`}], `problems`"
        ),
    ),
    (
        "sunup protocol list",
        (
            "`protocols` [{`key`, `name`, `standing`, `style`, `classes`, `passes`, `days`, "
            "`watch_days`, `published_pregnancy_to_ai_pct`}]"
        ),
    ),
    (
        "sunup protocol show",
        (
            "everything the page shows: `key`, `name`, `standing`, `steps`, `label_notes`, "
            "`results`, `cautions`, `sources` and more"
        ),
    ),
    ("sunup check", "`library_version`, `counts`, `problems`"),
    ("sunup explain", "`what`, `lines` [[name, text]]"),
)
_ONLY_JSON = (
    "## What `--json` prints besides\n\n`sunup plan ... --json` prints the same document with two "
    "differences: `problems` also holds what was wrong in the library, each with "
    "`row`, `column` and `value` where it has them (absent ones are left out), and `files` lists "
    "what was written.\n\nThe other commands print small documents, each with `schema_version` "
    "1:\n\n" + table(("command", "fields"), ((f"`{a}`", b) for a, b in _JSON_FIELDS))
)


def render_plan_file() -> str:
    """Return the page; a field without a meaning is an error that names it."""
    missing = [
        f"{kind.__name__}.{f.name}"
        for kind, _ in KINDS
        for f in fields(kind)
        if f"{kind.__name__}.{f.name}" not in MEANINGS
    ]
    if missing:
        message = f"builders/docs_plan_words.py: say what these mean: {', '.join(missing)}"
        raise SystemExit(message)
    parts = [
        (
            "`plan.json` is everything a season's packet is made from, lossless: give it to "
            "`sunup plan HERDFILE --again plan.json` to plan again with the same settings, ids "
            "and order. Instants are UTC as `2027-05-25T12:00:00Z`, dates `2027-05-25`; what is "
            "not known is `null`. Nothing is rounded. A reader should pass over fields it does "
            f"not know: fields may be added within form {PLAN_SCHEMA_VERSION}, never taken away "
            "or given another meaning."
        ),
        (
            "Ids (`uid`) are random, made once, and kept when the plan is made again, so that a "
            "calendar moves an entry instead of showing it twice. `sequence` counts the moves."
        ),
        _ONLY_JSON,
    ]
    for kind, place in KINDS:
        rows = [
            *_ADDED.get(kind.__name__, ()),
            *(
                (f.name.rstrip("_"), _shape(str(f.type)), MEANINGS[f"{kind.__name__}.{f.name}"])
                for f in fields(kind)
            ),
        ]
        parts.append(
            f"## {kind.__name__}: {place}\n\n"
            + table(("field", "form", "meaning"), ((f"`{a}`", b, c) for a, b, c in rows))
        )
    return page("The plan file", "`sunup/planning/plan.py`", *parts)


def _shape(annotation: str) -> str:
    """Return an annotation in the words of JSON: a list of, or null."""
    options = [option.strip() for option in re.split(r"\|(?![^\[]*\])", annotation)]
    words = []
    for option in options:
        many = re.fullmatch(r"tuple\[(.+), \.\.\.\]", option)
        pair = re.fullmatch(r"tuple\[((?:\w+, )+\w+)\]", option)
        if many:
            words.append(f"list of {_shape(many[1])}")
        elif pair:
            words.append(f"[{', '.join(_shape(part) for part in pair[1].split(', '))}]")
        else:
            words.append(_PLAIN.get(option, option))
    return " or ".join(words)
