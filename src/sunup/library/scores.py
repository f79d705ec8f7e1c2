"""Scoring scales from ``scores.toml``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.base.figures import Seen
from sunup.library.library import Score, ScoreLevel
from sunup.library.toml_tables import entries

if TYPE_CHECKING:
    from sunup.library.toml_tables import Table
    from sunup.library.toml_text import Reading


def read_scores(reading: Reading, values: dict[str, Any]) -> dict[str, Score]:
    """Read ``scores.toml``; a scale with a fault is left out."""
    scores: dict[str, Score] = {}
    for key, table in entries(reading, values):
        before = reading.count
        lowest, highest = table.number("lowest", low=0.0), table.number("highest", low=0.0)
        is_scale_sound = reading.count == before
        score = Score(
            key=key,
            name=table.text("name"),
            lowest=lowest,
            highest=highest,
            step=table.number("step", low=0.0),
            levels=_read_levels(table, scale=(lowest, highest) if is_scale_sound else None),
            rules=table.texts_or_empty("rules"),
            source=table.sources(),
            seen=table.word("seen", Seen),
        )
        table.finish()
        if is_scale_sound and highest <= lowest:
            table.wrong("highest", f"{highest:g} is not above {lowest:g}.", "Correct the scale.")
        if table.has("step") and score.step <= 0:
            table.wrong("step", "the step is not more than 0.", "Write the step, such as 0.5.")
        if reading.count == before:
            scores[key] = score
    return scores


def _read_levels(table: Table, *, scale: tuple[float, float] | None) -> tuple[ScoreLevel, ...]:
    levels: list[ScoreLevel] = []
    for one in table.subtables("levels"):
        level = ScoreLevel(
            score=one.number("score"),
            name=one.text("name"),
            text=one.text("text"),
            facts=_read_facts(one),
        )
        one.finish()
        if one.has("score") and scale and not scale[0] <= level.score <= scale[1]:
            one.wrong(
                "score",
                f"{level.score:g} is outside the scale.",
                f"Allowed: {scale[0]:g} to {scale[1]:g}.",
            )
        if level.score in {other.score for other in levels}:
            one.wrong("score", f"{level.score:g} stands twice.", "Keep one of them.")
        levels.append(level)
    return tuple(levels)


def _read_facts(table: Table) -> tuple[tuple[str, str], ...]:
    if not table.has("facts"):
        table.raw("facts")
        return ()
    facts = table.subtable("facts")
    if facts is None:
        return ()
    return tuple((name, facts.text(name)) for name in facts.names)
