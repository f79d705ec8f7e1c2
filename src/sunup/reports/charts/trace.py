"""One female by the hour: hormones, follicles, corpora lutea and events on one line of time."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor
from typing import TYPE_CHECKING

from sunup.reports.charts import look
from sunup.reports.charts.chart import Chart

if TYPE_CHECKING:
    from collections.abc import Sequence

_DAY_H = 24.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TraceLine:
    """A quantity through time: a hormone, one follicle's diameter, one corpus luteum.

    `hours` count from zero of the schedule, ascending, as many as `values`. `name` is written at
    the line's highest point where it is not empty.
    """

    hours: tuple[float, ...]
    values: tuple[float, ...]
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TraceEvent:
    """Something at an hour. `given`: people did it (GnRH, insert, AI); else her body did."""

    hour: float
    words: str
    given: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FemaleTrace:
    """All that is drawn of one female.

    Parameters
    ----------
    title : str
        Who she is and what was done: ``A cow on day 7 of her cycle, 7-day CO-Synch + insert``.
    progesterone : TraceLine
        ng/mL.
    estradiol : TraceLine
        In `estradiol_words`.
    follicles : tuple of TraceLine
        One line a follicle, in `follicles_words`: mm across.
    lutea : tuple of TraceLine
        One line a corpus luteum, in `lutea_words`.
    events : tuple of TraceEvent
    estradiol_words, follicles_words, lutea_words : str
        What each plot draws, with its unit.
    outcome, seed_words : str
        What became of her, and how to see her again, in sentences.
    """

    title: str
    progesterone: TraceLine
    estradiol: TraceLine
    follicles: tuple[TraceLine, ...]
    lutea: tuple[TraceLine, ...]
    events: tuple[TraceEvent, ...]
    estradiol_words: str = "estradiol, pg/mL"
    follicles_words: str = "follicles, mm across"
    lutea_words: str = "corpus luteum, mm across"
    outcome: str = ""
    seed_words: str = ""


def trace_chart(trace: FemaleTrace, fmt: look.Format) -> Chart:
    """Return the trace as five plots that share the days.

    Parameters
    ----------
    trace : FemaleTrace
    fmt : Format

    Returns
    -------
    Chart
        Its table has a row an event and a row a day and line.
    """
    span = _span(trace, fmt)
    views = [_events(trace, fmt, span)]
    plots = (
        ("progesterone", "progesterone, ng/mL", (trace.progesterone,), look.BLUE, ()),
        ("estradiol", trace.estradiol_words, (trace.estradiol,), look.CRIMSON, look.DASHED),
        ("follicles", trace.follicles_words, trace.follicles, look.GREEN, ()),
        ("lutea", trace.lutea_words, trace.lutea, look.OCHRE, look.DASHED),
    )
    for key, words, lines, colour, dash in plots:
        views.append(
            _plot(
                trace, fmt, span,
                key=key, words=words, lines=lines, colour=colour, dash=dash, last=key == "lutea",
            )
        )  # fmt: skip
    below = " ".join(
        part
        for part in (
            "One possible female, not the average.",
            trace.outcome,
            "Solid upright lines: what people did; dotted: what her body did.",
            trace.seed_words,
        )
        if part
    )
    return Chart(
        key="trace",
        title=trace.title,
        alt=_alt(trace),
        spec=look.panels(fmt, title=trace.title, below=below, views=views),
        head=("day", "hour", "what", "value"),
        rows=_rows(trace),
    )


def _span(trace: FemaleTrace, fmt: look.Format) -> tuple[float, float]:
    """Return whole days that hold every hour, and room for the words of late events."""
    hours = [h for line in _lines(trace) for h in line.hours] + [e.hour for e in trace.events]
    if not hours:
        return 0.0, _DAY_H
    first = _DAY_H * floor(min(hours) / _DAY_H)
    room = look.panel_width(fmt)
    ends = [max(hours)] + [
        first + (e.hour - first) * room / max(room / 2, room - _wide(e, fmt)) for e in trace.events
    ]
    return first, max(first + _DAY_H, _DAY_H * ceil(max(ends) / _DAY_H))


def _wide(event: TraceEvent, fmt: look.Format) -> float:
    return fmt.wide(event.words) + fmt.text


def _lines(trace: FemaleTrace) -> tuple[TraceLine, ...]:
    return (trace.progesterone, trace.estradiol, *trace.follicles, *trace.lutea)


def _day(hour: float) -> int:
    return floor(hour / _DAY_H)


def _alt(trace: FemaleTrace) -> str:
    told = "; ".join(
        f"day {_day(e.hour)} hour {floor(e.hour % _DAY_H)}, {e.words}"
        for e in sorted(trace.events, key=lambda e: e.hour)
    )
    peak = max(trace.progesterone.values, default=0.0)
    largest = max((max(line.values, default=0.0) for line in trace.follicles), default=0.0)
    return (
        f"{trace.title}: hormones, follicles and corpora lutea by the hour of one possible female. "
        f"Progesterone reaches {peak:.1f} ng/mL, the largest follicle {largest:.0f} mm. "
        f"Events: {told or 'none'}. {trace.outcome}"
    ).strip()


def _rows(trace: FemaleTrace) -> tuple[tuple[str | int | float, ...], ...]:
    out: list[tuple[str | int | float, ...]] = [
        (_day(e.hour), e.hour, e.words, "") for e in sorted(trace.events, key=lambda e: e.hour)
    ]
    named = [("progesterone, ng/mL", trace.progesterone), (trace.estradiol_words, trace.estradiol)]
    named += [(f"follicle {i}, mm", line) for i, line in enumerate(trace.follicles, 1)]
    named += [(f"corpus luteum {i} ({trace.lutea_words})", c) for i, c in enumerate(trace.lutea, 1)]
    for words, line in named:
        seen = None
        for hour, value in zip(line.hours, line.values, strict=True):
            if _day(hour) != seen:
                seen = _day(hour)
                out.append((seen, hour, words, value))
    return tuple(out)


def _time(fmt: look.Format, span: tuple[float, float], *, last: bool) -> look.Spec:
    first, end = span
    days = round((end - first) / _DAY_H)
    every = next(
        k
        for k in (1, 2, 5, 7, 14, 28, 10_000)
        if look.panel_width(fmt) / days * k >= fmt.text * 1.9
    )
    ticks = [first + _DAY_H * i for i in range(days + 1) if (first / _DAY_H + i) % every == 0]
    return {
        "field": "hour",
        "type": "quantitative",
        "scale": {"domain": list(span), "nice": False, "zero": False},
        "axis": {
            **look.ticks_at(ticks),
            "labels": last,
            "ticks": last,
            "labelExpr": "datum.value / 24",
            "title": "day (0: first step)" if last else None,
            "gridOpacity": 0.7,
        },
    }


def _plot(
    trace: FemaleTrace,
    fmt: look.Format,
    span: tuple[float, float],
    *,
    key: str,
    words: str,
    lines: Sequence[TraceLine],
    colour: str,
    dash: tuple[float, ...],
    last: bool,
) -> look.Spec:
    x = _time(fmt, span, last=last)
    top = max((max(line.values, default=0.0) for line in lines), default=0.0) or 1.0
    y = {
        "field": "value",
        "type": "quantitative",
        "scale": {"domain": [0, top * 1.25], "nice": False},
        "axis": look.upright(fmt, tickCount=3, tickMinStep=0.5),
    }
    drawn = [
        {"hour": hour, "value": value, "line": i}
        for i, line in enumerate(lines)
        for hour, value in zip(line.hours, line.values, strict=True)
    ]
    named = [
        dict(zip(("value", "hour"), max(zip(line.values, line.hours, strict=True)), strict=True))
        | {"text": line.name}
        for line in lines
        if line.name and line.values
    ]
    return {
        "height": fmt.text * 6,
        "title": look.panel_title(fmt, words),
        "layer": [
            *_rules(trace, x),
            look.layer_of(
                key, drawn,
                {"type": "line", "color": colour, "strokeWidth": 2,
                 "strokeDash": list(dash) or [1, 0]},
                x=x, y=y, detail={"field": "line", "type": "nominal"},
            ),
            look.layer_of(
                f"words_{key}", named,
                {"type": "text", "align": "center", "dy": -fmt.text * 0.9, "fontSize": fmt.text,
                 "color": look.INK},
                x=x, y=y, text={"field": "text"},
            ),
        ],
    }  # fmt: skip


def _rules(trace: FemaleTrace, x: look.Spec) -> list[look.Spec]:
    return [
        look.layer_of(
            "rule_given" if given else "rule_happened",
            [{"hour": event.hour} for event in trace.events if event.given is given],
            {"type": "rule", "color": look.LINE, "strokeWidth": 0.9,
             "strokeDash": [1, 0] if given else list(look.DOTTED)},
            x=x,
        )
        for given in (True, False)
    ]  # fmt: skip


def _events(trace: FemaleTrace, fmt: look.Format, span: tuple[float, float]) -> look.Spec:
    """Return the lane of events: each word beside its mark, on the first free line."""
    x = _time(fmt, span, last=False)
    x["axis"] = None
    placed, lanes = _placed(trace, fmt, span)
    pitch = fmt.text * 1.35
    high = round(max(1, lanes) * pitch)
    y = {
        "field": "y",
        "type": "quantitative",
        "scale": {"domain": [high, 0], "nice": False, "zero": False},
        "axis": None,
    }
    rows = [row | {"y": (row["lane"] + 0.5) * pitch, "end": high} for row in placed]
    layers = []
    for given in (True, False):
        mine = [row for row in rows if row["given"] is given]
        name = "given" if given else "happened"
        layers += [
            look.layer_of(
                f"stem_{name}", mine,
                {"type": "rule", "color": look.INK_2, "strokeWidth": 0.9,
                 "strokeDash": [1, 0] if given else list(look.DOTTED)},
                x=x, y=y, y2={"field": "end"},
            ),
            look.layer_of(
                f"event_{name}", mine,
                {"type": "point", "shape": "triangle-down" if given else "circle", "opacity": 1,
                 "size": fmt.text * 4, "stroke": look.INK, "strokeWidth": 1.3,
                 "fill": look.INK if given else fmt.ground},
                x=x, y=y,
            ),
        ]  # fmt: skip
    layers.append(
        look.layer_of(
            "words_events", rows,
            {"type": "text", "align": "left", "baseline": "middle", "dx": 0.55 * fmt.text,
             "fontSize": fmt.text},
            x=x, y=y, text={"field": "words"},
        )
    )  # fmt: skip
    return {"height": high, "layer": layers}


def _placed(
    trace: FemaleTrace, fmt: look.Format, span: tuple[float, float]
) -> tuple[list[look.Spec], int]:
    """Give each event a line: under every earlier event whose word reaches it.

    So no word meets another, and no stem runs through a word.
    """
    per_hour = look.panel_width(fmt) / (span[1] - span[0])
    ends: list[tuple[float, int]] = []  # how far a word reaches, and its line
    out = []
    for event in sorted(trace.events, key=lambda e: e.hour):
        at = (event.hour - span[0]) * per_hour
        lane = 1 + max((lane for end, lane in ends if end > at - fmt.text / 2), default=-1)
        ends.append((at + _wide(event, fmt), lane))
        out.append(
            {"hour": event.hour, "words": event.words, "given": event.given, "lane": lane}
        )  # fmt: skip
    return out, 1 + max((lane for _, lane in ends), default=0)
