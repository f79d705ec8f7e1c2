"""The program ``sunup``: its tasks and their exit codes.

Exit codes: 0 fine, 1 problems found, 2 wrong usage.
"""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from sunup import __version__
from sunup.base.problems import UsageError
from sunup.cli import (
    check,
    exchange,
    explain,
    forecast,
    heats,
    herd,
    ledger,
    plan,
    protocol,
    record,
    record_calf,
    record_measure,
    record_off_plan,
    review,
    scan,
    season,
    stock,
    today,
    trace,
    validate,
)

EPILOG = (
    "Start with: sunup plan herd.csv --first-ai 2027-05-25 --zone America/Denver --out packet. "
    "The label in hand and your veterinarian decide."
)

app = typer.Typer(
    name="sunup",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode="rich",
    add_completion=False,
    epilog=EPILOG,
)
app.command("plan", epilog=plan.EXAMPLE)(plan.plan)
app.command("forecast", epilog=forecast.EXAMPLE)(forecast.forecast)
app.command("trace", epilog=trace.EXAMPLE)(trace.trace)
app.command("validate", epilog=validate.EXAMPLE)(validate.validate)
app.add_typer(herd.app, name="herd")
app.add_typer(protocol.app, name="protocol")
app.add_typer(season.app, name="season")
app.command("today", epilog=today.EXAMPLE)(today.today)
record.app.command("calving", epilog=record_calf.CALVING)(record_calf.calving)
record.app.command("measure", epilog=record_measure.MEASURE)(record_measure.measure)
record.app.command("weaning", epilog=record_calf.WEANING)(record_calf.weaning)
record.app.command("abortion", epilog=record_calf.ABORTION)(record_calf.abortion)
record.app.command("drug", epilog=record_off_plan.DRUG)(record_off_plan.drug)
record.app.command("vaccine", epilog=record_off_plan.VACCINE)(record_off_plan.vaccine)
record.app.command("bull-exam", epilog=record_off_plan.BULL_EXAM)(record_off_plan.bull_exam)
app.add_typer(record.app, name="record")
app.add_typer(heats.app, name="heats")
app.add_typer(scan.app, name="scan")
app.add_typer(stock.app, name="stock")
app.add_typer(exchange.app, name="exchange")
app.add_typer(ledger.app, name="ledger")
app.command("review", epilog=review.EXAMPLE)(review.review)
app.command("check", epilog=check.EXAMPLE)(check.check)
app.command("explain", epilog=explain.EXAMPLE)(explain.explain)


def _version(*, wanted: bool) -> None:
    if wanted:
        print(f"sunup {__version__}")
        raise typer.Exit


@app.callback()
def top(
    *,
    version: Annotated[
        bool,
        typer.Option(
            "--version", callback=lambda v: _version(wanted=v), is_eager=True, help="Print it."
        ),
    ] = False,
) -> None:
    """From a list of cows and heifers to pregnancies by chosen sires."""
    _ = version


def main() -> None:
    """Run the command line; every message a user can cause is words, never a traceback."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    try:
        app()
    except UsageError as error:
        from sunup.cli.show import complain, print_problems

        complain(f"sunup: {error}")
        print_problems(error.problems)
        raise SystemExit(2) from None
    except BrokenPipeError:
        sys.stderr.close()
        raise SystemExit(0) from None
    except KeyboardInterrupt:
        print("sunup: stopped.", file=sys.stderr)
        raise SystemExit(130) from None


if __name__ == "__main__":
    main()
