"""What is drawn and tabled on each page of ``docs/science``: panels of simulated and published."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One plot.

    Parameters
    ----------
    title : str
        What it shows, with its unit.
    unit : str
        Of the values.
    series : tuple of (str, str)
        Key of the simulated line, and its name in words.
    axis : str
        Title of the lower axis of a line; empty where each series is one value on a row.
    place : str
        How the table names a place on the lower axis: "day {}".
    span : tuple of float, optional
        Ends of the axis of values.
    names : tuple of (str, float, str)
        Where several lines are named: key, place on the lower axis, side of the line.
    band : bool
        Whether the middle 80 of 100 females are drawn.
    """

    title: str
    unit: str
    series: tuple[tuple[str, str], ...]
    axis: str = ""
    place: str = "{}"
    span: tuple[float, float] | None = None
    names: tuple[tuple[str, float, str], ...] = ()
    band: bool = False


PERCENT = (0.0, 100.0)
PAGES: dict[str, tuple[str, tuple[Panel, ...]]] = {
    "waves": (
        "Follicle waves and the length of the cycle",
        (
            Panel(
                title="Length of cycles in heifers, % of all cycles",
                unit="%",
                axis="days from ovulation to ovulation",
                place="{} d",
                series=(("waves.lengths_two", "two waves"), ("waves.lengths_three", "three waves")),
                names=(("waves.lengths_two", 19.0, "left"), ("waves.lengths_three", 23.0, "right")),
                span=(0.0, 30.0),
            ),
            Panel(
                title="Lengths and emergences, days",
                unit="d",
                series=(
                    ("waves.cycle_heifer", "cycle, heifers"),
                    ("waves.cycle_cow", "cycle, cows"),
                    ("waves.cycle_two", "cycle of two waves, heifers"),
                    ("waves.cycle_three", "cycle of three waves, heifers"),
                    ("waves.second_two", "second wave emerges, of two"),
                    ("waves.second_three", "second wave emerges, of three"),
                    ("waves.third", "third wave emerges"),
                    ("waves.deviation", "emergence to deviation"),
                ),
                span=(0.0, 25.0),
            ),
            Panel(
                title="Shares, %",
                unit="%",
                series=(
                    ("waves.two_heifer", "two waves, heifers"),
                    ("waves.two_cow", "two waves, cows"),
                    ("waves.two_if_short", "two waves, of cycles up to 21 d"),
                    ("waves.three_if_long", "three waves, of cycles from 22 d"),
                    ("waves.same_again", "next cycle has as many waves"),
                    ("waves.within_17_25", "cycles of 17 to 25 d"),
                ),
                span=PERCENT,
            ),
        ),
    ),
    "luteum": (
        "Progesterone, luteolysis and PGF",
        (
            Panel(
                title="Progesterone of heifers, ng/mL: mean, and 80 in 100 heifers",
                unit="ng/mL",
                axis="days from heat",
                place="day {}",
                series=(("luteum.p4_heifer", "heifers"),),
                span=(0.0, 9.0),
                band=True,
            ),
            Panel(
                title="Progesterone of cows, ng/mL: mean, and 80 in 100 cows",
                unit="ng/mL",
                axis="days from heat",
                place="day {}",
                series=(("luteum.p4_cow", "cows"),),
                span=(0.0, 9.0),
                band=True,
            ),
            Panel(
                title="Lutea ended by one dose of PGF, %",
                unit="%",
                axis="day from heat on which it is given",
                place="day {}",
                series=(("luteum.pgf", "heifers"), ("luteum.pgf_indicus", "Bos indicus cows")),
                names=(("luteum.pgf", 5.5, "left"), ("luteum.pgf_indicus", 6.0, "right")),
                span=PERCENT,
            ),
            Panel(
                title="Luteolysis begins, days after ovulation",
                unit="d",
                series=(
                    ("luteum.fall_two", "two waves, heifers"),
                    ("luteum.fall_three", "three waves, heifers"),
                ),
                span=(10.0, 22.0),
            ),
            Panel(
                title="Hours of the fall",
                unit="h",
                series=(
                    ("luteum.fall_hours", "onset to below 1 ng/mL, heifers"),
                    ("luteum.below_to_ovulation", "below 1 ng/mL to ovulation, heifers"),
                ),
                span=(0.0, 100.0),
            ),
        ),
    ),
    "heat": (
        "Heat, ovulation, and hours after PGF",
        (
            Panel(
                title="Heats so far after PGF on a day of the cycle, % of those in 24-104 h",
                unit="%",
                axis="hours after PGF",
                place="by {} h",
                series=(
                    ("heat.pgf_day_7", "day 7"),
                    ("heat.pgf_day_15", "day 15"),
                    ("heat.pgf_day_11", "day 11"),
                ),
                names=(
                    ("heat.pgf_day_7", 48.0, "left"),
                    ("heat.pgf_day_15", 52.0, "right"),
                    ("heat.pgf_day_11", 76.0, "right"),
                ),
                span=PERCENT,
            ),
            Panel(
                title="Heats seen so far on patches in heifers, % of all",
                unit="%",
                axis="hours after the last PGF",
                place="by {} h",
                series=(
                    ("heat.seven_seven_heifer", "7 & 7"),
                    ("heat.presync_heifer", "PGF, then 7-day insert"),
                ),
                names=(
                    ("heat.seven_seven_heifer", 48.0, "left"),
                    ("heat.presync_heifer", 57.0, "right"),
                ),
                span=PERCENT,
            ),
            Panel(
                title="Heats seen so far on patches in cows, % of all",
                unit="%",
                axis="hours after the last PGF",
                place="by {} h",
                series=(
                    ("heat.seven_seven_cow", "7 & 7"),
                    ("heat.insert_7_cow", "7-day insert"),
                ),
                names=(
                    ("heat.seven_seven_cow", 60.0, "left"),
                    ("heat.insert_7_cow", 60.0, "right"),
                ),
                span=PERCENT,
            ),
            Panel(
                title="Hours",
                unit="h",
                series=(
                    ("heat.length_heifer", "true length of heat, heifers"),
                    ("heat.length_cow", "true length of heat, cows"),
                    (
                        "heat.left_after_seen",
                        "heat still to come when two checks a day first see it",
                    ),
                    ("heat.to_ovulation", "onset of heat to ovulation"),
                    ("heat.end_to_ovulation", "end of heat to ovulation"),
                ),
                span=(0.0, 40.0),
            ),
            Panel(
                title="Heats found, %",
                unit="%",
                series=(
                    ("heat.seen_device", "device round the clock"),
                    ("heat.seen_two", "by eye, two checks of 45 minutes"),
                ),
                span=PERCENT,
            ),
        ),
    ),
    "not_cycling": (
        "Calving, condition and puberty",
        (
            Panel(
                title="Cycling, % of cows",
                unit="%",
                axis="days since calving",
                place="{} d",
                series=(
                    ("not_cycling.mixed", "herd, a fifth first-calf"),
                    ("not_cycling.first_calf", "first-calf, condition 5.3"),
                ),
                names=(
                    ("not_cycling.mixed", 70.0, "left"),
                    ("not_cycling.first_calf", 55.0, "right"),
                ),
                span=PERCENT,
            ),
            Panel(
                title="Past puberty, % of heifers",
                unit="%",
                axis="weight, % of mature weight",
                place="{} % of mature weight",
                series=(("not_cycling.puberty", "heifers"),),
                span=PERCENT,
            ),
            Panel(
                title="Points of cycling",
                unit="points",
                series=(
                    ("not_cycling.per_condition", "more for a unit of condition (55, 75 d)"),
                    ("not_cycling.per_10_days", "more for 10 days since calving (50-80 d)"),
                    ("not_cycling.first_calf_fewer", "fewer in first-calf cows (80 d)"),
                ),
                span=(0.0, 30.0),
            ),
            Panel(
                title="First ovulation, and what an insert starts, %",
                unit="%",
                series=(
                    ("not_cycling.first_silent", "first ovulation after calving silent"),
                    ("not_cycling.first_short", "short cycle after it"),
                    ("not_cycling.heat_after_insert", "anestrous cows in heat after an insert"),
                    ("not_cycling.heat_after_insert_heifer", "heifers before puberty, the same"),
                    ("not_cycling.normal_after_insert", "first luteum normal after an insert"),
                    ("not_cycling.gnrh_first", "anestrous cows that ovulate to a first GnRH"),
                    ("not_cycling.gnrh_after_insert", "by GnRH 48 h after an insert"),
                ),
                span=PERCENT,
            ),
            Panel(
                title="In heat before timed AI, 66 h after a 7-day insert, % of cows",
                unit="%",
                series=(
                    ("not_cycling.heat_thin", "condition 4 or less"),
                    ("not_cycling.heat_above", "condition above 4"),
                    ("not_cycling.heat_cycling", "cycling at the start"),
                    ("not_cycling.heat_anestrous", "not cycling at the start"),
                ),
                span=PERCENT,
            ),
        ),
    ),
    "drugs": (
        "GnRH by day of the cycle",
        (
            Panel(
                title="Ovulation to one GnRH in cows, %",
                unit="%",
                axis="day from heat on which it is given",
                place="day {}",
                series=(("drugs.gnrh_cow", "cows"),),
                span=PERCENT,
            ),
            Panel(
                title="Ovulation to one GnRH in heifers, %",
                unit="%",
                axis="day from heat on which it is given",
                place="day {}",
                series=(("drugs.gnrh_heifer", "heifers"),),
                span=PERCENT,
            ),
            Panel(
                title="Shares, %",
                unit="%",
                series=(
                    ("drugs.random_cow", "GnRH at a random stage, cows"),
                    ("drugs.random_heifer", "GnRH at a random stage, heifers"),
                    ("drugs.first_wave", "first-wave follicle ovulates, PGF on day 8"),
                    ("drugs.wave_gnrh", "half-bred cows, new wave within 4 d of GnRH"),
                    ("drugs.wave_ester", "half-bred cows, new wave within 7 d of estradiol"),
                ),
                span=PERCENT,
            ),
        ),
    ),
    "fertility": (
        "Insemination, loss and the female",
        (
            Panel(
                title="Pregnant by hour of insemination in heifers, %",
                unit="%",
                axis="hours from the onset of heat",
                place="{} h",
                series=(("fertility.timing", "heifers"),),
                span=(0.0, 80.0),
            ),
            Panel(
                title="Pregnant to one service at a natural heat in cows, %",
                unit="%",
                axis="days since calving",
                place="{} d",
                series=(("fertility.days_calved", "cows"),),
                span=(0.0, 90.0),
            ),
            Panel(
                title="Losses, %",
                unit="%",
                series=(
                    ("fertility.lost_7", "not fertilised or lost by day 7"),
                    ("fertility.lost_30", "not pregnant by day 30"),
                    ("fertility.lost_later", "of the pregnant, lost later"),
                ),
                span=(0.0, 60.0),
            ),
            Panel(
                title="Pregnancy of one kind of heat over another, ratio",
                unit="ratio",
                series=(
                    ("fertility.heat_ratio", "heat before timed AI over none"),
                    ("fertility.persistent", "persistent follicle over growing one, cows"),
                    ("fertility.melengestrol", "first heat after melengestrol over a later one"),
                ),
                span=(0.0, 2.0),
            ),
        ),
    ),
    "herd": (
        "What the facts on file say of hidden states",
        (
            Panel(
                title="Cycling by condition, % of cows",
                unit="%",
                axis="days since calving",
                place="{} d",
                series=(
                    ("not_cycling.mixed", "herd, condition 5.3, a fifth first-calf"),
                    ("not_cycling.thin", "mature, condition 4.3"),
                ),
                names=(
                    ("not_cycling.mixed", 60.0, "left"),
                    ("not_cycling.thin", 75.0, "right"),
                ),
                span=PERCENT,
            ),
            Panel(
                title="Points of cycling",
                unit="points",
                series=(
                    ("not_cycling.per_condition", "more for a unit of condition (55, 75 d)"),
                    ("not_cycling.first_calf_fewer", "fewer in first-calf cows (80 d)"),
                ),
                span=(0.0, 30.0),
            ),
            Panel(
                title="Pregnant to timed AI by tract score, over score 5, ratio",
                unit="ratio",
                axis="tract score of heifers",
                place="score {}",
                series=(("herd.tract", "heifers"),),
                span=(0.0, 1.2),
            ),
        ),
    ),
    "season": (
        "After the AI: bulls, returns, losses",
        (
            Panel(
                title="In calf after 63 days, AI then bulls, % of cows",
                unit="%",
                axis="females a bull",
                place="{} a bull",
                series=(("season.in_calf_ai", "cows"),),
                span=(50.0, 100.0),
            ),
            Panel(
                title="Bulls alone, and losses, %",
                unit="%",
                series=(
                    ("season.in_calf_bulls", "in calf after 63 days, 25 cows a mature bull"),
                    ("fertility.lost_later", "of the pregnant, lost later"),
                ),
                span=PERCENT,
            ),
            Panel(
                title="Returns seen by eye after a failed insemination, % by day",
                unit="%",
                series=(
                    ("season.return_9", "day 9 to 17"),
                    ("season.return_18", "day 18 to 24"),
                    ("season.return_25", "day 25 to 35"),
                    ("season.return_36", "day 36 to 48"),
                    ("season.return_49", "day 49 to 63"),
                ),
                span=PERCENT,
            ),
        ),
    ),
    "heat_seen": (
        "Heats found, and the hour of insemination",
        (
            Panel(
                title="Heats found, %",
                unit="%",
                series=(
                    ("heat.seen_device", "device round the clock"),
                    ("heat.seen_two", "by eye, two checks of 45 minutes"),
                ),
                span=PERCENT,
            ),
            Panel(
                title="Pregnant by hour of insemination in heifers, %",
                unit="%",
                axis="hours from the onset of heat",
                place="{} h",
                series=(("fertility.timing", "heifers"),),
                span=(0.0, 80.0),
            ),
        ),
    ),
}
