"""``sunup explain``: where a number came from."""

from pathlib import Path
from typing import Annotated

import typer

from sunup.cli.options import Json, Overlay

EXAMPLE = (
    "Example: sunup explain readiness.days_since_calving_at_ai   or   "
    "sunup explain co_synch_insert7_cow.ai   or   sunup explain cows/ai --plan packet/plan.json   "
    "or   sunup explain cows --forecast forecast.json"
)


def explain(
    what: Annotated[
        str,
        typer.Argument(
            help="A figure (practice.work_rate_ai), a protocol or its step (KEY.STEP), an active, "
            "a source; with --plan a step of a plan (GROUP/STEP) or a female (tag); with "
            "--forecast a group."
        ),
    ],
    plan: Annotated[Path | None, typer.Option(help="Plan file to explain from.")] = None,
    forecast: Annotated[
        Path | None, typer.Option(help="Forecast to explain from: sunup forecast ... --json.")
    ] = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """Say where a number came from: value, unit, kind, how the source was seen, the source."""
    from sunup.app.explain import explain as find
    from sunup.cli.show import print_json, print_pairs

    lines = find(what, plan_file=plan, forecast_file=forecast, overlay=overlay)
    if json_:
        print_json({"schema_version": 1, "what": what, "lines": [list(p) for p in lines]})
        return
    print_pairs(lines)
