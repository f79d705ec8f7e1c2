"""Use-case: pictures of a forecast, and of one female, as files."""

from __future__ import annotations

import os
import re
from typing import TYPE_CHECKING

from sunup.app.open import FileError
from sunup.app.plan_season import write_whole
from sunup.base.hours import find_zone
from sunup.reports.charts.draw import ENDINGS, UnknownPictureError, draw_files
from sunup.reports.charts.followed import trace_of
from sunup.reports.charts.look import DESK
from sunup.reports.charts.of_forecast import charts_of, clock_instant
from sunup.reports.charts.trace import trace_chart

if TYPE_CHECKING:
    from pathlib import Path

    from sunup.app.forecast_season import SeasonForecast
    from sunup.forecast.follow import Followed


def check_picture(path: Path) -> None:
    """Refuse a picture that could not be written, before it is worked out.

    Raises
    ------
    UsageError
        If the ending is neither .svg nor .png, or the folder is not there or may not be written.
    """
    if path.suffix.lower() not in ENDINGS:
        raise UnknownPictureError(path.suffix or path.name)
    if not path.parent.is_dir():
        message = f"There is no folder '{path.parent}' for '{path.name}'. Make it first."
        raise FileError(message)
    if not os.access(path.parent, os.W_OK):
        message = f"Nothing may be written in the folder '{path.parent}'. Name another."
        raise FileError(message)


def write_forecast_charts(season: SeasonForecast, path: Path) -> tuple[Path, ...]:
    """Write the charts of every group: pregnancy, heats, why not pregnant, calving.

    Parameters
    ----------
    season : SeasonForecast
    path : Path
        ``out.svg`` or ``out.png``; the group's name (where there are several) and the chart's key
        are added: ``out_cows_heats.svg``.

    Returns
    -------
    tuple of Path
        The files written.

    Raises
    ------
    UsageError
        If the ending is another, or a file cannot be written.
    """
    plan = season.outcome.plan
    zone = find_zone(plan.zone)
    groups = {group.name: group for group in plan.groups}
    written: list[Path] = []
    for told in season.groups:
        own = path
        if len(season.groups) > 1:
            own = path.with_stem(f"{path.stem}_{_file_word(told.group)}")
        charts = charts_of(
            told.chosen,
            DESK,
            compared=told.others,
            are_named=True,
            clock_utc=clock_instant(groups[told.group], told.chosen),
            zone=zone,
        )
        written += [write_whole(file, content) for file, content in draw_files(charts, own)]
    return tuple(written)


def write_trace_chart(followed: Followed, path: Path, *, title: str, seed: int) -> tuple[Path, ...]:
    """Write the chart of one female.

    Raises
    ------
    UsageError
        If the ending is neither .svg nor .png, or the file cannot be written.
    """
    chart = trace_chart(trace_of(followed, title=title, seed=seed), DESK)
    return tuple(write_whole(file, content) for file, content in draw_files([chart], path))


def _file_word(group: str) -> str:
    """Return a group's name as part of a file's name."""
    return re.sub(r"[^\w-]+", "_", group).strip("_") or "group"
