"""The packet: everything printed for a season, as one PDF."""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import as_file, files
from typing import TYPE_CHECKING, Any

import typst

from sunup.base.hours import find_zone
from sunup.base.problems import UsageError
from sunup.reports.day_sheets import day_sheets
from sunup.reports.packet_lists import readiness_page, run_up_page, shopping_page, vet_page
from sunup.reports.packet_season import choices_page, season_page
from sunup.reports.packet_sheets import sheet_values
from sunup.reports.printable import printable

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from sunup.planning.plan import Plan

PAPERS = {"letter": "us-letter", "a4": "a4"}
_TEMPLATES = ("main.typ", "look.typ", "season.typ", "lists.typ", "sheets.typ")


class UnknownPaperError(UsageError):
    """A paper size we have no layout for."""

    def __init__(self, paper: str) -> None:
        super().__init__(f"'{paper}' is not a paper size we print on. Use {' or '.join(PAPERS)}.")


def render_packet(plan: Plan, *, paper: str = "letter") -> bytes:
    """Render the season's packet as an accessible PDF (PDF/UA-1).

    Season summary, run-up, readiness, the veterinarian's page, shopping and the choices stand
    upright; the day sheets lie on their side.

    Parameters
    ----------
    plan : Plan
        `made_at_utc` is printed and becomes the file's date: the clock is not read.
    paper : str
        "letter" or "a4".

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
    values = packet_values(plan, find_zone(plan.zone)) | {"paper": PAPERS[paper]}
    sources = _templates() | {"data.json": json.dumps(values, ensure_ascii=False).encode()}
    with as_file(files("sunup.reports") / "fonts") as fonts:
        return typst.compile(  # type: ignore[call-overload,no-any-return]  # takes a dict too
            sources,
            font_paths=[str(fonts)],
            ignore_system_fonts=True,
            pdf_standards=["ua-1"],
            timestamp=plan.made_at_utc,
        )


def packet_values(plan: Plan, zone: ZoneInfo) -> dict[str, Any]:
    """Return all the packet says, as plain values, with what no font can draw replaced."""
    values = {
        "ranch": plan.ranch,
        "title": f"{plan.ranch}: {plan.season}",
        "program": plan.program_version,
        "season": season_page(plan, zone),
        "run_up": run_up_page(plan),
        "readiness": readiness_page(plan),
        "problems": [(p.where, p.what, p.fix) for p in plan.problems],
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
