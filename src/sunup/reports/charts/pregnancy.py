"""Pregnant to AI as dots: fifty equally likely seasons a protocol, on one axis."""

from __future__ import annotations

from math import ceil, floor
from typing import TYPE_CHECKING

from sunup.reports.charts import look
from sunup.reports.charts.chart import Chart
from sunup.reports.charts.counts import whole

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sunup.reports.charts.season_dots import SeasonDots

HALF = 50.0  # of 100: the mark where nobody has set another
_LEAST_SPAN = 40.0  # of 100: a narrower axis makes small differences look large
_OVER = 4.0  # of 100: room for half a dot beyond none and all
_MOST_HIGH = 9.0  # text sizes a pile of dots may be high
_LEAST_DOT = 0.45  # of the text size
_MOST_COLUMNS = 8
_LEAST_PILE = 5  # dots: flatter piles hide where seasons gather


def pregnancy_chart(
    rows: Sequence[SeasonDots],
    fmt: look.Format,
    *,
    group: str,
    mark: float = HALF,
    what: str = "pregnant to AI",
    mark_word: str = "mark",
    title: str | None = None,
    also: str = "",
) -> Chart:
    """Return one row of dots a protocol, in the order given, on one axis "of 100".

    Parameters
    ----------
    rows : sequence of SeasonDots
        One or more.
    fmt : Format
    group : str
    mark : float
        The user's own threshold, of 100 females. Seasons that reach it are filled dots.
    what : str
        What is counted.
    mark_word : str
        What the mark is called: a wish, or what was seen.
    title : str, optional
    also : str
        A sentence for the end of the caption.

    Returns
    -------
    Chart
    """
    title = title or f"Females {what} in 50 possible seasons: {group}"
    return Chart(
        key="pregnancy",
        title=title,
        alt=f"{title}. " + " ".join(f"{_named(row)}: {_said(row, mark, what)}." for row in rows),
        spec=look.one_view(
            fmt,
            title=title,
            below=" ".join(filter(None, (_below(rows, mark, what), also))),
            **_drawn(rows, fmt, mark, what, mark_word),
        ),
        head=(
            "protocol", "females", f"seasons with {mark:g} of 100 or more",
            "middle season, females", "least", "most",
            "all seasons, females",
        ),
        rows=tuple(
            (
                _named(row), row.n, row.reaching(mark), row.middle,
                min(row.counts, default=0), max(row.counts, default=0),
                " ".join(str(count) for count in sorted(row.counts)),
            )
            for row in rows
        ),
    )  # fmt: skip


def _below(rows: Sequence[SeasonDots], mark: float, what: str) -> str:
    seasons = max((len(row.counts) for row in rows), default=0)
    each = f"Each dot is one of {seasons} equally likely seasons."
    if all(row.n == 1 for row in rows):
        return f"{each} Filled: she is {what}."
    return f"{each} Filled: {mark:g} of 100 or more. Triangle: the middle season."


def _named(row: SeasonDots) -> str:
    return f"{row.name} ({row.note})" if row.note else row.name


def _said(row: SeasonDots, mark: float, what: str) -> str:
    if not any(row.counts):
        return f"none of {row.n:,} {what}"
    if row.n == 1:
        return _row_words(row, mark, what)
    return (
        f"{mark:g} of 100 or more in {row.reaching(mark)} of {len(row.counts)} seasons; "
        f"middle season {whole(row.of_100(row.middle))} of 100"
        f" ({whole(row.middle)} of {row.n:,} females)"
    )


def _row_words(row: SeasonDots, mark: float, what: str) -> str:
    if not any(row.counts):
        return f"none {what} in any season"
    if row.n == 1:
        return f"{what} in {sum(row.counts)} of {len(row.counts)} seasons"
    return (
        f"in {row.reaching(mark)} of {len(row.counts)} seasons {mark:g} or more; "
        f"middle season {whole(row.of_100(row.middle))}"
    )


def _domain(rows: Sequence[SeasonDots], mark: float) -> tuple[float, float]:
    """Return whole tens about all dots and the mark, a little over where they reach 0 or 100."""
    values = [row.of_100(c) for row in rows if any(row.counts) for c in row.counts] + [mark]
    low, high = 10 * floor((min(values) - 2) / 10), 10 * ceil((max(values) + 2) / 10)
    while high - low < _LEAST_SPAN:
        low, high = (low - 10, high) if low + high > 100 else (low, high + 10)
    return max(-_OVER, float(low)), min(100 + _OVER, float(high))


def _binned(row: SeasonDots, width: float, mark: float) -> list[tuple[float, int, bool]]:
    """Return each dot as (of 100, place in its pile, reaches the mark).

    Bins are whole counts of females, and one begins at the least count that reaches the mark, so no
    pile holds seasons of both sides.
    """
    if not any(row.counts):
        return []
    wide = max(1, round(width * row.n / 100.0))
    start = row.least_count(mark)
    piles: dict[int, int] = {}
    out = []
    for count in sorted(row.counts):
        pile = (count - start) // wide
        centre = start + pile * wide + (wide - 1) / 2
        out.append((row.of_100(centre), piles.get(pile, 0), count >= start))
        piles[pile] = piles.get(pile, 0) + 1
    return out


def _sized(
    rows: Sequence[SeasonDots], fmt: look.Format, mark: float, per_100: float
) -> tuple[list[list[tuple[float, int, bool]]], float]:
    """Return the dots of each row as (of 100, level, reaches) and one diameter for all.

    The finest bins that make piles are taken; a pile too high for its row stands in columns.
    """
    for width in (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 8.0, 10.0):
        binned = [_binned(row, width, mark) for row in rows]
        steps = [max(1, round(width * row.n / 100.0)) * 100.0 / row.n for row in rows if row.n]
        room = per_100 * min(steps, default=10.0)
        tallest = 1 + max((place for row in binned for _, place, _ in row), default=0)
        flattest = min((max(place for _, place, _ in row) for row in binned if row), default=0)
        if room >= _LEAST_DOT * fmt.text and flattest + 1 >= _LEAST_PILE:
            break
    columns = 1
    while (
        columns < _MOST_COLUMNS
        and _diameter(fmt, room, tallest, columns) < _LEAST_DOT * fmt.text
        and _diameter(fmt, room, tallest, columns + 1) > _diameter(fmt, room, tallest, columns)
    ):
        columns += 1
    dot = _diameter(fmt, room, tallest, columns)
    placed = [
        [
            (
                of_100 + (place % columns - (columns - 1) / 2) * dot / per_100,
                place // columns,
                reaches,
            )
            for of_100, place, reaches in row
        ]
        for row in binned
    ]
    return placed, dot


def _diameter(fmt: look.Format, room: float, tallest: int, columns: int) -> float:
    """Return the largest dot that fits its bin and lets the tallest pile fit its row."""
    return min(fmt.text, room / columns, _MOST_HIGH * fmt.text / ceil(tallest / columns))


def _drawn(
    rows: Sequence[SeasonDots],
    fmt: look.Format,
    mark: float,
    what: str,
    mark_word: str,
) -> look.Spec:
    """Return height and layers; upright places are px, worked out here."""
    low, high = _domain(rows, mark)
    binned, dot = _sized(rows, fmt, mark, (fmt.width - 30) / (high - low))
    line = fmt.text * 1.3
    rows_of: dict[str, list[look.Spec]] = {
        "dots": [], "texts": [], "bases": [], "middles": [], "edges": [],
    }  # fmt: skip
    top = line * 1.2
    for row, places in zip(rows, binned, strict=True):
        tallest = max((height + 1 for _, height, _ in places), default=0)
        rows_of["texts"] += [
            {"y": top + line * 0.75, "text": _named(row), "bold": True},
            {"y": top + line * 1.75, "text": _row_words(row, mark, what), "bold": False},
        ]
        base = top + line * 2.8 + tallest * dot  # two lines of words end at 2.25, the mark below
        if places:
            rows_of["edges"].append({"of_100": mark, "y": base - tallest * dot - 3, "end": base})
        rows_of["bases"].append({"y": base + 1, "from": low, "to": high})
        rows_of["dots"] += [
            {"of_100": of_100, "y": base - (height + 0.5) * dot, "reaches": reaches}
            for of_100, height, reaches in places
        ]
        if places and row.n > 1:
            rows_of["middles"].append(
                {"of_100": row.of_100(row.middle), "y": base + fmt.text * 0.55}
            )
        top = base + fmt.text * 1.7
    return {
        "height": round(top),
        "layer": _layers(
            fmt, rows_of, domain=(low, high), high=top, dot=dot, mark=mark, mark_word=mark_word
        ),
    }


def _layers(
    fmt: look.Format,
    rows_of: dict[str, list[look.Spec]],
    *,
    domain: tuple[float, float],
    high: float,
    dot: float,
    mark: float,
    mark_word: str,
) -> list[look.Spec]:
    x = {
        "field": "of_100",
        "type": "quantitative",
        "scale": {"domain": list(domain), "nice": False, "zero": False},
        "axis": {"title": "of 100 females", "tickCount": 5, "grid": True, "gridOpacity": 0.6},
    }
    y = {
        "field": "y",
        "type": "quantitative",
        "scale": {"domain": [round(high), 0], "nice": False, "zero": False},
        "axis": None,
    }
    area = 3.14159 * (dot * 0.82 / 2) ** 2
    line = fmt.text * 1.3
    marks: list[look.Spec] = [
        look.layer_of(
            "base", rows_of["bases"], {"type": "rule", "color": look.INK_2, "strokeWidth": 1},
            x=x | {"field": "from"}, x2={"field": "to"}, y=y,
        ),
        look.layer_of(
            "threshold", rows_of["edges"],
            {"type": "rule", "color": look.INK, "strokeWidth": 1.4,
             "strokeDash": list(look.DASHED)},
            x=x, y=y, y2={"field": "end"},
        ),
        look.layer_of(
            "threshold_words",
            [{"of_100": mark, "y": line * 0.4, "text": f"{mark_word}: {mark:g} of 100"}],
            {"type": "text", "fontWeight": "bold", "fontSize": fmt.text},
            x=x, y=y, text={"field": "text"},
        ),
    ]  # fmt: skip
    for name, reaches in (("short", False), ("reaching", True)):
        marks.append(
            look.layer_of(
                name,
                [row for row in rows_of["dots"] if row["reaches"] is reaches],
                {
                    "type": "circle" if reaches else "point",
                    "size": area, "opacity": 1,
                    "stroke": look.BLUE, "strokeWidth": max(1.0, dot * 0.13),
                    "fill": look.BLUE if reaches else fmt.ground,
                },
                x=x, y=y,
            )
        )  # fmt: skip
    marks.append(
        look.layer_of(
            "middle", rows_of["middles"],
            {"type": "point", "shape": "triangle-up", "size": fmt.text * 5, "opacity": 1,
             "fill": look.INK, "stroke": look.INK},
            x=x, y=y,
        )
    )  # fmt: skip
    for name, bold in (("names", True), ("words", False)):
        marks.append(
            look.layer_of(
                name,
                [row for row in rows_of["texts"] if row["bold"] is bold],
                {
                    "type": "text", "align": "left", "baseline": "middle",
                    "fontWeight": "bold" if bold else "normal", "fontSize": fmt.text,
                    "limit": fmt.width - 16,
                },
                x={"value": 0}, y=y, text={"field": "text"},
            )
        )  # fmt: skip
    return marks
