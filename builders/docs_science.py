"""The written parts of ``docs/science``: figures of a process, and simulated beside published.

The pages are by hand; between ``<!-- NAME: written by builders/docs.py -->`` and ``<!-- end -->``
stands what is written here. What was simulated comes from ``results/science.json``, which
``science.py`` measured last; nothing is run here.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from docs_markdown import number, table
from science_panels import PAGES
from science_published import agreed, read_measured, read_published, simulated_for

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from science_panels import Panel
    from science_published import Line, Published
    from sunup.base.figures import Figure
    from sunup.library import Library

DOCS = Path(__file__).parents[1] / "docs"
STEM = "physiology."
LONG, LONG_STEP = 12, 3  # of a published line with more points, every third stands in the table
DIGITS = {"%": 0, "points": 1, "ratio": 2, "h": 1, "d": 1, "ng/mL": 1}
# which page a figure belongs to, by how its name begins; the longest beginning counts
PAGE_OF = {
    "waves": (
        "emergence_ deviation_ growth_ plateau_ lh_half dominance_ clock_ turnover_ "
        "wave_after_ovulation indicus_smaller"
    ),
    "luteum": "luteum_ luteolysis_ short_luteum_ pgf_ insert_ mga_ indicus_progesterone",
    "heat": (
        "estradiol_ lift_ exposure_memory surge_ heat_ first_heat_silent stands_ seen_ riding_ "
        "signs_ indicus_heat indicus_ovulation pregnant_heat false_"
    ),
    "not_cycling": (
        "anestrus_ anestrous_ cycle_days no_heat_since first_ovulation condition_best "
        "first_calf_later first_calf_per thin_ puberty_ weight_share progestin_ calf_off "
        "gnrh_reach bull_anestrus_"
    ),
    "drugs": "gnrh_ ester_ benzoate_ cypionate_ ecg_",
    "fertility": (
        "early_ late_ sexed_ fertile fertilised loss_ lost_ no_exposure exposure_half "
        "old_follicle prior_p4 ovulation_p4 cross_fertile indicus_fertile barren_ postpartum_ "
        "began_ unripe_ first_calf_worth condition_ bull_ check_from same_service sperm_life "
        "ovum_life"
    ),
}
# figures that are not of the animal alone, by the page that tells of their process: whole keys
OTHERS = {
    "heat": "forecast.stands_alone forecast.stands_with_one",
    "herd": (
        "forecast.condition_mean forecast.condition_sd forecast.days_since_calving_mean "
        "forecast.days_since_calving_sd forecast.calving_day_unsure_d forecast.heifers_cycling "
        "forecast.heat_known_days forecast.puberty_age_months forecast.puberty_age_sd_months "
        "forecast.puberty_age_cross_months forecast.puberty_age_indicus_months "
        "forecast.cycling_by_tract_score"
    ),
    "season": (
        "bulls.served_per_day bulls.served_per_21_d bulls.ratio_15_18_months "
        "bulls.ratio_24_months_up "
        "practice.cleanup_bulls_after_days practice.season_days_cows practice.season_days_heifers "
        "readiness.days_since_calving_at_ai gestation.default"
    ),
    "luck": (
        "forecast.herd_logit_sd forecast.herd_lasting_share forecast.technician_logit_sd_trained "
        "forecast.technician_logit_sd_usual forecast.technician_logit_sd_untrained "
        "forecast.model_logit_sd forecast.model_logit_sd_indicus"
    ),
    "heat_seen": (
        "practice.heat_aid_rubbed_share breeding.one_heat_gap_h breeding.patch_stale_d "
        "breeding.blood_after_heat_d breeding.heat_length_range_h breeding.heat_too_long_h "
        "breeding.heats_too_close_d breeding.usual_cycle_d breeding.short_cycle_d "
        "breeding.two_cycles_d practice.return_watch_days practice.watch_times_per_day "
        "practice.morning_evening_h practice.ai_after_onset_h practice.sexed_after_onset_h "
        "breeding.too_late_after_onset_h practice.heat_over_days practice.long_progestin_days "
        "practice.heat_to_pass_days breeding.first_heat_after_progestin_pct "
        "breeding.after_short_interval_pct physiology.pregnant_heat_share"
    ),
    "ai_or_bull": (
        "breeding.conception_ai breeding.conception_bull breeding.return_days "
        "breeding.return_shares practice.return_watch_days physiology.pregnant_heat_share "
        "breeding.returns_seen_share breeding.ultrasound_possible_days "
        "breeding.palpation_possible_days breeding.blood_possible_days "
        "readiness.ultrasound_earliest_days readiness.palpation_earliest_days "
        "readiness.blood_earliest_days breeding.fetal_age_error_d breeding.fetal_age_good_days "
        "breeding.fetal_age_error_outside_d gestation.default gestation.heifer_dam "
        "gestation.male_calf gestation.male_calf_indicus gestation.twins gestation.range_days "
        "practice.sire_called_from_chance"
    ),
}
PROCESSES = tuple(dict.fromkeys((*PAGES, *OTHERS)))


def page_of(name: str) -> str:
    """Return the page that tells of a figure of the animal.

    Raises
    ------
    SystemExit
        If none does: a new figure has to be put on a page.
    """
    found = [
        (len(start), page)
        for page, starts in PAGE_OF.items()
        for start in starts.split()
        if name.startswith(start)
    ]
    if not found:
        message = f"builders/docs_science.py: put physiology.{name} on a page, in PAGE_OF."
        raise SystemExit(message)
    return max(found)[1]


def render_process(page: str, library: Library) -> str:
    """Return a page of ``docs/science`` with its written parts as they would be now."""
    parts = {"figures": _figures(page, library)}
    if page in PAGES:
        _, panels = PAGES[page]
        measured = read_measured()
        parts["compared"] = _compared(page, panels, measured["series"], measured["females"])
    return filled(DOCS / "science" / f"{page}.md", parts)


def filled(path: Path, parts: Mapping[str, str]) -> str:
    """Return a page with each part put between its marks.

    Raises
    ------
    SystemExit
        If a page lacks the marks of a part.
    """
    text = path.read_text(encoding="utf-8")
    for name, part in parts.items():
        first = f"<!-- {name}: written by builders/docs.py -->"
        pattern = re.compile(f"{re.escape(first)}\n.*?<!-- end -->", re.DOTALL)
        if len(pattern.findall(text)) != 1:
            message = f"{path}: expected once '{first}' and below it '<!-- end -->'."
            raise SystemExit(message)
        text = pattern.sub(lambda _: f"{first}\n{part.strip()}\n<!-- end -->", text)  # noqa: B023
    return text


def _figures(page: str, library: Library) -> str:
    names = [key.removeprefix(STEM) for key in library.figures if key.startswith(STEM)]
    keys = [STEM + name for name in names if page_of(name) == page] if page in PAGE_OF else []
    rows = [_figure(library.figure(key), library, name=key.removeprefix(STEM)) for key in keys]
    rows += [
        _figure(library.figure(key), library, name=key) for key in OTHERS.get(page, "").split()
    ]
    asked = f"{STEM}NAME" if keys else "NAME"
    return (
        "How each was *seen* is explained on the page of [figures](../reference/figures.md); "
        f"`sunup explain {asked}` prints one with its sources.\n\n"
    ) + table(("figure", "value", "unit", "kind", "seen", "source", "what it is, and doubt"), rows)


def _figure(figure: Figure, library: Library, *, name: str) -> tuple[str, ...]:
    sources = "; ".join(
        f"{source.author} {source.year}".rstrip(" -")
        for key in figure.source
        if (source := library.sources.get(key))
    )
    prior = re.search(r"prior .*$", figure.where)
    applies = "" if figure.key.startswith(STEM) or not figure.applies else f"{figure.applies}. "
    note = applies[:1].upper() + applies[1:] + figure.note
    note += f" Before the fit: {prior[0].removeprefix('prior ')}." if prior else ""
    return (
        f"`{name}`",
        number(figure.value),
        figure.unit,
        figure.kind.value,
        figure.seen.value.replace("_", " "),
        sources,
        note,
    )


def _compared(
    page: str, panels: Iterable[Panel], measured: Mapping[str, Line], females: int
) -> str:
    published = read_published()
    rows: list[tuple[str, ...]] = []
    pairs: list[tuple[Published, float | None]] = []
    for panel in panels:
        for key, name in panel.series:
            own = [(p, simulated_for(p, measured[key])) for p in published if p.series == key]
            pairs += own
            told = own[:: LONG_STEP if len(own) > LONG else 1]
            rows += [_row(panel, name, one, simulated) for one, simulated in told]
    inside, judged = agreed(pairs)
    title = PAGES[page][0]
    return (
        f"![{title}: simulated and published](../pictures/science_{page}.svg)\n\n"
        f"Simulated with {females:,} females a value (some fewer, some more), luck fixed. Of "
        f"{judged} published figures with an interval or a range, {inside} hold what is simulated; "
        "*outside* is said where not. Of long lines every third point is listed.\n\n"
        + table(("what", "published", "simulated", "whose", "source", "seen"), rows)
    )


def _row(panel: Panel, name: str, one: Published, simulated: float | None) -> tuple[str, ...]:
    digits = DIGITS[panel.unit]
    what = name if not panel.axis else _place(panel, name, one)
    unit = "" if panel.unit in {"ratio", "points"} else f" {panel.unit}"
    ends = (
        ""
        if one.low is None or one.high is None
        else f"{max(0.0, one.low):.{digits}f}-{one.high:.{digits}f}"
    )
    if one.value is None:
        told = f"{ends}{unit}"
    else:
        told = f"{one.value:.{digits}f}{unit}" + (f" ({ends})" if ends else "")
    if one.range not in {"", "range"} and one.value is not None:
        told += f", {one.range}"
    got = "not simulated" if simulated is None else f"{simulated:.{digits}f}{unit}"
    if simulated is not None and one.low is not None and one.high is not None:
        got += "" if one.low <= simulated <= one.high else ", outside"
    return what, told, got, one.who, one.source, one.seen.replace("_", " ")


def _before(title: str) -> str:
    return re.split(r"[,:]", title)[0].lower().replace("pgf", "PGF").replace("gnrh", "GnRH")


def _place(panel: Panel, name: str, one: Published) -> str:
    where = f"{one.first:g}" if one.first == one.last else f"{one.first:g} to {one.last:g}"
    named = f", {name}" if len(panel.series) > 1 else ""
    return f"{_before(panel.title)}{named}, {panel.place.format(where)}"
