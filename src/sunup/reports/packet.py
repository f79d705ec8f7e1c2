"""The packet: everything printed for a season, as one PDF."""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import as_file, files
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

import typst

from sunup.base.hours import find_zone
from sunup.base.problems import UsageError
from sunup.reports.day_sheets import day_sheets
from sunup.reports.packet_forecast import forecast_pages, natural_count
from sunup.reports.packet_lists import (
    readiness_page,
    run_up_page,
    shopping_page,
    to_look_at,
    vet_page,
)
from sunup.reports.packet_season import choices_page, season_page
from sunup.reports.packet_sheets import sheet_values
from sunup.reports.printable import printable
from sunup.reports.tags_apart import with_tags_apart

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from zoneinfo import ZoneInfo

    from sunup.forecast.forecast import Forecast
    from sunup.planning.plan import Plan

PAPERS = {"letter": "us-letter", "a4": "a4"}
_TEMPLATES = (
    "main.typ",
    "look.typ",
    "contents.typ",
    "season.typ",
    "forecast.typ",
    "lists.typ",
    "sheets.typ",
)


class UnknownPaperError(UsageError):
    """A paper size we have no layout for."""

    def __init__(self, paper: str) -> None:
        super().__init__(f"'{paper}' is not a paper size we print on. Use {' or '.join(PAPERS)}.")


def render_packet(
    plan: Plan,
    *,
    paper: str = "letter",
    forecasts: Mapping[str, Forecast] = MappingProxyType({}),
    compared: Mapping[str, Sequence[Forecast]] = MappingProxyType({}),
) -> bytes:
    """Render the season's packet as an accessible PDF (PDF/UA-1).

    Season summary, forecasts, run-up, readiness, the veterinarian's page, shopping and the choices
    stand upright; the day sheets lie on their side.

    Parameters
    ----------
    plan : Plan
        `made_at_utc` is printed and becomes the file's date: the clock is not read.
    paper : str
        "letter" or "a4".
    forecasts : mapping of group name to Forecast, optional
        Of the chosen protocol of each group; a group without one has no forecast page.
    compared : mapping of group name to forecasts, optional
        Of other protocols and of bulls alone, drawn beside the chosen one.

    Returns
    -------
    bytes
        The same plan gives the same bytes.

    Raises
    ------
    UnknownPaperError
        If `paper` is neither.
    """
    if paper not in PAPERS:
        raise UnknownPaperError(paper)
    zone = find_zone(plan.zone)
    values = packet_values(plan, zone, forecasts, compared) | {"paper": PAPERS[paper]}
    sources = _templates() | {"data.json": json.dumps(values, ensure_ascii=False).encode()}
    with as_file(files("sunup.reports") / "fonts") as fonts:
        return typst.compile(  # type: ignore[call-overload,no-any-return]  # takes a dict too
            sources,
            font_paths=[str(fonts)],
            ignore_system_fonts=True,
            pdf_standards=["ua-1"],
            timestamp=plan.made_at_utc,
        )


def packet_values(
    plan: Plan,
    zone: ZoneInfo,
    forecasts: Mapping[str, Forecast] = MappingProxyType({}),
    compared: Mapping[str, Sequence[Forecast]] = MappingProxyType({}),
) -> dict[str, Any]:
    """Return all the packet says, as plain values, with what no font can draw replaced."""
    plan, _ = with_tags_apart(plan)
    values = {
        "ranch": plan.ranch,
        "title": f"{plan.ranch}: {plan.season}",
        "program": plan.program_version,
        "season": season_page(
            plan, zone, {name: natural_count(told) for name, told in forecasts.items()}
        ),
        "forecasts": forecast_pages(plan, zone, forecasts, compared),
        "run_up": run_up_page(plan),
        "readiness": readiness_page(plan),
        "problems": to_look_at(plan),
        "vet": vet_page(plan, zone),
        "shopping": shopping_page(plan),
        "choices": choices_page(plan),
        "sheets": [sheet_values(plan, sheet, zone) for sheet in day_sheets(plan, zone)],
    }
    drawn, lost = printable(values)
    return dict(drawn) | {"lost": lost}


@cache
def _templates() -> dict[str, bytes]:
    folder = files("sunup.reports") / "templates"
    return {name: (folder / name).read_bytes() for name in _TEMPLATES}
