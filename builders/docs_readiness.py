"""``docs/science/readiness.md``: what the readiness rules rest on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from docs_library import MARKS
from docs_markdown import number, page, table

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sunup.library import Library

# The question a rule answers, and the figures that belong to it, in the order a reader asks.
SUBJECTS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    (
        "Days since calving",
        (
            "A cow's uterus must shrink back and her cycle must start again. Calved too late for "
            "the wanted day, she is *ready on* a later one; the plan says which. A difficult "
            "calving or retained membranes are not a hold: expect less, and have her examined."
        ),
        (
            "days_since_calving_at_ai",
            "days_since_calving_at_first_treatment",
            "first_service_conception_by_days_calved",
            "uterus_recovery_days",
            "calving_ease_difficult",
            "anestrus_days_per_half_hour_labour",
        ),
    ),
    (
        "Body condition and the first calf",
        (
            "Thin cows and cows rearing their first calf start cycling later. That is never a "
            "hold: it decides which protocols fit (one with a progestin) and what to expect."
        ),
        (
            "condition_full",
            "condition_first_calf_full",
            "condition_thin",
            "condition_very_thin",
            "condition_cycling_points",
            "days_cycling_points_per_10d",
            "first_calf_cycling_points",
            "share_cycling_81_90_days",
            "days_to_first_heat_moderate",
            "days_to_first_heat_thin",
            "estrus_share_thin",
            "estrus_share_moderate",
        ),
    ),
    (
        "Heifers: age, weight, tract and pelvis",
        (
            "A heifer under the least age is *ready on* a later day; one under the least share "
            "of her mature weight or with an infantile tract is on hold; the middle ground is "
            "*expect less*. A narrow pelvis is told, for the veterinarian to judge."
        ),
        (
            "heifer_age_min_months",
            "heifer_age_full_months",
            "weight_share_min",
            "weight_share_full",
            "puberty_share_by_weight",
            "season_pregnancy_by_weight",
            "tract_score_hold",
            "tract_score_low",
            "tract_ready_group_share",
            "tract_sync_pregnancy",
            "tract_season_pregnancy",
            "pelvic_area_min_cm2",
        ),
    ),
    (
        "May she be pregnant?",
        (
            "A PGF ends a pregnancy. A female with a bull or inseminated is on hold until a "
            "check says not pregnant, and that check must come late enough after her last "
            "exposure to be believed. How long before a PGF an exposure counts stands in "
            "`practice.exposure_before_pgf_days`."
        ),
        (
            "ultrasound_earliest_days",
            "palpation_earliest_days",
            "blood_earliest_days",
            "blood_days_since_calving",
        ),
    ),
)


def render_readiness(library: Library) -> str:
    """Return the page; a readiness figure that no subject names is an error."""
    held = {key.partition(".")[2] for key in library.figures if key.startswith("readiness.")}
    told = [name for _, _, names in SUBJECTS for name in names]
    if set(told) != held:
        message = (
            "builders/docs_readiness.py: put these readiness figures under a subject, or take them "
            f"out: {sorted(held ^ set(told))}"
        )
        raise SystemExit(message)
    parts = [
        (
            "This page is a list of rules and not a process: it has no mechanism, equations or "
            "plot, and nothing on it is simulated."
        ),
        (
            "Every female is judged for the wanted insemination day: **ready**, **ready, expect "
            "less**, **ready on** a day, or **hold**. Hold is for what forbids. The lines below "
            "are set by the figures shown; where one is assumed or from memory, a careful "
            "adviser may set another in an overlay ([how](../how-to/own_figures.md)), and every "
            "page then marks it as yours. What is not on file is not guessed: she is judged by "
            "the rest, and the plan says what was missing."
        ),
        MARKS,
    ]
    for title, words, names in SUBJECTS:
        parts.append(f"## {title}\n\n{words}\n\n" + _figures(names, library))
    parts.append(
        "## What this leaves out\n\nThe rules judge one female by lines; they do not give her a "
        "chance of conceiving, and they do not know her pasture, her calf's age at weaning, "
        "disease, or how the crew works. Some figures above are held for the reader and used by no "
        "rule yet. What a plan will do to the herd is asked of the "
        "[forecast](../reference/forecast.md)."
    )
    return page("What the readiness rules rest on", "`library/data/readiness.toml`", *parts)


def _figures(names: Iterable[str], library: Library) -> str:
    rows = []
    for name in names:
        figure = library.figure(f"readiness.{name}")
        sources = "; ".join(
            f"{s.author} {s.year}".removesuffix(" -")
            for key in figure.source
            if (s := library.sources.get(key))
        )
        rows.append(
            (
                f"`{figure.key}`",
                f"{number(figure.value)} {figure.unit}".removesuffix(" -"),
                figure.applies,
                f"{figure.kind.value}, {figure.seen.value.replace('_', ' ')}: {sources}",
                figure.note,
            )
        )
    return table(("figure", "value", "applies to", "rests on", "doubt"), rows)
