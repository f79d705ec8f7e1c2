"""From the simulator's record of one female to what the trace chart draws."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.forecast.follow import DONE
from sunup.reports.charts.trace import FemaleTrace, TraceEvent, TraceLine

if TYPE_CHECKING:
    from sunup.forecast.follow import Followed

_SHORT = {  # a chart has less room than a table
    "wave": "new wave",
    "dominance_lost": "follicle gives way",
    "surge": "estradiol high",
    "heat": "heat begins",
    "ovulation": "ovulation",
    "ai": "AI",
    "gnrh": "GnRH",
    "pgf": "PGF",
    "embryo_lost": "embryo lost",
    "insert_in": "insert in",
    "mga_start": "melengestrol from here",
    "mga_end": "last melengestrol",
    "calves_off": "calf away",
}
_NEW_FOLLICLE = frozenset({"wave", "ovulation"})


def trace_of(followed: Followed, *, title: str, seed: int | None = None) -> FemaleTrace:
    """Return a record of one female as lines and events.

    Parameters
    ----------
    followed : Followed
    title : str
        Who she is and what was done.
    seed : int, optional
        Her luck, printed so that she can be seen again.

    Returns
    -------
    FemaleTrace
        The dominant follicle is a line of its own from one wave or ovulation to the next, and
        none while there is no follicle.
    """
    hours = tuple(hour.hour for hour in followed.hours)
    return FemaleTrace(
        title=title,
        progesterone=TraceLine(
            hours=hours, values=tuple(hour.progesterone for hour in followed.hours)
        ),
        estradiol=TraceLine(hours=hours, values=tuple(hour.estradiol for hour in followed.hours)),
        follicles=_follicles(followed),
        lutea=(TraceLine(hours=hours, values=tuple(hour.luteal for hour in followed.hours)),),
        events=tuple(
            TraceEvent(
                hour=event.hour,
                words=_SHORT.get(event.key, event.words),
                given=event.key in DONE,
            )
            for event in followed.happenings
        ),
        estradiol_words="exposure to estradiol, relative",
        follicles_words="dominant follicle, mm across",
        lutea_words="progesterone of her own corpora lutea, ng/mL",
        outcome=_outcome(followed),
        seed_words="" if seed is None else f"Seed {seed}.",
    )


def _outcome(followed: Followed) -> str:
    if not followed.is_inseminated:
        return "She was not inseminated."
    if followed.because:
        return f"She could not become pregnant to the first AI: {followed.because}."
    return "She became pregnant." if followed.is_pregnant else "She did not become pregnant."


def _follicles(followed: Followed) -> tuple[TraceLine, ...]:
    turns = sorted(e.hour for e in followed.happenings if e.key in _NEW_FOLLICLE)
    lines: dict[int, list[tuple[float, float]]] = {}
    for hour in followed.hours:
        if hour.follicle_mm > 0.0:
            which = sum(1 for turn in turns if turn <= hour.hour)
            lines.setdefault(which, []).append((hour.hour, hour.follicle_mm))
    return tuple(
        TraceLine(hours=tuple(h for h, _ in line), values=tuple(mm for _, mm in line))
        for line in lines.values()
    )
