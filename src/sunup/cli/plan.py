"""``sunup plan``: from a herd file to a season's packet."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from sunup.cli.options import (
    AsOf,
    Column,
    Dates,
    FirstAi,
    FirstTreatment,
    Hours,
    Option,
    Overlay,
    Protocol,
    Region,
    Sheet,
    Sire,
    Technicians,
    Watch,
    Weights,
    Zone,
)

if TYPE_CHECKING:
    from sunup.app.plan_season import Outcome

EXAMPLE = (
    "Example: sunup plan herd.csv --first-ai 2027-05-25 --zone America/Denver "
    "--protocol cows=co_synch_insert7_cow --sire heifers=B12:sexed --out packet"
)


def plan(
    herd_file: Annotated[
        Path,
        typer.Argument(
            help="CSV or XLSX with a header row; 'tag' is the only must. - reads what is piped in."
        ),
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
    drug: Annotated[
        list[str] | None,
        typer.Option(help="STEP=ACTIVE/STRENGTH, e.g. pgf=dinoprost/5.", metavar="STEP=DRUG"),
    ] = None,
    region: Region = None,
    ranch: Annotated[str | None, typer.Option(help="Name printed on everything.")] = None,
    prescriber: Annotated[
        str | None, typer.Option(help="Veterinarian who authorises the drugs.")
    ] = None,
    chutes: Annotated[int | None, typer.Option(min=1, help="Chutes working side by side.")] = None,
    split: Annotated[
        list[str] | None, typer.Option(help="GROUP=N starts a day apart.", metavar="GROUP=N")
    ] = None,
    max_passes: Annotated[
        int | None, typer.Option(min=1, help="Most times through the chute.")
    ] = None,
    no_watching: Annotated[
        bool, typer.Option("--no-watching", help="Nobody can watch for heats.")
    ] = False,
    vaccination: Annotated[
        list[str] | None,
        typer.Option(help="Day of a vaccination, to check against.", metavar="[GROUP=]DATE"),
    ] = None,
    haul: Annotated[
        list[str] | None,
        typer.Option(help="Day cattle are hauled, to check against.", metavar="[GROUP=]DATE"),
    ] = None,
    diet_change: Annotated[
        list[str] | None,
        typer.Option(help="Day the ration changes, to check against.", metavar="[GROUP=]DATE"),
    ] = None,
    earlier_days: Annotated[
        float | None, typer.Option(help="Days AI calves come earlier on your ranch, on average.")
    ] = None,
    dates: Dates = None,
    weights: Weights = None,
    column: Column = None,
    sheet: Sheet = None,
    as_of: AsOf = None,
    overlay: Overlay = None,
    again: Annotated[
        Path | None,
        typer.Option(help="A plan file: its settings and ids are kept.", metavar="PLANFILE"),
    ] = None,
    out: Annotated[Path | None, typer.Option(help="Folder for the packet.", metavar="DIR")] = None,
    paper: Annotated[str, typer.Option(help="letter or a4.")] = "letter",
    no_pdf: Annotated[bool, typer.Option("--no-pdf", help="Leave the PDF out.")] = False,
    show_all: Annotated[
        bool, typer.Option("--all", help="Show older and research protocols too.")
    ] = False,
    forecast: Annotated[
        bool,
        typer.Option("--forecast", help="Simulate what each choice will do to these females."),
    ] = False,
    seed: Annotated[
        int, typer.Option(min=0, max=2**64 - 1, help="Of the forecast: same seed, same numbers.")
    ] = 1,
    replicates: Annotated[
        int, typer.Option(min=20, max=100_000, help="Seasons simulated for the forecast.")
    ] = 200,
    json_: Annotated[bool, typer.Option("--json", help="Print the plan as JSON.")] = False,
) -> None:
    """Say who is ready and which protocols fit; lay them out to the hour; write the packet.

    Reads a herd file, judges every female for the wanted first insemination day, sorts the
    protocols that fit each group with their cost beside bulls alone, chooses clock times, and
    writes PDF, calendar, workbook and plan file into --out.
    """
    from sunup.app.plan_season import PLAN_FILE, find_today, plan_season, write_packet
    from sunup.app.wishes import Wishes, make_request, read_pairs
    from sunup.cli.plan_view import print_plan
    from sunup.cli.show import has_errors, print_json, print_problems
    from sunup.exchange.herd_file import HerdReading
    from sunup.exchange.plan_file import plan_to_json

    events = (("vaccination", vaccination), ("haul", haul), ("diet", diet_change))
    request = make_request(
        Wishes(
            plain={
                "zone": zone,
                "region": region,
                "ranch": ranch,
                "prescriber": prescriber,
                "chutes": chutes,
                "max_passes": max_passes,
                "earlier_days": earlier_days,
            },
            first_ai=first_ai,
            first_treatment=first_treatment,
            hours=hours,
            as_of=as_of,
            watching=not no_watching,
            protocols=read_pairs(protocol, "--protocol"),
            options=read_pairs(option, "--option"),
            sires=read_pairs(sire, "--sire"),
            watches=read_pairs(watch, "--watch"),
            technicians=read_pairs(technicians, "--technicians"),
            drugs=read_pairs(drug, "--drug"),
            splits=read_pairs(split, "--split"),
            events=tuple((kind, text) for kind, texts in events for text in texts or ()),
        ),
        today=find_today(),
        former=again,
    )
    former = again
    if former is None and out is not None and (out / PLAN_FILE).exists():
        former = out / PLAN_FILE  # a calendar already handed out keeps its ids
    outcome = plan_season(
        herd_file,
        request,
        reading=HerdReading(
            date_order=dates,
            weight_unit=weights,
            columns=dict(read_pairs(column, "--column")),
            sheet=sheet,
        ),
        overlay=overlay,
        previous=former,
        as_of_given=as_of is not None,
    )
    if forecast:
        outcome = _with_forecasts(outcome, seed=seed, replicates=replicates, overlay=overlay)
    if out is not None:
        outcome = write_packet(outcome, out, pdf=not no_pdf, paper=paper)
    if json_:
        print_json(_as_json(outcome, plan_to_json(outcome.plan)))
    else:
        print_plan(outcome, show_all=show_all)
        print_problems(outcome.problems)
    if has_errors(outcome.problems):
        raise typer.Exit(1)


def _as_json(outcome: "Outcome", data: dict[str, Any]) -> dict[str, Any]:
    data["problems"] = [p.to_json() for p in outcome.problems]
    data["files"] = [str(path) for path in outcome.files]
    return data


def _with_forecasts(
    outcome: "Outcome", *, seed: int, replicates: int, overlay: Path | None
) -> "Outcome":
    import sys

    from sunup.app.forecast_asked import Asked
    from sunup.app.forecast_kernel import prepare_kernel
    from sunup.app.forecast_plan import add_forecasts
    from sunup.cli.forecast_view import Progress

    prepare_kernel(lambda words: print(words, file=sys.stderr))
    return add_forecasts(
        outcome, asked=Asked(seed=seed, replicates=replicates), overlay=overlay, tell=Progress()
    )
