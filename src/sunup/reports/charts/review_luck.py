"""What was seen, set among fifty seasons foreseen by the forecast kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.forecast.forecast import DOTS
from sunup.planning.review_luck import MEASURES, against_words
from sunup.reports.charts.counts import round_half_up
from sunup.reports.charts.pregnancy import pregnancy_chart
from sunup.reports.charts.season_dots import SeasonDots

if TYPE_CHECKING:
    from sunup.planning.review_luck import Against
    from sunup.reports.charts import look
    from sunup.reports.charts.chart import Chart


def luck_chart(against: Against, fmt: look.Format) -> Chart:
    """Return fifty foreseen seasons as dots, with what was seen as the mark among them.

    Parameters
    ----------
    against : Against
    fmt : Format

    Returns
    -------
    Chart
    """
    what = MEASURES[against.measure]
    seen = round(100.0 * against.seen / against.of, 1)
    counts = tuple(
        min(against.of, max(0, round_half_up(against.foreseen.count_at((i + 0.5) / DOTS))))
        for i in range(DOTS)
    )
    row = SeasonDots(
        name="Foreseen before the season", n=against.of, counts=counts, note=against_words(against)
    )
    title = f"{against.group}: {against.seen} of {against.of} {what}, among 50 seasons foreseen"
    return pregnancy_chart(
        [row], fmt, group=against.group, mark=seen, what=what, mark_word="seen", title=title
    )
