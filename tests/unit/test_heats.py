"""Sightings to heats: merging, onset as an interval, aids that stay rubbed, aids that are lost."""

from datetime import UTC, datetime, timedelta

import pytest

from sunup.app.open import open_library
from sunup.planning.heat_flags import CHECK_FIRST, Past, ProgestinTime, flag_heats
from sunup.planning.heats import (
    HeatFigures,
    InHeat,
    Says,
    Sighting,
    find_heats,
    in_heat_before,
    read_sighting,
)

START = datetime(2026, 5, 1, 6, tzinfo=UTC)


def at(hours=0.0, days=0.0):
    return START + timedelta(hours=hours, days=days)


def eye(hours, what="standing"):
    return Sighting(at(hours), what)


def patch(hours, score=None, *, lost=False):
    return Sighting(at(hours), "patch", score=score, is_lost=lost)


@pytest.fixture(scope="module")
def figures():
    library, problems = open_library()
    assert problems == []
    return HeatFigures.of(library)


def test_sightings_of_one_evening_and_next_morning_are_one_heat(figures):
    (heat,) = find_heats([eye(12), eye(0), eye(24)], [at(-12), at(36)], figures=figures)
    assert (heat.first_seen_at, heat.last_seen_at) == (at(0), at(24))
    assert heat.onset_after == at(-12)
    assert heat.over_by == at(36)


def test_onset_is_open_where_nobody_looked_before(figures):
    (heat,) = find_heats([eye(0)], figures=figures)
    assert heat.onset_after is None
    assert heat.onset_guess(12.0) == at(-6)


def test_a_long_gap_between_looks_does_not_move_the_onset_back_more_than_the_usual_gap(figures):
    (heat,) = find_heats([eye(0)], [at(days=-10)], figures=figures)
    assert heat.onset_guess(12.0) == at(-6)


def test_watch_at_which_she_was_found_is_no_look_without_a_find(figures):
    (heat,) = find_heats([eye(0.2)], [at(-12), at(0)], figures=figures)
    assert heat.onset_after == at(-12)


def test_heats_three_weeks_apart_are_two(figures):
    assert len(find_heats([eye(0), eye(21 * 24)], figures=figures)) == 2


def test_patch_read_rubbed_at_every_check_is_one_heat_of_one_sighting(figures):
    (heat,) = find_heats([patch(h, 4) for h in (0, 12, 24, 36, 48, 60)], figures=figures)
    assert heat.hours_seen == 0.0


def test_patch_still_rubbed_a_week_later_is_not_known(figures):
    (heat,) = find_heats([patch(0, 4), patch(7 * 24, 4)], figures=figures)
    assert heat.first_seen_at == at(0)


def test_patch_renewed_and_rubbed_again_is_a_new_heat(figures):
    heats = find_heats([patch(0, 4), patch(48, 1), patch(21 * 24, 3)], figures=figures)
    assert [h.first_seen_at for h in heats] == [at(0), at(21 * 24)]


def test_intact_patch_is_a_look_that_found_her_out_of_heat(figures):
    (heat,) = find_heats([patch(-8, 1), patch(0, 3)], figures=figures)
    assert heat.onset_after == at(-8)


def test_lost_patch_is_unknown_not_no(figures):
    assert read_sighting(patch(0, lost=True), figures=figures) is Says.UNKNOWN
    assert read_sighting(patch(0, 0), figures=figures) is Says.UNKNOWN
    assert read_sighting(patch(0), figures=figures) is Says.UNKNOWN
    since, until = at(-60), at(6)
    assert (
        in_heat_before([patch(0, lost=True)], since=since, until=until, figures=figures)
        is InHeat.UNKNOWN
    )
    assert in_heat_before([patch(0, 1)], since=since, until=until, figures=figures) is InHeat.NO
    assert in_heat_before([patch(0, 3)], since=since, until=until, figures=figures) is InHeat.YES


def test_female_nobody_looked_at_is_unknown_and_one_watched_in_vain_is_not_in_heat(figures):
    since, until = at(-60), at(6)
    assert in_heat_before([], since=since, until=until, figures=figures) is InHeat.UNKNOWN
    seen = in_heat_before([], since=since, until=until, looked_at=[at(0)], figures=figures)
    assert seen is InHeat.NO


def test_heat_before_the_pgf_does_not_count_before_timed_ai(figures):
    found = in_heat_before(
        [eye(-80)], since=at(-60), until=at(6), looked_at=[at(0)], figures=figures
    )
    assert found is InHeat.NO


def test_mounting_alone_makes_an_unsure_heat_and_standing_makes_it_sure(figures):
    (maybe,) = find_heats([eye(0, "mounting")], figures=figures)
    (sure,) = find_heats([eye(0, "mounting"), eye(12)], figures=figures)
    assert (maybe.is_sure, sure.is_sure) == (False, True)


def test_blood_after_a_heat_seen_belongs_to_it_and_blood_alone_tells_of_a_missed_one(figures):
    (seen,) = find_heats([eye(0), eye(48, "blood")], figures=figures)
    assert not seen.was_missed
    (missed,) = find_heats([eye(48, "blood")], figures=figures)
    assert missed.was_missed
    (flag,) = flag_heats([missed], Past(), figures=figures)
    assert flag.is_stop


def keys(sightings, figures, past=None, looked=()):
    heats = find_heats(sightings, looked, figures=figures)
    return [flag.key for flag in flag_heats(heats, past or Past(), figures=figures)]


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (3, ["too_close"]),
        (10, ["short_interval"]),
        (17, ["short_interval"]),
        (18, []),
        (21, []),
        (24, []),
        (25, ["long_interval"]),
        (30, ["long_interval"]),
        (42, ["long_interval"]),
    ],
)
def test_interval_between_heats_is_named(figures, days, said):
    assert keys([eye(0), eye(days * 24)], figures) == said


def test_interval_across_a_pgf_says_nothing(figures):
    assert keys([eye(0), eye(10 * 24)], figures, Past(pgf_at=(at(days=7),))) == []


def test_42_days_is_told_as_one_heat_missed(figures):
    heats = find_heats([eye(0), eye(42 * 24)], figures=figures)
    (flag,) = flag_heats(heats, Past(), figures=figures)
    assert "missed" in flag.text


@pytest.mark.parametrize(
    ("days", "key", "stops"),
    [
        (10, "early_return", False),
        (18, "return", False),
        (24, "return", False),
        (25, "late_return", True),
        (42, "late_return", True),
    ],
)
def test_heat_after_insemination_is_named(figures, days, key, stops):
    past = Past(services_at=(at(0),))
    heats = find_heats([eye(days * 24)], figures=figures)
    (flag,) = flag_heats(heats, past, figures=figures)
    assert (flag.key, flag.is_stop) == (key, stops)


def test_heat_she_is_inseminated_on_is_no_return(figures):
    assert keys([eye(0), eye(12)], figures, Past(services_at=(at(12),))) == []


def test_pregnant_female_in_heat_is_checked_first(figures):
    past = Past(services_at=(at(days=-60),), found_pregnant_at=at(days=-20))
    (flag,) = flag_heats(find_heats([eye(0)], figures=figures), past, figures=figures)
    assert (flag.key, flag.do, flag.is_stop) == ("pregnant", CHECK_FIRST, True)
    assert "do not pass the cervix" in flag.do


def test_female_found_open_since_may_be_inseminated(figures):
    past = Past(services_at=(at(days=-35),), found_open_at=at(days=-5))
    assert keys([eye(0)], figures, past) == []


def test_heat_six_weeks_with_a_bull_is_checked_first(figures):
    past = Past(with_bull_from=at(days=-42))
    assert keys([eye(0)], figures, past) == ["with_bull"]
    assert keys([eye(0)], figures, Past(with_bull_from=at(days=-10))) == []


def test_heat_over_too_many_hours_is_flagged(figures):
    assert keys([eye(0), eye(24), eye(48)], figures) == ["too_long"]


@pytest.mark.parametrize(
    ("what", "days_on", "since_d", "said"),
    [
        ("melengestrol", 14, 3, ["first_heat_after_progestin"]),
        ("insert", 14, 3, ["first_heat_after_progestin"]),
        ("insert", 7, 2, []),
        ("melengestrol", 14, 21, []),
    ],
)
def test_first_heat_after_a_long_progestin_is_passed_over(figures, what, days_on, since_d, said):
    time = ProgestinTime(what, at(days=-days_on - since_d), at(days=-since_d))
    assert keys([eye(0)], figures, Past(progestins=(time,))) == said


def test_first_heat_is_passed_over_also_where_nobody_looked_for_weeks_before(figures):
    time = ProgestinTime("insert", at(days=-17), at(days=-3))
    past = Past(progestins=(time,))
    assert keys([eye(0)], figures, past, [at(days=-20)]) == ["first_heat_after_progestin"]


def test_heat_seen_on_the_day_the_insert_went_in_is_no_sign_of_a_lost_one(figures):
    time = ProgestinTime("insert", at(-4), None)
    assert keys([eye(0)], figures, Past(progestins=(time,))) == []


def test_heat_while_the_insert_was_in_is_told_after_it_came_out_too(figures):
    time = ProgestinTime("insert", at(days=-4), at(days=3))
    assert keys([eye(0)], figures, Past(progestins=(time,))) == ["under_progestin"]


def test_long_progestin_with_a_fresh_follicle_is_no_stop(figures):
    time = ProgestinTime("insert", at(days=-17), at(days=-3), is_renewed=True)
    assert keys([eye(0)], figures, Past(progestins=(time,))) == []


def test_heat_with_the_insert_still_in_asks_whether_it_is_there(figures):
    time = ProgestinTime("insert", at(days=-4), None)
    assert keys([eye(0)], figures, Past(progestins=(time,))) == ["under_progestin"]


def flags(sightings, figures, past=None):
    heats = find_heats(sightings, (), figures=figures)
    return {flag.key: flag for flag in flag_heats(heats, past or Past(), figures=figures)}


def test_a_heat_goes_on_as_long_after_ai_as_two_sightings_are_one_heat(figures):
    gap = figures.one_heat_gap.number
    assert keys([eye(gap)], figures, Past(services_at=(at(0),))) == []
    assert keys([eye(gap + 1)], figures, Past(services_at=(at(0),))) == ["early_return"]


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (4.9, "In heat again after 4.9 days. One of the two was no true heat"),
        (5, "A short interval: one of the two may have been no true heat"),
        (7, "A short interval"),
        (8, "A short cycle, as after the first heat of the season"),  # 8 to 15: Murphy 1990
        (15, "A short cycle"),
        (16, "A short interval"),
        (25, "she stopped cycling for a while"),
        (35, "she stopped cycling for a while"),
        (36, "One heat between was most likely missed"),  # twice 18 to 24
        (48, "One heat between was most likely missed"),
        (49, "she stopped cycling for a while"),
    ],
)
def test_an_interval_says_what_it_most_likely_means(figures, days, words):
    (flag,) = flags([eye(0), eye(days * 24)], figures).values()
    assert words in flag.text
    assert not flag.is_stop


def test_an_interval_is_told_unless_a_drug_or_an_insemination_lies_between(figures):
    pair = [eye(0), eye(10 * 24)]
    insert = ProgestinTime("insert", at(days=-3), at(days=4))
    assert keys(pair, figures, Past(progestins=(insert,)))[-1:] != ["short_interval"]
    later = ProgestinTime("insert", at(days=5), at(days=7))
    assert "short_interval" not in keys(pair, figures, Past(progestins=(later,)))
    long_past = ProgestinTime("insert", at(days=-30), at(days=-23))
    assert keys(pair, figures, Past(progestins=(long_past,), pgf_at=(at(days=-2),))) == [
        "short_interval"
    ]
    # inseminated on the first heat it is a return; on the second it is the interval
    assert keys(pair, figures, Past(services_at=(at(12),))) == ["early_return"]
    assert keys(pair, figures, Past(services_at=(at(9.5 * 24),))) == ["short_interval"]


def test_signs_without_standing_ask_for_another_look(figures):
    (flag,) = flags([eye(0, "mounting")], figures).values()
    assert (flag.key, flag.is_stop) == ("secondary_signs", False)
    assert flags([eye(0)], figures) == {}


def test_a_heat_is_too_long_past_the_hours_of_the_figure(figures):
    most = figures.too_long.number
    assert keys([eye(0), eye(most)], figures) == []
    assert keys([eye(0), eye(most + 1)], figures) == ["too_long"]


@pytest.mark.parametrize(
    ("days_on", "since_d", "is_passed"),
    [(12, 10, True), (11.9, 10, False), (12, 10.1, False), (14, 0, True)],
)
def test_heats_are_passed_over_for_ten_days_after_a_progestin_of_twelve(
    figures, days_on, since_d, is_passed
):
    time = ProgestinTime("insert", at(days=-days_on - since_d), at(days=-since_d))
    told = keys([eye(0)], figures, Past(progestins=(time,)))
    assert ("first_heat_after_progestin" in told) is is_passed


def test_melengestrol_is_named_and_an_insert_too(figures):
    for what, word in (("melengestrol", "melengestrol"), ("insert", "a progesterone insert")):
        time = ProgestinTime(what, at(days=-4), None)
        (flag,) = flags([eye(0)], figures, Past(progestins=(time,))).values()
        assert flag.text == f"She was in heat while on {word}."


def test_a_heat_with_a_bull_counts_from_the_day_he_came(figures):
    for days, said in ((24, []), (25, ["with_bull"]), (-1, [])):
        assert keys([eye(0)], figures, Past(with_bull_from=at(days=-days))) == said
    # she was inseminated: a return to that says more than the bull
    past = Past(with_bull_from=at(days=-42), services_at=(at(days=-21),))
    assert keys([eye(0)], figures, past) == ["return"]


def test_a_finding_speaks_of_heats_after_it_and_a_service_after_an_open_one(figures):
    later = Past(services_at=(at(days=-21),), found_pregnant_at=at(days=10))
    assert keys([eye(0)], figures, later) == ["return"]
    again = Past(services_at=(at(days=-60), at(days=-21)), found_open_at=at(days=-30))
    assert keys([eye(0)], figures, again) == ["return"]
    never = Past(found_open_at=at(days=-5), with_bull_from=at(days=-60))
    assert keys([eye(0)], figures, never) == []
