"""The charts of a review, in the order in which it is read."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from sunup.planning.review import ALL
from sunup.reports.charts.review_calving import calved_chart
from sunup.reports.charts.review_luck import luck_chart
from sunup.reports.charts.review_pooled import pooled_chart

if TYPE_CHECKING:
    from sunup.planning.review import Review
    from sunup.reports.charts.chart import Chart
    from sunup.reports.charts.look import Format

_DRAWN = frozenset({"pregnant_to_ai"})


def charts_of_review(review: Review, fmt: Format) -> dict[str, tuple[Chart, ...]]:
    """Return the charts by the part of the review they belong to.

    Parameters
    ----------
    review : Review
    fmt : Format

    Returns
    -------
    dict of str to tuple of Chart
        Parts: ``luck``, ``compared``, ``measures``; keys of charts differ within a review.
    """
    luck = [luck_chart(one, fmt) for one in review.against if one.measure in _DRAWN]
    several = sum(told.calvings is not None for told in review.measures) > 2
    calved = [
        chart
        for told in review.measures
        if (several or told.group != ALL) and (chart := calved_chart(told, fmt)) is not None
    ]
    return {
        "luck": _numbered("review_luck", luck),
        "compared": tuple(pooled_chart(one, fmt) for one in review.comparisons),
        "measures": _numbered("review_calving", calved),
    }


def _numbered(key: str, charts: list[Chart]) -> tuple[Chart, ...]:
    return tuple(replace(chart, key=f"{key}_{i + 1}") for i, chart in enumerate(charts))
