"""``sunup trace``: one female under a protocol, hour by hour."""

import sys
from typing import TYPE_CHECKING, Annotated

import typer

from sunup.cli.options import Chart, Overlay, Region

if TYPE_CHECKING:
    from pathlib import Path

EXAMPLE = "Example: sunup trace --cycle-day 7 --protocol co_synch_insert7_cow"


def trace(
    protocol: Annotated[str, typer.Option(help="Key of the protocol.", metavar="KEY")],
    cycle_day: Annotated[
        float | None,
        typer.Option(help="Days since her last heat when the protocol begins; leave out: 7."),
    ] = None,
    not_cycling: Annotated[
        bool, typer.Option("--not-cycling", help="She does not cycle yet.")
    ] = False,
    class_: Annotated[
        str, typer.Option("--class", help="heifer, first_calf_cow or cow.", metavar="CLASS")
    ] = "cow",
    days_calved: Annotated[
        float | None,
        typer.Option(help="Cows: days since calving when the protocol begins; leave out: 70."),
    ] = None,
    condition: Annotated[
        float | None,
        typer.Option(
            min=1, max=9, help="Body condition, 1 to 9; leave out: forecast.condition_mean."
        ),
    ] = None,
    seed: Annotated[int, typer.Option(min=0, help="Her luck: another seed, another female.")] = 1,
    region: Region = None,
    overlay: Overlay = None,
    chart: Chart = None,
    json_: Annotated[bool, typer.Option("--json", help="Print every hour as JSON.")] = False,
) -> None:
    """Follow one female by the hour: hormones, follicle, corpus luteum and what happens.

    She is one of many she could be: try other seeds.
    """
    from dataclasses import asdict

    from sunup.app.forecast_kernel import prepare_kernel
    from sunup.app.forecast_trace import trace_female, trace_problems
    from sunup.base.problems import UsageError
    from sunup.cli.forecast_view import print_trace
    from sunup.cli.show import has_errors, print_json, print_problems

    if not_cycling and cycle_day is not None:
        message = "Give --cycle-day or --not-cycling, not both."
        raise UsageError(message)
    if chart is not None:
        from sunup.app.forecast_charts import check_picture, write_trace_chart

        check_picture(chart)
    prepare_kernel(lambda words: print(words, file=sys.stderr))
    followed, words = trace_female(
        protocol,
        class_=class_,
        cycle_day=None if not_cycling else 7.0 if cycle_day is None else cycle_day,
        seed=seed,
        days_postpartum=days_calved,
        condition=condition,
        overlay=overlay,
    )
    problems = trace_problems(protocol, class_=class_, region=region, overlay=overlay)
    written: tuple[Path, ...] = ()
    if chart is not None:
        day = "not cycling" if not_cycling else f"day {7 if cycle_day is None else cycle_day:g}"
        title = f"{class_.replace('_calf_', '-calf ')}, {day}: {protocol}"
        written = write_trace_chart(followed, chart, title=title, seed=seed)
    if json_:
        told = {
            "schema_version": 1,
            "problems": [problem.to_json() for problem in problems],
            "rests_on": [words],
            "files": [str(path) for path in written],
        }
        print_json(told | asdict(followed))
    else:
        print_trace(followed, words)
        for path in written:
            print(f"written: {path}")
        print_problems(problems)
    if has_errors(problems):
        raise typer.Exit(1)
