"""``sunup validate``: the simulator beside published trials."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from sunup.cli.options import Json, Overlay

EXAMPLE = "Example: sunup validate authorities/trials/trials.toml --json"


def validate(
    trials: Annotated[Path, typer.Argument(help="TOML file of trials, arm by arm.")],
    seed: Annotated[int, typer.Option(min=0, help="Same seed, same numbers.")] = 1,
    females: Annotated[int, typer.Option(min=50, help="Females simulated for each arm.")] = 400,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """Replay every arm of published trials and print predicted beside published.

    The misfit stands beside its floor (what luck and herds alone leave) and beside the guess of the
    class mean of the other trials. An arm of a trial the parameters were fitted to is foretold with
    parameters fitted without that trial. An arm with a fault is left out and named; exit code 1.
    """
    from sunup.app.forecast_kernel import prepare_kernel
    from sunup.app.validate_trials import validate_trials, validation_to_json
    from sunup.cli.show import has_errors, print_json, print_problems
    from sunup.cli.validate_view import print_validation

    def tell(done: int, total: int) -> None:
        if sys.stderr.isatty():
            print(f"\rarm {done + 1} of {total}", end="", file=sys.stderr)

    prepare_kernel(lambda words: print(words, file=sys.stderr))
    found = validate_trials(trials, overlay=overlay, seed=seed, females=females, progress=tell)
    if json_:
        print_json(validation_to_json(found))
    else:
        print_validation(found)
        print_problems(found.problems)
    if has_errors(found.problems):
        raise typer.Exit(1)
