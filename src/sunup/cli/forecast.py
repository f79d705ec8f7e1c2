"""``sunup forecast``: what the plan will do to this herd."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from sunup.cli.options import (
    AsOf,
    Chart,
    Dates,
    FirstAi,
    FirstTreatment,
    Hours,
    Option,
    Overlay,
    Protocol,
    Region,
    Sire,
    Technicians,
    Watch,
    Weights,
    Zone,
)

if TYPE_CHECKING:
    from sunup.app.forecast_season import SeasonForecast

EXAMPLE = (
    "Example: sunup forecast herd.csv --first-ai 2027-05-25 --zone America/Denver "
    "--protocol cows=co_synch_insert7_cow"
)


def forecast(
    herd_file: Annotated[
        Path, typer.Argument(help="CSV or XLSX with a header row; 'tag' is the only must.")
    ],
    first_ai: FirstAi = None,
    first_treatment: FirstTreatment = None,
    zone: Zone = None,
    hours: Hours = None,
    protocol: Protocol = None,
    option: Option = None,
    sire: Sire = None,
    watch: Watch = None,
    technicians: Technicians = None,
    region: Region = None,
    late: Annotated[
        float, typer.Option(min=0, max=1, help="Share given the last PGF late, e.g. 0.05.")
    ] = 0.0,
    late_hours: Annotated[
        float | None, typer.Option(min=0, max=72, help="How late, in hours; 12 if not said.")
    ] = None,
    missed: Annotated[
        float, typer.Option(min=0, max=1, help="Share that misses the last PGF, e.g. 0.02.")
    ] = 0.0,
    against: Annotated[
        list[str] | None,
        typer.Option(
            help="GROUP=KEY to run beside what is chosen, on the same females with the same luck; "
            "bulls_alone is a key, KEY+KEY a protocol with a second AI after it.",
            metavar="GROUP=KEY",
        ),
    ] = None,
    past: Annotated[
        list[str] | None,
        typer.Option(
            help="A past season of yours: GROUP=KEY:PREGNANT/INSEMINATED; as often as you have.",
            metavar="GROUP=KEY:N/N",
        ),
    ] = None,
    resynch: Annotated[
        list[str] | None,
        typer.Option(
            help="GROUP=KEY: a second AI of those not pregnant, before any bulls: resync_watch, "
            "resync_us28_cosynch, ...",
            metavar="GROUP=KEY",
        ),
    ] = None,
    bulls: Annotated[
        list[str] | None,
        typer.Option(
            help="How many bulls go in: GROUP=3 or GROUP=3:yearling; without it enough of them.",
            metavar="GROUP=N",
        ),
    ] = None,
    bulls_after: Annotated[
        float | None, typer.Option(min=0, help="Days from the last insemination to bulls in.")
    ] = None,
    no_bulls: Annotated[
        bool, typer.Option("--no-bulls", help="No bulls after the inseminations.")
    ] = False,
    season_days: Annotated[
        float | None, typer.Option(min=1, max=365, help="Days of the breeding season.")
    ] = None,
    seed: Annotated[
        int, typer.Option(min=0, max=2**64 - 1, help="The same seed gives the same numbers.")
    ] = 1,
    replicates: Annotated[int, typer.Option(min=20, max=100_000, help="Seasons simulated.")] = 500,
    dates: Dates = None,
    weights: Weights = None,
    as_of: AsOf = None,
    overlay: Overlay = None,
    chart: Chart = None,
    json_: Annotated[bool, typer.Option("--json", help="Print the forecasts as JSON.")] = False,
) -> None:
    """Forecast what the plan will do: heats by half-day, pregnancies, calving, cost.

    Plans the season as `sunup plan` does and runs every treated female through the simulator with
    the planned hours. Says what it rests on, what it assumed and what it leaves out.
    """
    from sunup.app.forecast_asked import (
        LATE_H,
        Asked,
        check_wishes,
        read_bulls,
        read_keys,
        read_past,
        read_seconds,
    )
    from sunup.app.forecast_kernel import prepare_kernel
    from sunup.app.forecast_season import forecast_season
    from sunup.app.plan_season import find_today
    from sunup.app.wishes import Wishes, make_request, read_pairs
    from sunup.cli.forecast_view import Progress, forecast_to_json, print_forecasts
    from sunup.cli.show import has_errors, print_json, print_problems
    from sunup.exchange.herd_file import HerdReading

    bulls_of = read_bulls(read_pairs(bulls, "--bulls"))
    check_wishes(
        no_bulls=no_bulls,
        bulls=bulls_of,
        bulls_after=bulls_after,
        season_days=season_days,
        late=late,
        late_hours=late_hours,
        missed=missed,
    )
    request = make_request(
        Wishes(
            plain={"zone": zone, "region": region},
            first_ai=first_ai,
            first_treatment=first_treatment,
            hours=hours,
            as_of=as_of,
            protocols=read_pairs(protocol, "--protocol"),
            options=read_pairs(option, "--option"),
            sires=read_pairs(sire, "--sire"),
            watches=read_pairs(watch, "--watch"),
            technicians=read_pairs(technicians, "--technicians"),
        ),
        today=find_today(),
    )
    if chart is not None:
        from sunup.app.forecast_charts import check_picture

        check_picture(chart)
    prepare_kernel(lambda words: print(words, file=sys.stderr))
    season = forecast_season(
        herd_file,
        request,
        asked=Asked(
            seed=seed,
            replicates=replicates,
            share_late=late,
            late_h=LATE_H if late_hours is None else late_hours,
            share_missed=missed,
            bulls_after_days=bulls_after,
            season_days=season_days,
            no_bulls=no_bulls,
            past=read_past(read_pairs(past, "--past")),
            against=read_keys(read_pairs(against, "--against")),
            bulls=bulls_of,
            second=read_seconds(read_pairs(resynch, "--resynch")),
        ),
        reading=HerdReading(date_order=dates, weight_unit=weights),
        overlay=overlay,
        as_of_given=as_of is not None,
        tell=Progress(),
    )
    written = () if chart is None else _write_charts(season, chart)
    if json_:
        print_json(forecast_to_json(season) | {"files": [str(path) for path in written]})
    else:
        print_forecasts(season)
        for path in written:
            print(f"written: {path}")
        print_problems(season.problems)
    if has_errors(season.problems):
        raise typer.Exit(1)


def _write_charts(season: "SeasonForecast", chart: Path) -> tuple[Path, ...]:
    from sunup.app.forecast_charts import write_forecast_charts

    return write_forecast_charts(season, chart)
