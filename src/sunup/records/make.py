"""One standing event read into the observation it is."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import TYPE_CHECKING, Any

from sunup.records import observations as o
from sunup.records.event import Kind

if TYPE_CHECKING:
    from sunup.records.corrections import Standing

Body = Mapping[str, Any]
Maker = Callable[[Body, dict[str, Any]], o.Observation]


def make(standing: Standing) -> o.Observation:
    """Return the observation of an event whose body has its form.

    Parameters
    ----------
    standing : Standing
        Not a correction; ``has_form`` holds for its body.
    """
    event = standing.event
    body = event.body
    head: dict[str, Any] = {
        "event": event.id,
        "at": standing.at,
        "entered_at": standing.entered_at,
        "zone": event.zone,
        "by": event.entered_by,
        "group": event.group,
        "corrected_by": standing.corrected_by,
        "note": body.get("note") or "",
    }
    return _MAKERS[event.kind](body, head)


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None


def _whole(value: float | None) -> int | None:
    return None if value is None else int(value)


def _number(value: Any) -> float | None:
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    return value if is_number else None


def _text(value: Any) -> str | None:
    return value if isinstance(value, str) else None


def _added(body: Body, head: dict[str, Any]) -> o.Added:
    get = body.get
    shares = get("breed_shares") or {}
    return o.Added(
        **head,
        tag=body["tag"],
        listed=body["listed"],
        class_=get("class"),
        rfid=get("rfid"),
        born_on=_day(get("born_on")),
        breed_shares=tuple(
            (str(breed), float(share))
            for breed, share in shares.items()
            if _number(share) is not None
        ),
        sire=get("sire"),
        dam=get("dam"),
        calved_on=_day(get("calved_on")),
        calving_ease=_whole(get("calving_ease")),
        mature_weight_kg=get("mature_weight_kg"),
        ever_given_estradiol=get("ever_given_estradiol"),
    )


def _identified(body: Body, head: dict[str, Any]) -> o.Identified:
    return o.Identified(**head, same_as=body["same_as"])


def _tag_changed(body: Body, head: dict[str, Any]) -> o.TagChanged:
    return o.TagChanged(**head, tag=body.get("tag"), rfid=body.get("rfid"))


def _calved(body: Body, head: dict[str, Any]) -> o.Calved:
    calves = tuple(
        o.CalfBorn(
            sex=_text(calf.get("sex")),
            alive=calf["alive"] if isinstance(calf.get("alive"), bool) else None,
            weight_kg=_number(calf.get("weight_kg")),
            tag=_text(calf.get("tag")),
        )
        for calf in body.get("calves") or ()
    )
    return o.Calved(
        **head,
        ease=_whole(body.get("ease")),
        retained_membranes=body.get("retained_membranes"),
        calves=calves,
    )


def _weaned(body: Body, head: dict[str, Any]) -> o.Weaned:
    return o.Weaned(**head, calves=_whole(body.get("calves")), weight_kg=body.get("weight_kg"))


def _weighed(body: Body, head: dict[str, Any]) -> o.Weighed:
    return o.Weighed(**head, weight_kg=body["weight_kg"])


def _condition(body: Body, head: dict[str, Any]) -> o.ConditionScored:
    return o.ConditionScored(**head, score=body["score"])


def _tract(body: Body, head: dict[str, Any]) -> o.TractScored:
    return o.TractScored(**head, score=int(body["score"]))


def _pelvis(body: Body, head: dict[str, Any]) -> o.PelvisMeasured:
    return o.PelvisMeasured(**head, area_cm2=body["area_cm2"])


def _scanned(body: Body, head: dict[str, Any]) -> o.OvaryScanned:
    get = body.get
    return o.OvaryScanned(
        **head, luteum=get("luteum"), follicle_mm=get("follicle_mm"), cycling=get("cycling")
    )


def _vaccinated(body: Body, head: dict[str, Any]) -> o.Vaccinated:
    get = body.get
    return o.Vaccinated(
        **head, against=body["against"], modified_live=get("modified_live"), lot=get("lot")
    )


def _fed(body: Body, head: dict[str, Any]) -> o.Fed:
    get = body.get
    return o.Fed(
        **head,
        feed=body["feed"],
        mg_per_head=get("mg_per_head"),
        first_day=bool(get("first_day")),
        last_day=bool(get("last_day")),
        step=get("step"),
    )


def _treated(body: Body, head: dict[str, Any]) -> o.Treated:
    get = body.get
    return o.Treated(
        **head,
        act=body["act"],
        active=get("active"),
        dose_ml=get("dose_ml"),
        dose_share=get("dose_share"),
        lot=get("lot"),
        expires_on=_day(get("expires_on")),
        withdrawal_days=get("withdrawal_days"),
        site=get("site"),
        step=get("step"),
    )


def _insert_placed(body: Body, head: dict[str, Any]) -> o.InsertPlaced:
    get = body.get
    return o.InsertPlaced(
        **head,
        lot=get("lot"),
        expires_on=_day(get("expires_on")),
        withdrawal_days=get("withdrawal_days"),
        step=get("step"),
    )


def _insert_removed(body: Body, head: dict[str, Any]) -> o.InsertRemoved:
    return o.InsertRemoved(**head, found=body["found"], step=body.get("step"))


def _aid_read(body: Body, head: dict[str, Any]) -> o.HeatAidRead:
    get = body.get
    return o.HeatAidRead(
        **head, aid=body["aid"], score=_whole(get("score")), lost=bool(get("lost"))
    )


def _heat_seen(body: Body, head: dict[str, Any]) -> o.HeatSeen:
    return o.HeatSeen(**head, sign=body["sign"])


def _watched(body: Body, head: dict[str, Any]) -> o.Watched:
    get = body.get
    return o.Watched(**head, minutes=body["minutes"], aid=get("aid"), n_seen=_whole(get("n_seen")))


def _assigned(body: Body, head: dict[str, Any]) -> o.SireAssigned:
    alternates = tuple(body.get("alternates") or ())
    return o.SireAssigned(**head, sire=body["sire"], alternates=alternates, semen=body.get("semen"))


def _inseminated(body: Body, head: dict[str, Any]) -> o.Inseminated:
    get = body.get
    straws = get("straws")
    return o.Inseminated(
        **head,
        sire=body["sire"],
        batch=get("batch"),
        semen=get("semen"),
        technician=get("technician") or head["by"],
        tank=get("tank"),
        canister=get("canister"),
        timed=get("timed"),
        in_heat=get("in_heat"),
        straws=1 if straws is None else int(straws),
        step=get("step"),
    )


def _bull_examined(body: Body, head: dict[str, Any]) -> o.BullExamined:
    return o.BullExamined(
        **head, bull=body["bull"], result=body["result"], scrotum_cm=body.get("scrotum_cm")
    )


def _bulls_in(body: Body, head: dict[str, Any]) -> o.BullsIn:
    return o.BullsIn(**head, bulls=tuple(body["bulls"]), n_females=_whole(body.get("n_females")))


def _bulls_out(body: Body, head: dict[str, Any]) -> o.BullsOut:
    return o.BullsOut(**head, bulls=tuple(body.get("bulls") or ()))


def _checked(body: Body, head: dict[str, Any]) -> o.PregnancyChecked:
    get = body.get
    return o.PregnancyChecked(
        **head,
        method=body["method"],
        result=body["result"],
        fetal_age_days=get("fetal_age_days"),
        fetuses=_whole(get("fetuses")),
        fetal_sex=get("fetal_sex"),
        operator=get("operator"),
    )


def _aborted(body: Body, head: dict[str, Any]) -> o.Aborted:
    return o.Aborted(**head, found=body.get("found"))


def _moved(body: Body, head: dict[str, Any]) -> o.Moved:
    return o.Moved(**head, to=body["to"])


def _left(body: Body, head: dict[str, Any]) -> o.LeftHerd:
    return o.LeftHerd(**head, why=body["why"])


def _hold_set(body: Body, head: dict[str, Any]) -> o.HoldSet:
    return o.HoldSet(**head, why=body["why"], until_on=_day(body.get("until_on")))


def _hold_lifted(_: Body, head: dict[str, Any]) -> o.HoldLifted:
    return o.HoldLifted(**head)


def _tallied(body: Body, head: dict[str, Any]) -> o.Tallied:
    get = body.get
    return o.Tallied(
        **head,
        what=body["what"],
        count=body["count"],
        unit=get("unit"),
        item=get("item"),
        lot=get("lot"),
        place=get("place"),
    )


def _stock_moved(body: Body, head: dict[str, Any]) -> o.StockMoved:
    get = body.get
    return o.StockMoved(
        **head,
        item=body["item"],
        unit=body["unit"],
        amount=body["amount"],
        why=body["why"],
        lot=get("lot"),
        expires_on=_day(get("expires_on")),
        bottle_ml=get("bottle_ml"),
        sire=get("sire"),
        batch=get("batch"),
        semen=get("semen"),
        tank=get("tank"),
        canister=get("canister"),
        cost=get("cost"),
    )


def _nitrogen(body: Body, head: dict[str, Any]) -> o.NitrogenRead:
    return o.NitrogenRead(
        **head, tank=body["tank"], level_cm=body["level_cm"], filled=bool(body.get("filled"))
    )


def _plan_adopted(body: Body, head: dict[str, Any]) -> o.PlanSet:
    return o.PlanSet(**head, plan_id=body["plan_id"], plan=body["plan"], season=body["season"])


def _plan_changed(body: Body, head: dict[str, Any]) -> o.PlanSet:
    return o.PlanSet(
        **head,
        plan_id=body["plan_id"],
        plan=body["plan"],
        based_on=body["based_on"],
        why=body.get("why"),
    )


def _forecast(body: Body, head: dict[str, Any]) -> o.ForecastKept:
    return o.ForecastKept(
        **head,
        plan_id=body["plan_id"],
        forecast=body["forecast"],
        library_version=body["library_version"],
        kernel_version=body["kernel_version"],
        seed=int(body["seed"]),
    )


def _setting(body: Body, head: dict[str, Any]) -> o.SettingChanged:
    return o.SettingChanged(
        **head, key=body["key"], value=body["value"].get("value"), based_on=body.get("based_on")
    )


_MAKERS: Mapping[Kind, Maker] = {
    Kind.FEMALE_ADDED: _added,
    Kind.IDENTIFIED: _identified,
    Kind.TAG_CHANGED: _tag_changed,
    Kind.CALVED: _calved,
    Kind.WEANED: _weaned,
    Kind.WEIGHED: _weighed,
    Kind.CONDITION_SCORED: _condition,
    Kind.TRACT_SCORED: _tract,
    Kind.PELVIS_MEASURED: _pelvis,
    Kind.OVARY_SCANNED: _scanned,
    Kind.VACCINATED: _vaccinated,
    Kind.FED: _fed,
    Kind.TREATED: _treated,
    Kind.INSERT_PLACED: _insert_placed,
    Kind.INSERT_REMOVED: _insert_removed,
    Kind.HEAT_AID_READ: _aid_read,
    Kind.HEAT_SEEN: _heat_seen,
    Kind.WATCHED: _watched,
    Kind.SIRE_ASSIGNED: _assigned,
    Kind.INSEMINATED: _inseminated,
    Kind.BULL_EXAMINED: _bull_examined,
    Kind.BULLS_IN: _bulls_in,
    Kind.BULLS_OUT: _bulls_out,
    Kind.PREGNANCY_CHECKED: _checked,
    Kind.ABORTED: _aborted,
    Kind.MOVED: _moved,
    Kind.LEFT_HERD: _left,
    Kind.HOLD_SET: _hold_set,
    Kind.HOLD_LIFTED: _hold_lifted,
    Kind.TALLIED: _tallied,
    Kind.STOCK_MOVED: _stock_moved,
    Kind.NITROGEN_READ: _nitrogen,
    Kind.PLAN_ADOPTED: _plan_adopted,
    Kind.PLAN_CHANGED: _plan_changed,
    Kind.FORECAST_KEPT: _forecast,
    Kind.SETTING_CHANGED: _setting,
}
