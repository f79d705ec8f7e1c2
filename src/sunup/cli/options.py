"""Options that several commands share, each said once."""

from collections.abc import Callable
from pathlib import Path
from typing import Annotated

import typer

from sunup.base.problems import UsageError


def _one_of(*known: str) -> Callable[[typer.CallbackParam, str | None], str | None]:
    """Refuse another word, before any work is done."""

    def checked(param: typer.CallbackParam, value: str | None) -> str | None:
        if value is not None and value not in known:
            message = f"{param.opts[0]} '{value}': say {', '.join(known[:-1])} or {known[-1]}."
            raise UsageError(message)
        return value

    return checked


FirstAi = Annotated[
    str | None, typer.Option(help="Wanted first insemination: DATE or DATETHH:MM.", metavar="DATE")
]
FirstTreatment = Annotated[
    str | None, typer.Option(help="Or plan forward from this day.", metavar="DATE")
]
Zone = Annotated[str | None, typer.Option(help="IANA time zone of the ranch.")]
Hours = Annotated[str | None, typer.Option(help="Working hours.", metavar="06:00-20:00")]
Protocol = Annotated[
    list[str] | None, typer.Option(help="GROUP=KEY; once for each group.", metavar="GROUP=KEY")
]
Option = Annotated[
    list[str] | None,
    typer.Option(
        help="GROUP=sexed_semen | no_gnrh_for_rubbed | calf_removal_48h.", metavar="GROUP=OPTION"
    ),
]
Sire = Annotated[
    list[str] | None, typer.Option(help="GROUP=CODE[:sexed][:SHARE].", metavar="GROUP=CODE")
]
Watch = Annotated[
    list[str] | None,
    typer.Option(
        help="How heats are watched: GROUP=TIMESxMINUTES[:AID] a day, e.g. cows=2x45:patch; "
        "aids: eye patch chalk electronic.",
        metavar="GROUP=NxMIN",
    ),
]
Technicians = Annotated[
    list[str] | None,
    typer.Option(
        help="Who inseminates: GROUP=NUMBER[:TRAINING], e.g. cows=2:untrained; trained usual "
        "untrained. Changes how sure the forecast is, not its middle.",
        metavar="GROUP=N",
    ),
]
Region = Annotated[str | None, typer.Option(help="Rule pack: US CA UK EU AU BR AR other.")]
Dates = Annotated[
    str | None,
    typer.Option(
        help="Order of dates like 3/4/2027: mdy or dmy.", callback=_one_of("mdy", "dmy", "iso")
    ),
]
Weights = Annotated[
    str | None,
    typer.Option(help="Unit of weights without one: lb or kg.", callback=_one_of("lb", "kg")),
]
Column = Annotated[
    list[str] | None,
    typer.Option(help="FIELD=HEADER where a header is not known.", metavar="FIELD=HEADER"),
]
Sheet = Annotated[str | None, typer.Option(help="Sheet of a workbook.")]
AsOf = Annotated[str | None, typer.Option(help="Plan as if today were this day.", metavar="DATE")]
Overlay = Annotated[Path | None, typer.Option(help="Your own figures (TOML).")]
Chart = Annotated[
    Path | None, typer.Option(help="Write pictures: out.svg or out.png.", metavar="FILE")
]
Json = Annotated[bool, typer.Option("--json", help="Print as JSON.")]
LedgerAt = Annotated[
    str | None,
    typer.Option(
        "--ledger",
        help="The ledger: a file, or postgresql://SERVER/DATABASE. By default what "
        "SUNUP_LEDGER says, else sunup.db in this folder.",
        metavar="LEDGER",
    ),
]
Ranch = Annotated[
    str | None, typer.Option(help="Which ranch, where a ledger holds several.", metavar="NAME")
]
