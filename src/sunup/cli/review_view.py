"""How a review reads on a terminal, and its plain values."""

from __future__ import annotations

from dataclasses import asdict
from enum import Enum
from typing import TYPE_CHECKING, Any

from sunup.base.hours import find_zone, to_local
from sunup.cli.show import console, print_table

if TYPE_CHECKING:
    from sunup.planning.review import Review
    from sunup.reports.review_values import Table

SCHEMA_VERSION = 1
_MOST = 40  # rows of one table on a terminal


def print_review(review: Review) -> None:
    """Print a review: the plan kept, what came of it, is it luck, what to change."""
    from sunup.reports.review_values import review_parts

    out = console()
    on = to_local(review.at, find_zone(review.zone)).date()
    out.print(f"Review of {review.season}, {review.ranch}, as of {on}")
    for part in review_parts(review):
        out.print(f"\n{part.title.upper()}")
        for sentence in part.sentences:
            out.print(f"  - {sentence}")
        for table in part.tables:
            _print(table)
    if not review.next_season:
        out.print("\nWhat another date, protocol or watch would have brought: sunup review --next")
    out.print("The label in hand and your veterinarian decide.")


def _print(table: Table) -> None:
    rows = table.rows[:_MOST]
    head = [(name, "left" if table.is_words(i) else "right") for i, name in enumerate(table.head)]
    print_table(head, rows, title=table.title)
    out = console()
    if len(table.rows) > len(rows):
        out.print(f"  ... and {len(table.rows) - len(rows)} more; --json lists all.")
    if table.note:
        out.print(f"  {table.note}")


def review_to_json(review: Review) -> dict[str, Any]:
    """Return a review as plain values, counts and shares not rounded."""
    plain = _plain(asdict(review))
    for told, group in zip(plain["measures"], review.measures, strict=True):
        p = group.performance
        told["shares"] = {
            "pregnancy": p.pregnancy,
            "calving": p.calving,
            "live_calving": p.live_calving,
            "death_loss": p.death_loss,
            "weaning": p.weaning,
            "kg_weaned_per_exposed": p.kg_weaned_per_exposed,
        }
    for told, one in zip(plain["against"], review.against, strict=True):
        told["verdict"] = str(one.verdict)
        told["one_season_in"] = one.one_in
    for told, result in zip(plain["results"], review.results, strict=True):
        told["outcome"] = str(result.outcome)
    return {
        "schema_version": SCHEMA_VERSION,
        **plain,
        "problems": [problem.to_json() for problem in review.problems],
    }


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, Enum):
        return value.value
    if hasattr(value, "tolist"):
        return value.tolist()
    return value.isoformat() if hasattr(value, "isoformat") else value
