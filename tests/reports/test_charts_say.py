"""The numbers and words of each chart are those of the forecast, and count what they say."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime
from itertools import accumulate, pairwise
from xml.etree import ElementTree as ET

import pytest
from charts_drawn import DENVER, KEYS, layers_of, make_chart, rows_of
from forecast_by_hand import build_bulls, build_forecast, build_trace, interval
from hypothesis import given, settings
from hypothesis import strategies as st

from sunup.forecast.follow import Followed, Happening, Hour
from sunup.forecast.forecast import CalvingWeek, Interval, SecondRound, WaterfallStep
from sunup.reports.charts import look
from sunup.reports.charts.calving import calving_chart
from sunup.reports.charts.counts import round_half_up, span
from sunup.reports.charts.draw import draw_svg
from sunup.reports.charts.followed import trace_of
from sunup.reports.charts.heats import heats_chart
from sunup.reports.charts.of_forecast import charts_of
from sunup.reports.charts.of_forecast import rows_of as rows_of_forecast
from sunup.reports.charts.pregnancy import pregnancy_chart
from sunup.reports.charts.season_dots import SeasonDots, dots_of
from sunup.reports.charts.trace import TraceEvent, trace_chart
from sunup.reports.charts.waterfall import waterfall_chart


@pytest.mark.parametrize("key", [key for key in KEYS if key not in {"trace", "waterfall"}])
def test_titles_say_that_seasons_are_possible_ones(key):
    assert re.search(r"possible\s+season", make_chart(key, look.PHONE).title)


@pytest.mark.parametrize("key", KEYS)
def test_every_row_of_a_table_fits_its_head(key):
    chart = make_chart(key, look.DESK)
    assert chart.rows
    assert {len(row) for row in chart.rows} == {len(chart.head)}


def test_heats_drawn_are_those_of_the_forecast_and_none_that_matters_is_left_out():
    forecast = build_forecast()
    chart = make_chart("heats", look.DESK)
    for name in ("seen", "true"):
        drawn = [(r["mean"], r["low"], r["high"]) for r in rows_of(chart, f"mean_{name}")]
        given_ = [
            tuple(getattr(h, f"{name}_{what}") for what in ("mean", "low80", "high80"))
            for h in forecast.heats
            if max(h.seen_high80, h.true_high80) >= 0.5
        ]
        assert drawn == given_
        assert len(drawn) < len(forecast.heats)  # empty ends are trimmed from the picture
    assert len(chart.rows) == len(forecast.heats)  # but not from the table


def test_the_words_of_the_heats_chart_count_them():
    alt = make_chart("heats", look.DESK).alt
    assert "of 150 females (Cows)" in alt
    # by hand: the means of the fixture sum to 122.6 true and 97.6 seen; most seen are 38.1
    assert "123 begin, 98 are seen" in alt
    assert "Most are first seen Wed 26 May from 08:00: 38 (" in alt


def test_heats_of_a_plan_in_which_nobody_watches_are_said_to_be_seen_only_if_somebody_did():
    told = build_forecast(seen_if="if somebody watched by eye 3 times a day for 60 minutes")
    words = heats_chart(told, look.DESK).alt
    assert "Seen: if somebody watched by eye 3 times a day for 60 minutes" in words
    watched = heats_chart(build_forecast(), look.DESK).alt
    assert "if somebody" not in watched
    assert "Seen: all that the crew takes for a heat, true or not" in watched


def test_a_second_ai_is_in_the_name_of_its_row():
    told = build_forecast()
    count = told.pregnant_to_ai
    again = SecondRound(
        protocol="resync_watch", name="Watch for returns",
        pregnant_to_first=count, inseminated=count, pregnant=count,
    )  # fmt: skip
    assert dots_of(told).name == told.name
    assert dots_of(replace(told, second=again)).name == f"{told.name}; then Watch for returns"


def test_half_days_keep_elapsed_hours_when_clocks_go_forward():
    """Sun 14 Mar 2027, 02:00 to 03:00 in Denver (IANA zone database): 08:00 and 24 h is 09:00."""
    chart = heats_chart(
        build_forecast(), look.DESK,
        clock_utc=datetime(2027, 3, 13, 15, tzinfo=UTC), zone=DENVER,
    )  # fmt: skip
    assert [row[0] for row in chart.rows[:3]] == [
        "Sat 13 Mar from 08:00",
        "Sat 13 Mar from 20:00",
        "Sun 14 Mar from 09:00",
    ]


def test_without_an_instant_half_days_are_hours():
    assert make_chart("heats_by_hours", look.DESK).rows[1][0] == "12 to 24 h"


def test_a_forecast_without_heats_still_makes_a_chart():
    chart = heats_chart(build_bulls(), look.PHONE)
    assert chart.rows == ()
    assert draw_svg(chart)


@pytest.mark.parametrize("fmt", look.FORMATS.values(), ids=lambda fmt: fmt.name)
def test_fifty_dots_are_drawn_for_each_protocol(fmt):
    """Counted in the picture itself: two protocols with AI, and bulls alone."""
    root = ET.fromstring(draw_svg(make_chart("pregnancy", fmt)))  # noqa: S314  # our own
    drawn = 0
    for group in root.iter("{http://www.w3.org/2000/svg}g"):
        if {"reaching_marks", "short_marks"} & set(group.get("class", "").split()):
            drawn += len(list(group))
    assert drawn == 150


def test_the_count_of_seasons_that_reach_the_mark_is_said_and_drawn():
    forecast = build_forecast()
    reached = sum(1 for count in forecast.dots if count / 150 >= 0.5)
    chart = make_chart("pregnancy", look.DESK)
    said = [row["text"] for row in rows_of(chart, "words")]
    assert said[0].startswith(f"in {reached} of 50 seasons 50 or more; middle season ")
    assert f"50 of 100 or more in {reached} of 50 seasons" in chart.alt
    assert chart.rows[0][2] == reached


@pytest.mark.parametrize(("n", "mark"), [(100, 50.0), (150, 50.0), (7, 33.0), (64, 61.5)])
def test_the_dashed_line_stands_where_its_word_and_the_axis_say(n, mark):
    counts = tuple(range(n // 4, n)) or (0, 1)
    chart = pregnancy_chart(
        [SeasonDots(name="a", n=n, counts=counts)], look.DESK, group="g", mark=mark
    )
    (line,) = rows_of(chart, "threshold")
    (word,) = rows_of(chart, "threshold_words")
    assert line["of_100"] == word["of_100"] == mark


@settings(max_examples=60, deadline=None)
@given(
    n=st.integers(1, 400),
    data=st.data(),
    mark=st.floats(1, 99),
    fmt=st.sampled_from(list(look.FORMATS.values())),
)
def test_dots_never_leave_the_picture_meet_or_cross_the_mark(n, data, mark, fmt):
    counts = data.draw(st.lists(st.integers(0, n), min_size=50, max_size=50))
    chart = pregnancy_chart(
        [SeasonDots(name="a", n=n, counts=tuple(counts))], fmt, group="g", mark=mark
    )
    reached = [row["of_100"] for row in rows_of(chart, "reaching")]
    short = [row["of_100"] for row in rows_of(chart, "short")]
    if not any(counts):
        assert not reached + short
        return
    assert len(reached) + len(short) == 50
    # 1e-9: the mark is a float and 7 of 10 is 70 of 100 whatever its last digit
    assert len(reached) == sum(1 for count in counts if 100 * count >= mark * n - 1e-6)
    if reached and short:
        assert max(short) < min(reached)
    rows = rows_of(chart, "reaching") + rows_of(chart, "short")
    low, high = layers_of(chart)["reaching"][0]["encoding"]["x"]["scale"]["domain"]
    per_100 = (fmt.width - 30) / (high - low)
    diameter = 2 * (layers_of(chart)["reaching"][0]["mark"]["size"] / 3.14159) ** 0.5
    assert diameter >= 2.0  # px: still a dot
    assert len({(round(r["of_100"], 6), round(r["y"], 6)) for r in rows}) == 50
    for row in rows:
        assert low * per_100 - 15 <= row["of_100"] * per_100 <= high * per_100 + 15
        assert 0 < row["y"] < chart.spec["height"]


def test_the_waterfall_falls_from_all_females_to_the_pregnant():
    forecast = build_forecast()
    chart = make_chart("waterfall", look.DESK)
    counted, lost = rows_of(chart, "counted"), rows_of(chart, "lost")
    assert counted[0]["to"] == forecast.n
    assert counted[-1]["to"] == forecast.waterfall[-1].count
    for upper, lower in pairwise(lost):
        assert lower["to"] == upper["from"]
    drawn = {round(bar["to"] - bar["from"], 6) for bar in lost}
    assert drawn == {round(s.count, 6) for s in forecast.waterfall[:-1] if s.count >= 0.5}
    # the step left out of the picture loses 0.1 of a female: nobody
    assert lost[-1]["from"] == pytest.approx(forecast.waterfall[-1].count, abs=0.11)
    assert [row[1] for row in chart.rows[1:]] == [step.count for step in forecast.waterfall]
    assert "Of 150 females (Cows), 74 pregnant" in chart.alt
    assert "heat missed, 6" in chart.alt


@pytest.mark.parametrize(("n", "said"), [(1, "51 in 100"), (3, "1.5"), (30, "15")])
def test_the_fewer_the_females_the_finer_their_means_are_told(n, said):
    """By hand: of each female 0.51 are pregnant, 0.09 of them lost at each of five steps, 0.04."""
    losses = (0.09, 0.09, 0.09, 0.09, 0.09, 0.04)
    steps = tuple(
        WaterfallStep(key=f"lost_{i}", words=f"lost {i}", count=n * share, low80=0.0, high80=n)
        for i, share in enumerate(losses)
    )
    end = WaterfallStep(key="pregnant", words="pregnant", count=n * 0.51, low80=0.0, high80=n)
    told = build_forecast(n=n, waterfall=(*steps, end))
    assert len(told.waterfall_to_show) >= 6  # the reasons stand by themselves
    alt = waterfall_chart(told, look.DESK).alt
    assert f"{said} pregnant on average of possible seasons" in alt
    assert "1 females" not in alt
    assert ("in 80 of 100" in alt) is (n > 1)  # a single female has a chance and no range
    heats = heats_chart(build_forecast(n=n), look.DESK).alt
    assert f"of {n} female{'' if n == 1 else 's'} (" in heats


def test_one_females_seasons_are_pregnant_or_not_and_have_no_middle():
    row = SeasonDots(name="a", n=1, counts=(0,) * 24 + (1,) * 26)
    chart = pregnancy_chart([row], look.DESK, group="heifers")
    assert "pregnant to AI in 26 of 50 seasons" in chart.alt
    assert "middle" not in chart.alt + str(chart.spec["title"])
    assert rows_of(chart, "middle") == []


def test_a_waterfall_without_steps_says_so():
    chart = waterfall_chart(build_bulls(), look.PHONE)
    assert "No steps" in chart.alt
    assert draw_svg(chart)


def test_the_calving_curve_adds_up_weeks_and_its_band_is_the_held_one():
    forecast = build_forecast()
    chart = make_chart("calving", look.DESK)
    born = list(accumulate(week.calves.mean for week in forecast.calving))
    assert [row["count"] for row in rows_of(chart, "born")] == [0.0, *born]
    band = rows_of(chart, "soft_80")[1:]
    assert [(row["count"], row["high"]) for row in band] == [
        (week.by_end.low80, week.by_end.high80) for week in forecast.calving
    ]
    assert "128 calve on average" in chart.alt
    assert "74 of them by AI" in chart.alt


def test_a_curve_without_a_held_range_says_it_is_the_mean_only():
    forecast = build_forecast()
    bare = replace(forecast, calving=tuple(replace(week, by_end=None) for week in forecast.calving))
    chart = calving_chart(bare, look.DESK)
    assert "soft_80" not in layers_of(chart)
    assert "mean only" in " ".join(chart.spec["vconcat"][0]["title"]["text"])


@pytest.mark.parametrize("chance", [0.02, 0.09])
def test_the_calves_of_one_female_fill_the_picture_and_no_more(chance):
    """No week reaches a whole calf in 80 of 100 seasons: all are drawn, words inside the plot."""
    rare = Interval(mean=chance, median=0, low95=0, low80=0, low50=0, high50=0, high80=0, high95=1)
    forecast = build_forecast(
        n=1,
        calving=tuple(
            CalvingWeek(from_day=273 + 7 * i, calves=rare, of_ai_mean=chance / 2, by_end=rare)
            for i in range(9)
        ),
    )
    for fmt in look.FORMATS.values():
        chart = calving_chart(forecast, fmt)
        root = ET.fromstring(draw_svg(chart))  # noqa: S314  # our own
        assert 0.94 * fmt.width <= float(root.get("width")) <= fmt.width + 0.5
        assert len(rows_of(chart, "week")) == 9
    assert f"Of 1 female (Cows) {9 * chance:.1f} calve" in chart.alt


def test_words_stand_inside_the_plot_where_late_weeks_are_empty():
    weeks = build_forecast().calving
    none = Interval(mean=0.0, median=0, low95=0, low80=0, low50=0, high50=0, high80=0, high95=0)
    empty = tuple(
        replace(weeks[-1], from_day=weeks[-1].from_day + 7 * i, calves=none, of_ai_mean=0.0)
        for i in range(1, 12)
    )
    chart = calving_chart(build_forecast(calving=(*weeks, *empty)), look.DESK)
    end = layers_of(chart)["week"][0]["encoding"]["x"]["scale"]["domain"][1]
    assert {row["day"] for row in rows_of(chart, "words_born")} == {end}


def test_no_calves_make_no_curve_but_words():
    chart = calving_chart(build_forecast(calving=()), look.PHONE)
    assert "No calves" in chart.alt
    assert draw_svg(chart)


def test_the_trace_draws_each_line_as_it_was_given():
    trace = build_trace()
    chart = make_chart("trace", look.DESK)
    for name, lines in (
        ("progesterone", (trace.progesterone,)),
        ("estradiol", (trace.estradiol,)),
        ("follicles", trace.follicles),
        ("lutea", trace.lutea),
    ):
        rows = rows_of(chart, name)
        for i, line in enumerate(lines):
            drawn = [(r["hour"], r["value"]) for r in rows if r["line"] == i]
            assert drawn == list(zip(line.hours, line.values, strict=True))
    for event in trace.events:
        assert event.words in chart.alt
        assert any(row[1:3] == (event.hour, event.words) for row in chart.rows)


@settings(max_examples=60, deadline=None)
@given(
    hours=st.lists(st.floats(-48, 400), min_size=1, max_size=12),
    fmt=st.sampled_from(list(look.FORMATS.values())),
)
def test_no_word_of_an_event_meets_another_word_or_a_stem(hours, fmt):
    words = ("GnRH", "insert out", "LH surge", "ovulation")
    events = tuple(
        TraceEvent(hour=hour, words=words[i % 4], given=i % 2 == 0) for i, hour in enumerate(hours)
    )
    chart = trace_chart(replace(build_trace(), events=events), fmt)
    rows = rows_of(chart, "words_events")
    first, end = layers_of(chart)["words_events"][0]["encoding"]["x"]["scale"]["domain"]
    px = chart.spec["vconcat"][0]["width"] / (end - first)
    boxes = [
        (r["hour"] * px, r["hour"] * px + fmt.wide(r["words"]) + fmt.text, r["y"]) for r in rows
    ]
    for i, (left, right, y) in enumerate(boxes):
        assert right - first * px <= chart.spec["vconcat"][0]["width"] + 1
        for j, (left_2, right_2, y_2) in enumerate(boxes):
            if i == j:
                continue
            if abs(y - y_2) < fmt.text:
                assert right <= left_2 + 1e-6 or right_2 <= left + 1e-6
            if y_2 < y:  # its stem runs down past this word
                assert not left + fmt.text < left_2 < right


def test_counts_are_rounded_half_up_and_ranges_of_one_number_said_once():
    assert [round_half_up(x) for x in (0.5, 1.5, 2.5, 2.49, 0.0)] == [1, 2, 3, 2, 0]
    assert span(3.6, 4.4) == "4"
    assert span(3.4, 4.4) == "3 to 4"


def test_a_row_without_any_pregnancy_is_said_in_words():
    row = SeasonDots(name="a", n=9, counts=(0,) * 50)
    chart = pregnancy_chart([row], look.PHONE, group="g")
    assert rows_of(chart, "words")[0]["text"] == "none pregnant to AI in any season"
    assert "none of 9 pregnant to AI" in chart.alt


def test_only_charts_with_numbers_are_made():
    assert [c.key for c in charts_of(build_forecast(), look.DESK)] == [
        "pregnancy", "heats", "waterfall", "calving",
    ]  # fmt: skip
    bare = build_forecast(heats=(), waterfall=(), calving=(), season=())
    assert charts_of(bare, look.DESK) == []


def test_bulls_alone_are_set_beside_ai_by_their_first_21_days():
    """Their whole season beside pregnancies to AI would flatter them."""
    bulls = build_bulls()
    row = dots_of(bulls)
    assert row.note == "no AI: pregnant in the first 21 days"
    first = bulls.season[0].by_end
    assert len(row.counts) == 50
    assert row.middle == pytest.approx(first.median, abs=1)
    # 10 of 100 lie below the low limit of 80 in 100: 5 of 50 dots, and 5 above the high one
    assert sum(1 for count in row.counts if count < first.low80 - 0.5) <= 5
    assert sum(1 for count in row.counts if count <= first.low80 + 0.5) >= 5
    assert sum(1 for count in row.counts if count > first.high80 + 0.5) <= 5
    assert list(row.counts) == sorted(row.counts)


def test_beside_the_chosen_stand_the_best_three_and_bulls_alone_last():
    others = [
        build_forecast(name=f"other {mean}", pregnant_to_ai=interval(float(mean), 5.0))
        for mean in (60, 90, 70, 80, 50)
    ]
    rows = rows_of_forecast(build_forecast(), [build_bulls(), *others])
    assert [row.name for row in rows] == [
        "7-day CO-Synch + insert", "other 90", "other 80", "other 70", "bulls alone",
    ]  # fmt: skip


def others_of(*means):
    return [
        build_forecast(
            name=f"other {mean}",
            protocol=f"other_{mean}",
            pregnant_to_ai=interval(float(mean), 5.0),
        )
        for mean in means
    ]


def caption_of(compared, **kwargs):
    chart = charts_of(build_forecast(), look.DESK, compared=compared, **kwargs)[0]
    return " ".join(chart.spec["title"]["subtitle"]), [row[0] for row in chart.rows]


def test_every_protocol_asked_for_by_name_is_drawn_and_what_is_not_drawn_is_told():
    others = others_of(60, 90, 70, 80, 50, 40)
    caption, names = caption_of(others, are_named=True)
    assert {f"other {mean}" for mean in (60, 90, 70, 80, 50, 40)} < set(names)
    assert "Not drawn" not in caption
    caption, names = caption_of(others)
    assert len(names) == 4
    assert "Not drawn: 3 more, with fewer; the table has them." in caption
    assert "Not drawn" not in caption_of(others[:3])[0]


def test_that_a_row_without_ai_counts_other_days_than_the_table_is_told():
    told = "Rows without AI count the first days only; the table has the season."
    assert told in caption_of([build_bulls()])[0]
    assert told not in caption_of(others_of(60))[0]


def test_a_record_of_the_simulator_becomes_lines_that_break_where_a_follicle_ends():
    hours = tuple(
        Hour(hour=float(h), progesterone=1.0, luteal=0.5, follicle_mm=mm, estradiol=0.1)
        for h, mm in enumerate((9.0, 10.0, 0.0, 0.0, 4.0, 5.0, 6.0, 4.0))
    )
    followed = Followed(
        hours=hours,
        happenings=(
            Happening(hour=0.0, key="gnrh", words="GnRH"),
            Happening(hour=1.5, key="ovulation", words="ovulation"),
            Happening(hour=3.5, key="wave", words="a wave of follicles begins"),
            Happening(hour=6.5, key="wave", words="a wave of follicles begins"),
        ),
        was_cycling=True, is_pregnant=False, chance=0.0,
    )  # fmt: skip
    trace = trace_of(followed, title="A cow", seed=7)
    assert [line.values for line in trace.follicles] == [(9.0, 10.0), (4.0, 5.0, 6.0), (4.0,)]
    assert [event.given for event in trace.events] == [True, False, False, False]
    assert trace.outcome == "She was not inseminated."
    assert "Seed 7." in " ".join(trace_chart(trace, look.PHONE).spec["title"]["subtitle"])
