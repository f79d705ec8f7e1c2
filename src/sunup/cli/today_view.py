"""How Today reads on a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.base.hours import find_zone
from sunup.base.problems import counted, some
from sunup.cli.desk import clock, head, hour, tell
from sunup.cli.record_view import held_json, print_held
from sunup.cli.show import print_table
from sunup.planning.ahead import Coming
from sunup.planning.insemination_times import Timeliness

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date, datetime
    from zoneinfo import ZoneInfo

    from sunup.app.today import Today
    from sunup.planning.ahead import Ahead
    from sunup.planning.expected_heats import HeatsSoFar
    from sunup.planning.insemination_list import AiLine
    from sunup.planning.today import Late, StepNow, VisitNow

SCHEMA_VERSION = 1
FEW = 12  # tags told on one line
LINES = 15  # rows of a list before the rest is only counted
WORK_LINES = 80  # rows of the list a technician works from


def print_today(today: Today, *, show_all: bool = False) -> None:
    """Print Today."""
    zone = find_zone(today.zone)
    tell(f"{today.ranch}, {clock(today.at, zone)} ({today.zone}), season {today.season}")
    limit = 10**9 if show_all else LINES
    if today.work.now:
        head("DUE NOW")
        for visit in today.work.now:
            _print_visit(visit, today, zone, limit=limit)
    else:
        head("Nothing is due now.")
    _print_ai(today, zone, limit=limit)
    _print_late(today, zone, limit=limit)
    if today.work.next:
        head("NEXT")
        for visit in today.work.next:
            _print_visit(visit, today, zone, limit=limit)
    for heats in today.heats:
        print_expected(heats)
    _print_ahead(today)
    _print_done(today, zone)
    _print_shelf(today, zone)
    if today.unlisted:
        tags = some([f.tag for f in today.unlisted], FEW)
        head(f"UNLISTED, to be identified: {tags}")
        tell("sunup season identify TAG --is TAG", 2)
    head("The label in hand and your veterinarian decide.")


def _print_visit(visit: VisitNow, today: Today, zone: ZoneInfo, *, limit: int) -> None:
    tell(f"{visit.group}: {visit.words}", 2)
    if visit.as_group:
        ends = visit.until or visit.window[1]
        tell(f"{clock(visit.at, zone)} until {hour(ends, zone, beside=visit.at)}", 4)
    else:
        last = hour(visit.ends, zone, beside=visit.at)
        span = clock(visit.at, zone) + (f" to {last}" if visit.ends != visit.at else "")
        done = f", {visit.done} done" if visit.done else ""
        behind = f", {visit.behind} behind their planned time" if visit.behind else ""
        rest = _rest_words(visit)
        tell(f"{span}: {len(visit.to_go)} to go{rest}{done}{behind}", 4)
        if visit.left_out:
            tell(f"left for her next heat, not in the count: {some(visit.left_out, limit)}", 4)
        print_held(visit.held, 4)
        if visit.closes_first is not None:
            tag, closes = visit.closes_first
            word = "first window closes" if visit.is_open else "windows open"
            when = closes if visit.is_open else visit.window[0]
            name = f" ({tag})" if visit.is_open else ""
            tell(f"{word} {hour(when, zone, beside=today.at)}{name}", 4)
    for line in visit.steps:
        told = _step_words(line)
        if told:
            tell(f"- {told}", 4)
        for sire, tags in line.by_sire if len(line.by_sire) > 1 else ():
            tell(f"{sire or 'none chosen'}: {some(tags, limit)}", 6)


def _rest_words(visit: VisitNow) -> str:
    """Whom it is for, where it is not for all: the count is then the most there can be."""
    who = next((line.step.who for line in visit.steps if line.step.who != "all"), "")
    return f" at most ({who})" if who else ""


def _step_words(line: StepNow) -> str:
    step = line.step
    if line.straws:
        sires = [f"{sire or 'none chosen'} {len(tags)}" for sire, tags in line.by_sire]
        straws = counted(line.straws, "straw")
        return f"{step.words}: {straws}" + (f" ({', '.join(sires)})" if sires else "")
    if step.dose is None:
        return f"{step.words}: {step.note}" if step.note else ""
    if line.ml_each is None:
        return f"{step.dose.name}: {line.to_go}"
    words = f"{step.dose.name} {step.dose.dose}, {line.ml_each:g} mL each {step.dose.route}"
    return f"{words}: {line.ml_to_go:g} mL for {line.to_go}"


def _print_ai(today: Today, zone: ZoneInfo, *, limit: int) -> None:
    day, half = today.half_day
    if today.inseminate:
        title = f"INSEMINATE THIS {half.value.upper()} ({day:%a} {day.day} {day:%b})"
        print_lines(today.inseminate, zone, title=title, limit=max(limit, WORK_LINES))
    if today.later:
        print_lines(today.later, zone, title="In heat, their time is to come", limit=limit)
    print_too_late(today.too_late, limit=limit)


def print_too_late(lines: Sequence[AiLine], *, limit: int) -> None:
    """Print those no straw is worth any more, with what to do: the words once for all alike."""
    if lines:
        head(f"TOO LATE ON THIS HEAT ({len(lines)})")
    alike: dict[str, list[str]] = {}
    for line in lines:
        alike.setdefault(line.text, []).append(line.tag)
    for text, tags in alike.items():
        tell(f"{some(tags, limit)}: {text}", 2)


def print_lines(lines: Sequence[AiLine], zone: ZoneInfo, *, title: str, limit: int = 10**9) -> None:
    """Print an insemination list."""
    rows = [
        (
            line.tag,
            line.group,
            _day_hour(line.heat.first_seen_at, zone),
            _day_hour(line.time.at, zone),
            _day_hour(line.time.late, zone),
            straw_words(line),
        )
        for line in lines[:limit]
    ]
    print_table(
        [
            ("tag", "left"),
            ("group", "left"),
            ("seen in heat", "left"),
            ("inseminate", "left"),
            ("best until", "left"),
            ("sire", "left"),
        ],
        rows,
        title=title,
    )
    if len(lines) > limit:
        tell(f"and {len(lines) - limit} more: --all", 2)
    notes: dict[str, list[str]] = {}
    for line in lines[:limit]:
        for note in line_notes(line, zone):
            notes.setdefault(note, []).append(line.tag)
    for note, tags in notes.items():
        tell(f"{some(tags, 8)}: {note}", 2)


def _day_hour(moment: datetime, zone: ZoneInfo) -> str:
    """Weekday and hour: these lists reach a day or two either way."""
    return f"{moment.astimezone(zone):%a %H:%M}"


def straw_words(line: AiLine) -> str:
    """The sire and where his straw is."""
    if line.sire is None:
        return "none chosen"
    place = line.straw.takes_from if line.straw is not None else None
    if place is None:
        return line.sire
    where = " ".join(p for p in (place.tank, place.canister) if p)
    return f"{line.sire} ({where})" if where else line.sire


def line_notes(line: AiLine, zone: ZoneInfo) -> list[str]:
    """What must be said of a female on the insemination list."""
    notes = [] if line.hold is None else [f"on hold: {line.hold}"]
    notes += [f"{flag.text} {flag.do}" for flag in line.flags]
    if line.straw is not None:
        notes += list(line.straw.warnings)
    is_over = line.standing is Timeliness.TOO_LATE
    if line.fixed is not None and not is_over:
        notes.append(
            f"the group's fixed time is {clock(line.fixed, zone)}; once inseminated on heat she "
            "is left out of it"
        )
    if line.standing in {Timeliness.LATE, Timeliness.TOO_LATE}:
        notes.append(line.text)
    if line.time.notice:
        notes.append(line.time.notice)
    return notes


def _print_late(today: Today, zone: ZoneInfo, *, limit: int) -> None:
    work = today.work
    if work.late:
        head(f"LATE, STILL INSIDE THEIR WINDOW ({len(work.late)})")
        _print_late_lines(work.late, zone, today.at, limit=limit, word="until")
    if work.beyond:
        head(f"BEYOND THEIR WINDOW ({len(work.beyond)})")
        _print_late_lines(work.beyond, zone, today.at, limit=limit, word="closed")
        tell(
            "Done all the same? Record it with its time (--at). Not done: ask the veterinarian "
            "before you do it now.",
            2,
        )
    if work.beyond_before:
        n = work.beyond_before
        tell(f"{n} {'female' if n == 1 else 'females'} missed a step earlier: sunup season show", 2)


def _print_late_lines(
    lines: Sequence[Late], zone: ZoneInfo, at: datetime, *, limit: int, word: str
) -> None:
    by_step: dict[tuple[str, str, str], list[Late]] = {}
    for line in lines:
        by_step.setdefault((line.group, line.words, line.why), []).append(line)
    for (group, words, why), told in by_step.items():
        closes = min(line.closes for line in told)
        last = max(line.closes for line in told)
        when = hour(closes, zone, beside=at)
        if last != closes:
            when += f" to {hour(last, zone, beside=closes)}"
        reason = why or f"{word} {when}"
        tell(f"{group}, {words}: {len(told)}, {reason}", 2)
        tell(f"{some([line.tag for line in told], max(FEW, limit))}", 4)


def print_expected(heats: HeatsSoFar) -> None:
    """Say how many heats were to be expected by now, and how many were seen."""
    head(f"HEATS, {heats.group}: {heats.seen} of {heats.n} seen")
    tell(
        f"expected by now {heats.expected:.0f} ({heats.low:.0f} to {heats.high:.0f}), "
        f"{heats.clock_hours:.0f} h after {heats.clock_words}; in the next 12 h "
        f"{heats.to_come:.0f} more",
        2,
    )
    if heats.call:
        tell(f"{heats.call}", 2)


def _print_ahead(today: Today) -> None:
    """What comes after insemination: one line a kind, with the command that lists the females."""
    if today.ahead:
        head("AFTER INSEMINATION")
    for line in today.ahead:
        tell(ahead_words(line), 2)


_COMMANDS = {
    Coming.RETURNS: "sunup scan returns",
    Coming.SCAN: "sunup scan sheet",
    Coming.CALVING: "sunup scan book",
    Coming.OVERDUE: "sunup scan book",
}


def ahead_words(line: Ahead) -> str:
    """One thing to come in words."""
    first, last = day_words(line.from_on), "" if line.until_on is None else day_words(line.until_on)
    who = f"{line.n} {'female' if line.n == 1 else 'females'}"
    unsure = f", {line.not_checked} of them not checked" if line.not_checked else ""
    if line.not_checked == line.n:
        unsure = " if they are pregnant (none checked)"
    if line.kind is Coming.RETURNS:
        days = f"now, until {last}" if line.is_now else f"from {first} to {last}"
        words = f"returns to heat: look for {who} {days}"
    elif line.kind is Coming.SCAN:
        days = f"scan from {first}" + (f" to {last}" if last else "")
        if line.is_now:
            days = f"scan since {first}" + (f", best until {last}" if last else "")
        words = f"{line.group or 'no group'}: {who} not checked, {days}"
    elif line.kind is Coming.OVERDUE:
        words = f"calving: {who} past the days expected{unsure}"
    else:
        words = f"calving: {who} due from {first} to {last}{unsure}"
    return f"{words}: {_COMMANDS[line.kind]}"


def day_words(day: date) -> str:
    """A day with its year: what is told may lie in the next."""
    return f"{day:%a} {day.day} {day:%b} {day.year}"


def _print_done(today: Today, zone: ZoneInfo) -> None:
    if not today.work.done:
        return
    head("DONE TODAY")
    for line in today.work.done:
        by = f", {line.by}" if line.by else ""
        span = f"{line.first.astimezone(zone):%H:%M}"
        if line.last != line.first:
            span += f" to {line.last.astimezone(zone):%H:%M}"
        tell(f"{line.group or 'no group'}: {line.words} {line.n}, {span}{by}", 2)


def _print_shelf(today: Today, zone: ZoneInfo) -> None:
    if today.runs_out:
        head("RUNS OUT")
        for short in today.runs_out:
            need = short.need
            tell(
                f"{need.name.replace('_', ' ')}: {short.short:g} {short.unit} short for "
                f"{need.words} of {need.group} ({clock(need.at, zone)}): {need.amount:g} wanted, "
                f"{short.on_hand:g} left",
                2,
            )
    notes = [
        f"{line.item.name.replace('_', ' ')}{f' lot {line.item.lot}' if line.item.lot else ''}: "
        f"{flag}"
        for line in today.stock
        for flag in line.flags
    ]
    for tank in today.tanks:
        refill = (
            f"; refill by {tank.refill_on:%a} {tank.refill_on.day} {tank.refill_on:%b}"
            if (tank.refill_on)
            else ""
        )
        if tank.flags or (tank.refill_on and (tank.refill_on - today.half_day[0]).days <= 7):
            notes.append(f"tank {tank.tank}: {'; '.join(tank.flags) or 'soon low'}{refill}")
    if notes:
        head("LOOK AT")
        for note in notes:
            tell(f"{note}", 2)


def today_to_json(today: Today) -> dict[str, Any]:
    """Return Today as plain values, instants in UTC beside the ranch's clock."""
    zone = find_zone(today.zone)
    work = today.work
    return {
        "schema_version": SCHEMA_VERSION,
        "ranch": today.ranch,
        "season": today.season,
        "at_utc": today.at.isoformat(),
        "at_local": today.at.astimezone(zone).isoformat(),
        "zone": today.zone,
        "now": [_visit_json(v, zone) for v in work.now],
        "next": [_visit_json(v, zone) for v in work.next],
        "late": [_late_json(line, zone) for line in work.late],
        "beyond": [_late_json(line, zone) for line in work.beyond],
        "missed_earlier": work.beyond_before,
        "inseminate": [ai_json(line, zone) for line in today.inseminate],
        "inseminate_later": [ai_json(line, zone) for line in today.later],
        "too_late": [ai_json(line, zone) for line in today.too_late],
        "heats": [
            {
                "group": h.group,
                "females": h.n,
                "expected": h.expected,
                "low": h.low,
                "high": h.high,
                "seen": h.seen,
                "next_12_h": h.to_come,
                "hours": h.clock_hours,
                "after": h.clock_words,
                "call": h.call,
                "source": list(h.source),
            }
            for h in today.heats
        ],
        "done": [
            {
                "group": d.group,
                "do": d.do,
                "n": d.n,
                "by": d.by,
                "first": _instant(d.first, zone),
                "last": _instant(d.last, zone),
            }
            for d in work.done
        ],
        "runs_out": [
            {
                "item": r.need.name,
                "kind": r.need.kind,
                "group": r.need.group,
                "step": r.need.step,
                "wanted": r.need.amount,
                "left": r.on_hand,
                "short": r.short,
                "unit": r.unit,
            }
            for r in today.runs_out
        ],
        "stock_flags": [
            {"item": b.item.name, "lot": b.item.lot, "flags": list(b.flags)} for b in today.stock
        ],
        "tanks": [
            {
                "tank": t.tank,
                "last_cm": t.last_cm,
                "refill_on": t.refill_on.isoformat() if t.refill_on else None,
                "flags": list(t.flags),
            }
            for t in today.tanks
        ],
        "unlisted": [f.tag for f in today.unlisted],
        "after_insemination": [
            {
                "what": line.kind.value,
                "group": line.group or None,
                "females": line.n,
                "not_checked": line.not_checked,
                "from_on": line.from_on.isoformat(),
                "until_on": line.until_on.isoformat() if line.until_on else None,
                "now": line.is_now,
            }
            for line in today.ahead
        ],
    }


def _instant(moment: datetime, zone: ZoneInfo) -> dict[str, str]:
    return {"utc": moment.isoformat(), "local": moment.astimezone(zone).isoformat()}


def _visit_json(visit: VisitNow, zone: ZoneInfo) -> dict[str, Any]:
    return {
        "group": visit.group,
        "visit": visit.visit,
        "words": visit.words,
        "at": _instant(visit.at, zone),
        "ends": _instant(visit.ends, zone),
        "window": [_instant(moment, zone) for moment in visit.window],
        "until": _instant(visit.until, zone) if visit.until else None,
        "open": visit.is_open,
        "to_go": len(visit.to_go),
        "done": visit.done,
        "behind": visit.behind,
        "left_out": list(visit.left_out),
        "held_back": [held_json(tag, held) for tag, held in visit.held],
        "closes_first": visit.closes_first[0] if visit.closes_first else None,
        "steps": [
            {
                "id": s.step.id,
                "do": s.step.do,
                "to_go": s.to_go,
                "done": s.done,
                "ml_each": s.ml_each,
                "ml_to_go": s.ml_to_go,
                "straws": s.straws,
                "by_sire": {sire: list(tags) for sire, tags in s.by_sire},
                "cautions": list(s.step.dose.cautions) if s.step.dose else [],
            }
            for s in visit.steps
        ],
    }


def _late_json(line: Late, zone: ZoneInfo) -> dict[str, Any]:
    return {
        "tag": line.tag,
        "group": line.group,
        "visit": line.visit,
        "words": line.words,
        "planned": _instant(line.planned, zone),
        "closes": _instant(line.closes, zone),
        "why": line.why,
    }


def ai_json(line: AiLine, zone: ZoneInfo) -> dict[str, Any]:
    """One line of the insemination list as plain values."""
    return {
        "tag": line.tag,
        "female": line.female,
        "group": line.group,
        "heat_seen": _instant(line.heat.first_seen_at, zone),
        "inseminate": _instant(line.time.at, zone),
        "window": [_instant(line.time.early, zone), _instant(line.time.late, zone)],
        "until": _instant(line.time.last, zone),
        "standing": line.standing.value,
        "text": line.text,
        "sire": line.sire,
        "straw": straw_words(line) if line.straw is not None else None,
        "notes": line_notes(line, zone),
    }


def print_ai_lines(lines: Iterable[AiLine], zone: ZoneInfo) -> None:
    """Say in sentences when each is inseminated: the answer to a heat just recorded."""
    alike: dict[tuple[str, str, tuple[str, ...]], list[str]] = {}
    for line in lines:
        is_over = line.standing is Timeliness.TOO_LATE
        sire = "" if line.sire is None or is_over else f"sire {straw_words(line)}"
        alike.setdefault((line.text, sire, tuple(line_notes(line, zone))), []).append(line.tag)
    for (text, sire, notes), tags in alike.items():
        act = "" if text.startswith(("Past", "Too late")) else "inseminate "
        tell(f"{', '.join(tags)}: {act}{text}")
        for words in (sire, *notes):
            if words and words != text:
                tell(words, 2)
