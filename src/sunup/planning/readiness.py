"""Ready or not: each female at the planned first treatment and at insemination.

"Not cycling" and "thin" are never holds: they decide which protocols fit and what to expect.
Hold is for what forbids. Every reason carries the figure behind it, so that a ranch's overlay can
change the figure and ``sunup explain`` can show it.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from sunup.planning.exposure import ExposureFigures, as_calved, find_doubt
from sunup.planning.plan import FemaleLine, LaterView, Reason, State
from sunup.records.female import Cycling, Female, FemaleClass

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from sunup.base.figures import Figure
    from sunup.library.library import Library

_RANK = {State.READY: 0, State.EXPECT_LESS: 1, State.READY_ON: 2, State.HOLD: 3}
LATER_DAYS = (7, 14, 21)  # the question: what if the date moved by one, two, three weeks


@dataclass(frozen=True, slots=True)
class Dates:
    """The two days a female is judged for, and the fewest days after calving for an insert."""

    first_treatment_on: date
    ai_on: date
    insert_on: date | None = None
    insert_min_days: Figure | None = None
    today: date | None = None  # None: the day of the first treatment
    last_pgf_on: date | None = None  # where a PGF follows the first insemination day

    @property
    def judged_on(self) -> date:
        """The day the judging is done."""
        return self.today or self.first_treatment_on


class ReadinessFigures:
    """The figures the rules rest on, taken from the library once."""

    __slots__ = ("by_name", "exposure", "gestation", "not_cycling_limit")

    NAMES = (
        "days_since_calving_at_ai",
        "days_since_calving_at_first_treatment",
        "calving_ease_difficult",
        "anestrus_days_per_half_hour_labour",
        "uterus_recovery_days",
        "condition_full",
        "condition_first_calf_full",
        "condition_thin",
        "condition_very_thin",
        "condition_cycling_points",
        "first_calf_cycling_points",
        "estrus_share_thin",
        "heifer_age_min_months",
        "heifer_age_full_months",
        "weight_share_min",
        "weight_share_full",
        "puberty_share_by_weight",
        "tract_score_hold",
        "tract_score_low",
        "tract_sync_pregnancy",
        "pelvic_area_min_cm2",
    )

    def __init__(self, library: Library) -> None:
        self.by_name = {name: library.figure(f"readiness.{name}") for name in self.NAMES}
        self.exposure = ExposureFigures.of(library)
        self.not_cycling_limit = library.figure("practice.not_cycling_limit_share")
        self.gestation = library.figure("practice.calving_after_service_days")

    def __getitem__(self, name: str) -> Figure:
        return self.by_name[name]


def _reason(
    rule: str, state: State, text: str, figure: Figure, ready_on: date | None = None
) -> Reason:
    return Reason(rule, state, text, figure.key, figure.source, ready_on, figure.yours)


def _day(day: date) -> str:
    return f"{day.day} {day:%b}"


def months_after(day: date, months: int) -> date:
    """The same day of the month some months later (the month's last day where it is shorter)."""
    index = day.month - 1 + months
    year, month = day.year + index // 12, index % 12 + 1
    following = date(year + month // 12, month % 12 + 1, 1)
    return min(date(year, month, 1) + timedelta(days=day.day - 1), following - timedelta(days=1))


def _hold_on_file(f: Female, _d: Dates, _q: ReadinessFigures) -> Reason | None:
    if f.hold_reason is None:
        return None
    return Reason("hold_on_file", State.HOLD, f.hold_reason, figure="", source=())


def _exposure(f: Female, d: Dates, q: ReadinessFigures) -> Reason | None:
    pgf_on = max(d.ai_on, d.last_pgf_on or d.ai_on)
    doubt = find_doubt(f, pgf_on=pgf_on, figures=q.exposure)
    if doubt is None:
        return None
    return _reason("exposure", State.HOLD, doubt.text, doubt.figure)


def _calving_date_missing(f: Female, _d: Dates, q: ReadinessFigures) -> Reason | None:
    if not f.class_.has_calved or f.calved_on is not None:
        return None
    return _reason(
        "calving_date_missing",
        State.HOLD,
        "no calving date on file; give the date before she is treated",
        q["days_since_calving_at_ai"],
    )


def _due(f: Female, d: Dates, q: ReadinessFigures) -> Reason | None:
    if f.due_on is None or _has_calved(f, q):
        return None
    if f.due_on < d.judged_on:
        return _reason(
            "due",
            State.HOLD,
            f"was due {_day(f.due_on)} and no calving is on file since; record it",
            q["days_since_calving_at_ai"],
        )
    if f.due_on >= d.ai_on:
        return None  # still pregnant at insemination: the exposure rule holds her
    return _reason(
        "due",
        State.EXPECT_LESS,
        f"due {_day(f.due_on)}: judged as if she calves that day; plan again when she has",
        q["days_since_calving_at_ai"],
    )


def _has_calved(f: Female, q: ReadinessFigures) -> bool:
    """Whether she has calved since, or so shortly before her due date that it was that calving."""
    if f.calved_on is None or f.due_on is None:
        return False
    shortest, longest = q.gestation.span
    return (f.due_on - f.calved_on).days <= longest - shortest


def _days_since_calving(f: Female, d: Dates, q: ReadinessFigures) -> Reason | None:
    if f.calved_on is None:
        return None
    at_ai, at_start = q["days_since_calving_at_ai"], q["days_since_calving_at_first_treatment"]
    lead = (d.ai_on - d.first_treatment_on).days
    ready_at_ai = f.calved_on + timedelta(days=int(at_ai.number))
    ready_at_start = f.calved_on + timedelta(days=int(at_start.number) + lead)
    ready_on, figure = max((ready_at_ai, at_ai), (ready_at_start, at_start), key=lambda x: x[0])
    if d.insert_on is not None and d.insert_min_days is not None:
        insert_lead = (d.ai_on - d.insert_on).days
        by_label = f.calved_on + timedelta(days=int(d.insert_min_days.number) + insert_lead)
        if by_label > ready_on:
            ready_on, figure = by_label, d.insert_min_days
    if d.ai_on >= ready_on:
        return None
    days = (d.ai_on - f.calved_on).days
    return _reason(
        "days_since_calving",
        State.READY_ON,
        f"{'calved' if f.calved_on <= d.judged_on else 'due'} {_day(f.calved_on)}: {days} days at "
        "insemination, "
        f"{figure.number:g} wanted{'' if figure is at_ai else ' at first treatment'}",
        figure,
        ready_on,
    )


def _hard_calving(f: Female, _d: Dates, q: ReadinessFigures) -> Reason | None:
    figure = q["calving_ease_difficult"]
    if f.calving_ease is None or f.calving_ease < figure.number:
        return None
    return _reason(
        "difficult_calving",
        State.EXPECT_LESS,
        f"difficult calving (ease {f.calving_ease}): first heat comes later",
        q["anestrus_days_per_half_hour_labour"],
    )


def _membranes(f: Female, d: Dates, q: ReadinessFigures) -> Reason | None:
    if not f.retained_membranes:
        return None
    figure = q["uterus_recovery_days"]
    days = (d.ai_on - f.calved_on).days if f.calved_on else None
    when = f", {days} days ago at insemination" if days is not None else ""
    return _reason(
        "retained_membranes",
        State.EXPECT_LESS,
        f"retained membranes{when}: have the uterus examined before she is treated",
        figure,
    )


def _condition(f: Female, _d: Dates, q: ReadinessFigures) -> Reason | None:
    if f.condition is None:
        return None
    first_calf = f.class_ is FemaleClass.FIRST_CALF_COW
    full = q["condition_first_calf_full" if first_calf else "condition_full"]
    thin = q["condition_thin"]
    if f.condition >= full.number:
        return None
    if f.condition <= thin.number:
        share, very = q["estrus_share_thin"], q["condition_very_thin"]
        measured = f"of cows at {thin.number:g} or less about {share.number:g} of 100"
        if f.condition < very.number:
            return _reason(
                "body_condition",
                State.EXPECT_LESS,
                f"very thin (condition {f.condition:g}): {measured} showed heat by timed AI; how "
                f"many under {very.number:g} do was not measured, expect fewer. Feed her before "
                "she is synchronised",
                very,
            )
        return _reason(
            "body_condition",
            State.EXPECT_LESS,
            f"thin (condition {f.condition:g}): {measured} showed heat by timed AI; choose a "
            "protocol with a progestin",
            share,
        )
    return _reason(
        "body_condition",
        State.EXPECT_LESS,
        f"condition {f.condition:g}, {full.number:g} wanted: fewer cycle by "
        f"{q['condition_cycling_points'].number:g} in 100 for each unit",
        q["condition_cycling_points"],
    )


def _first_calf(f: Female, _d: Dates, q: ReadinessFigures) -> Reason | None:
    if f.class_ is not FemaleClass.FIRST_CALF_COW:
        return None
    figure = q["first_calf_cycling_points"]
    return _reason(
        "first_calf",
        State.EXPECT_LESS,
        f"rearing her first calf: about {abs(figure.number):g} in 100 fewer cycle",
        figure,
    )


def _heifer_age(f: Female, d: Dates, q: ReadinessFigures) -> Reason | None:
    if f.class_ is not FemaleClass.HEIFER or f.born_on is None:
        return None
    least, full = q["heifer_age_min_months"], q["heifer_age_full_months"]
    old_enough = months_after(f.born_on, int(least.number))
    if d.ai_on < old_enough:
        return _reason(
            "heifer_age",
            State.READY_ON,
            f"born {_day(f.born_on)} {f.born_on.year}: under {least.number:g} months at "
            "insemination",
            least,
            old_enough,
        )
    if d.ai_on < months_after(f.born_on, int(full.number)):
        return _reason(
            "heifer_age",
            State.EXPECT_LESS,
            f"under {full.number:g} months at insemination",
            full,
        )
    return None


def _weight_share(f: Female, _d: Dates, q: ReadinessFigures) -> Reason | None:
    if f.class_ is not FemaleClass.HEIFER or not f.weight_kg or not f.mature_weight_kg:
        return None
    share = f.weight_kg / f.mature_weight_kg
    least, full = q["weight_share_min"], q["weight_share_full"]
    shown = f"{share * 100:.1f} % of mature weight"
    table = q["puberty_share_by_weight"]
    pubertal = table.value if isinstance(table.value, tuple) else ()
    if share < least.number:
        return _reason(
            "weight_share",
            State.HOLD,
            f"{shown}, under {least.number * 100:g} %: too small to breed",
            least,
        )
    if share < full.number:
        return _reason(
            "weight_share",
            State.EXPECT_LESS,
            f"{shown}: about {pubertal[0]:g} to {pubertal[1]:g} of 100 such heifers are pubertal",
            table,
        )
    return None


def _tract(f: Female, _d: Dates, q: ReadinessFigures) -> Reason | None:
    if f.class_ is not FemaleClass.HEIFER or f.tract_score is None:
        return None
    hold, low = q["tract_score_hold"], q["tract_score_low"]
    table = q["tract_sync_pregnancy"]
    values = table.value if isinstance(table.value, tuple) else ()
    expect = values[f.tract_score - 1] if 1 <= f.tract_score <= len(values) else None
    told = (
        f"; {expect:g} of 100 conceived when synchronised"
        if isinstance(expect, float | int)
        else ""
    )
    if f.tract_score <= hold.number:
        return _reason(
            "tract_score", State.HOLD, f"tract score {f.tract_score}: infantile tract{told}", hold
        )
    if f.tract_score <= low.number:
        return _reason(
            "tract_score",
            State.EXPECT_LESS,
            f"tract score {f.tract_score}: not cycling yet; needs a progestin{told}",
            table,
        )
    return None


def _pelvis(f: Female, _d: Dates, q: ReadinessFigures) -> Reason | None:
    figure = q["pelvic_area_min_cm2"]
    if f.class_ is not FemaleClass.HEIFER or f.pelvic_area_cm2 is None:
        return None
    if f.pelvic_area_cm2 >= figure.number:
        return None
    return _reason(
        "pelvic_area",
        State.EXPECT_LESS,
        f"pelvic area {f.pelvic_area_cm2:g} cm2, {figure.number:g} wanted: risk at calving, "
        "ask the veterinarian before she is bred",
        figure,
    )


def _not_cycling(f: Female, _d: Dates, q: ReadinessFigures) -> Reason | None:
    if f.cycling is not Cycling.NOT_CYCLING:
        return None
    return _reason(
        "not_cycling",
        State.EXPECT_LESS,
        "found not cycling: needs a protocol with a progestin",
        q.not_cycling_limit,
    )


RULES: tuple[Callable[[Female, Dates, ReadinessFigures], Reason | None], ...] = (
    _hold_on_file,
    _exposure,
    _calving_date_missing,
    _due,
    _days_since_calving,
    _heifer_age,
    _weight_share,
    _tract,
    _pelvis,
    _not_cycling,
    _hard_calving,
    _membranes,
    _condition,
    _first_calf,
)


RULE_WORDS = {
    "hold_on_file": "held in the herd list",
    "exposure": "may be pregnant",
    "calving_date_missing": "no calving date",
    "due": "not calved yet",
    "days_since_calving": "calved too lately",
    "heifer_age": "young",
    "weight_share": "light for mature weight",
    "tract_score": "immature tract",
    "pelvic_area": "narrow pelvis",
    "not_cycling": "found not cycling",
    "difficult_calving": "difficult calving",
    "retained_membranes": "retained membranes",
    "body_condition": "low condition",
    "first_calf": "rearing a first calf",
}


def found_not_cycling(female: Female, figures: ReadinessFigures) -> bool | None:
    """Whether her ovaries or her tract were examined and say she does not cycle; None: neither."""
    if female.cycling is not None:
        return female.cycling is Cycling.NOT_CYCLING
    if female.class_ is FemaleClass.HEIFER and female.tract_score is not None:
        return female.tract_score <= figures["tract_score_low"].number
    return None


# what the veterinarian is asked about her before she is treated or bred, as a mark on a sheet
_VET_MARKS = {"retained_membranes": "uterus", "pelvic_area": "pelvis", "exposure": "pregnant?"}


def find_vet_marks(line: FemaleLine) -> tuple[tuple[str, Reason], ...]:
    """Return what the veterinarian is to see a female for: a word for a sheet, and the reason.

    One found pregnant needs no second look.
    """
    return tuple(
        (_VET_MARKS[reason.rule], reason)
        for reason in line.reasons
        if reason.rule in _VET_MARKS and not reason.text.startswith("found pregnant")
    )


def needs_progestin(female: Female, figures: ReadinessFigures) -> bool | None:
    """Whether what is on file says she is not cycling (True), is (False), or nothing (None)."""
    found = found_not_cycling(female, figures)
    if found is not None:
        return found
    if female.condition is not None and female.condition <= figures["condition_thin"].number:
        return True
    return None


def assess(female: Female, dates: Dates, figures: ReadinessFigures) -> FemaleLine:
    """Judge one female for the planned dates.

    Parameters
    ----------
    female : Female
    dates : Dates
        First treatment and insemination of her group.
    figures : ReadinessFigures

    Returns
    -------
    FemaleLine
        The worst state of all her reasons; `ready_on` is the latest of the dates that hold her
        back, counted as the day of insemination.
    """
    on_file = female
    female = as_calved(female, dates.ai_on)
    reasons = tuple(
        r
        for rule in RULES
        if (r := rule(on_file if rule is _due else female, dates, figures)) is not None
    )
    state = max((r.state for r in reasons), key=_RANK.__getitem__, default=State.READY)
    waits = [r.ready_on for r in reasons if r.ready_on is not None]
    return FemaleLine(
        tag=female.tag,
        rfid=female.rfid,
        class_=female.class_.value,
        group=female.group,
        state=state,
        reasons=tuple(sorted(reasons, key=lambda r: -_RANK[r.state])),
        needs_progestin=needs_progestin(female, figures),
        ready_on=max(waits) if waits and state is State.READY_ON else None,
        row=female.row,
    )


def count_states(lines: Iterable[FemaleLine]) -> tuple[tuple[str, int], ...]:
    """How many in each state, best first; states with none are shown with 0."""
    counts = Counter(line.state for line in lines)
    return tuple((state.value, counts.get(state, 0)) for state in State)


def count_reasons(lines: Iterable[FemaleLine]) -> tuple[tuple[str, int], ...]:
    """How many females each rule speaks of, most first."""
    counts = Counter(reason.rule for line in lines for reason in line.reasons)
    return tuple(sorted(counts.items(), key=lambda item: (-item[1], item[0])))


def view_later(lines: Sequence[FemaleLine], ai_on: date) -> tuple[LaterView, ...]:
    """How many would be ready if the insemination day moved by one, two, three weeks."""
    return tuple(
        LaterView(
            days,
            sum(
                line.is_treated
                or (line.ready_on is not None and line.ready_on <= ai_on + timedelta(days=days))
                for line in lines
            ),
        )
        for days in LATER_DAYS
    )
