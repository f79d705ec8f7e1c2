"""``sunup today``: what is due now and next, who is late, what runs out."""

from typing import Annotated

import typer

from sunup.cli.desk import At, at_desk
from sunup.cli.options import Json, LedgerAt, Overlay, Ranch

EXAMPLE = "Example: sunup today --at 2027-05-22T15:10"


def today(
    at: At = None,
    show_all: Annotated[
        bool, typer.Option("--all", help="Every tag of every list, however long.")
    ] = False,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """Show what is due now and next, for whom, in which window, with what.

    Also this half-day's inseminations with sire and straw, who is late, heats expected and seen,
    what was done today, and what will run out.
    """
    from sunup.app.today import find_today
    from sunup.cli.show import print_json
    from sunup.cli.today_view import print_today, today_to_json

    with at_desk(ledger, ranch, at=at, overlay=overlay, view=True, season_only=True) as (desk, _):
        found = find_today(desk)
    if json_:
        print_json(today_to_json(found))
    else:
        print_today(found, show_all=show_all)
