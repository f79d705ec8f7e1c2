"""``sunup review``: a season's results, and what they can and cannot tell."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from sunup.cli.options import AsOf, Json, LedgerAt, Overlay, Ranch

EXAMPLE = "Example: sunup review --season 2027 --out review"


def review(
    season: Annotated[
        str | None, typer.Option(help="Its name; the last one with results if left out.")
    ] = None,
    group: Annotated[str | None, typer.Option(help="One group only.")] = None,
    next_: Annotated[
        bool,
        typer.Option(
            "--next",
            help="Also simulate what another date, protocol or watch would have brought.",
        ),
    ] = False,
    windows_from: Annotated[
        str,
        typer.Option(
            help="Count calving by 21 days from: third_mature_cow | breeding_start.",
            metavar="RULE",
        ),
    ] = "third_mature_cow",
    out: Annotated[
        Path | None, typer.Option(help="Folder for review.pdf, review.json and pictures.")
    ] = None,
    paper: Annotated[str, typer.Option(help="letter or a4.")] = "letter",
    seed: Annotated[int, typer.Option(min=0, max=2**64 - 1, help="Of what is simulated.")] = 1,
    replicates: Annotated[
        int, typer.Option(min=20, max=100_000, help="Seasons simulated with --next.")
    ] = 200,
    as_of: AsOf = None,
    overlay: Overlay = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    json_: Json = False,
) -> None:
    """Review a season: was the plan kept, what came of it, is it luck, what to change.

    Small numbers are mostly luck: every share has its range, sires and technicians are drawn to
    the middle as far as their records are few, and results are set against the forecast kept
    before the season.
    """
    from sunup.app.open import open_ledger
    from sunup.app.review import end_of_day, read_rule, review_season, write_review
    from sunup.cli.review_view import print_review, review_to_json
    from sunup.cli.show import has_errors, print_json, print_problems

    rule = read_rule(windows_from)
    with open_ledger(ledger, ranch=ranch, read_only=True) as opened:
        events = opened.events()
    told = review_season(
        events,
        season=season,
        group=group,
        at=end_of_day(as_of, events),
        start=rule,
        overlay=overlay,
    )
    if next_:
        from sunup.app.forecast_asked import Asked
        from sunup.app.forecast_kernel import prepare_kernel
        from sunup.app.review_next import foresee_next
        from sunup.cli.forecast_view import Progress

        prepare_kernel(lambda words: print(words, file=sys.stderr))
        told = foresee_next(told, asked=Asked(seed=seed, replicates=replicates), tell=Progress())
    plain = review_to_json(told.review)
    written = () if out is None else write_review(told.review, plain, out, paper=paper)
    if json_:
        print_json(plain | {"files": [str(path) for path in written]})
    else:
        print_review(told.review)
        for path in written:
            print(f"written: {path}")
        print_problems(told.review.problems)
    if has_errors(told.review.problems):
        raise typer.Exit(1)
