"""The review of a season as a PDF."""

from __future__ import annotations

import json
import re
from functools import cache
from importlib.resources import as_file, files
from typing import TYPE_CHECKING, Any

import typst

import sunup
from sunup.base.hours import find_zone, to_local
from sunup.reports import words
from sunup.reports.charts.draw import draw_svg
from sunup.reports.charts.look import PAPER
from sunup.reports.charts.of_review import charts_of_review
from sunup.reports.packet import PAPERS, UnknownPaperError
from sunup.reports.printable import printable
from sunup.reports.review_values import review_parts

if TYPE_CHECKING:
    from sunup.planning.review import Review
    from sunup.reports.charts.chart import Chart

_TEMPLATES = ("review.typ", "look.typ")
_MOST = 400  # rows of one table on paper: the ledger lists all
_RANGE = re.compile(r"\(([+-]?\d+) to ([+-]?\d+)\)")
_PICTURED = {
    "Is it luck?": "luck",
    "Sires and technicians": "compared",
    "Standard measures": "measures",
}


def render_review(review: Review, *, paper: str = "letter") -> bytes:
    """Render a review as an accessible PDF (PDF/UA-1).

    Parameters
    ----------
    review : Review
        Its `at` is printed and becomes the file's date: the clock is not read.
    paper : str
        "letter" or "a4".

    Returns
    -------
    bytes
        The same review gives the same bytes.

    Raises
    ------
    UnknownPaperError
        If `paper` is neither.
    """
    if paper not in PAPERS:
        raise UnknownPaperError(paper)
    values = review_values(review) | {"paper": PAPERS[paper]}
    sources = {
        "main.typ": _templates()["review.typ"],
        "look.typ": _templates()["look.typ"],
        "data.json": json.dumps(values, ensure_ascii=False).encode(),
    }
    with as_file(files("sunup.reports") / "fonts") as fonts:
        return typst.compile(  # type: ignore[call-overload,no-any-return]  # takes a dict too
            sources,
            font_paths=[str(fonts)],
            ignore_system_fonts=True,
            pdf_standards=["ua-1"],
            timestamp=review.at,
        )


def review_values(review: Review) -> dict[str, Any]:
    """Return all the review says on paper, as plain values."""
    charts = charts_of_review(review, PAPER)
    parts = [
        {
            "title": part.title,
            "sentences": list(part.sentences),
            "pictures": [
                _picture(chart) for chart in charts.get(_PICTURED.get(part.title, ""), ())
            ],
            "tables": [
                {
                    "title": table.title,
                    "head": list(table.head),
                    "rows": [[_held(cell) for cell in row] for row in table.rows[:_MOST]],
                    "words": [table.is_words(i) for i in range(len(table.head))],
                    "note": _note(table.note, len(table.rows)),
                }
                for table in part.tables
            ],
        }
        for part in review_parts(review)
    ]
    values = {
        "title": f"{review.ranch}: review of {review.season}",
        "program": sunup.__version__,
        "ranch": review.ranch,
        "season": review.season,
        "on": words.day(to_local(review.at, find_zone(review.zone)).date()),
        "parts": parts,
        "problems": [str(problem) for problem in review.problems],
    }
    drawn, lost = printable(values)
    return dict(drawn) | {"lost": lost}


def _held(cell: str) -> str:
    """Let no line end inside a range in brackets."""
    return _RANGE.sub("(\\1\u00a0to\u00a0\\2)", cell)


def _note(note: str, rows: int) -> str:
    return note if rows <= _MOST else f"{note} {rows - _MOST} more rows are not printed.".strip()


def _picture(chart: Chart) -> dict[str, str]:
    svg, _ = printable(draw_svg(chart))
    return {"svg": svg, "alt": chart.alt}


@cache
def _templates() -> dict[str, bytes]:
    folder = files("sunup.reports") / "templates"
    return {name: (folder / name).read_bytes() for name in _TEMPLATES}
