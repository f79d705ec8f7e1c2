"""The forecast in the packet: there when a group has one, in counts, with what it rests on."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO

import pytest
from forecast_by_hand import build_bulls, build_forecast, build_other, interval
from pypdf import PdfReader

from sunup.base.hours import find_zone
from sunup.reports.packet import render_packet
from sunup.reports.packet_forecast import forecast_pages, natural_count


@pytest.fixture(scope="module", params=["letter", "a4"])
def texts(request, plan):
    pdf = render_packet(
        plan,
        paper=request.param,
        forecasts={"Cows": build_forecast()},
        compared={"Cows": (build_other(), build_bulls())},
    )
    return [" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(pdf)).pages]


RUN_UP = "Run-up What has to be done"


def forecast_text(texts):
    first = next(i for i, text in enumerate(texts) if "Forecast: Cows" in text and i > 0)
    last = next(i for i, text in enumerate(texts) if RUN_UP in text and i > first)
    return " ".join(texts[first : last + 1]).split(RUN_UP)[0], last - first


def test_a_plan_without_forecasts_has_no_page_and_no_line(plan):
    pages = PdfReader(BytesIO(render_packet(plan))).pages
    assert not any("Forecast" in page.extract_text() for page in pages)


def test_numbers_that_need_not_agree_say_why(texts):
    """86 and 89 of 174 as middles of their rows; 69 a female in heat or not, 123 a pregnancy."""
    text = " ".join(texts)
    assert "Each row has a middle season of its own: rows need not add up" in text
    assert "straws, technician and supplies are paid for females inseminated" in text


def test_a_group_without_a_forecast_has_no_page(texts):
    assert not any("Forecast: Heifers" in text for text in texts)


def test_the_season_summary_says_the_natural_count(texts):
    assert (
        "74 of 150 females pregnant to AI in the middle season; 58 to 90 in 80 of 100" in texts[0]
    )


def test_the_page_has_the_pictures_with_their_words_as_text(texts):
    text, pages = forecast_text(texts)
    assert pages <= 4
    for words in (
        "Females pregnant to AI in 50 possible seasons: Cows",
        "Heats by half-day in possible seasons: Cows",
        "From all females to pregnant: Cows",
        "Calves born in possible seasons: Cows",
        "bulls alone",
    ):
        assert words in text


def test_heats_stand_on_the_clock_of_the_scheduled_pgf(texts):
    """PGF of the plan by hand: Mon 24 May, 08:00; the busiest half-day begins 48 h later."""
    assert "Most are seen Wed 26 May from 08:00: 38" in forecast_text(texts)[0]


def test_the_three_sources_stand_apart_with_seed_and_versions(texts):
    text, _ = forecast_text(texts)
    assert re.search(r"luck of the draw among 150 females 4\.1", text)
    assert re.search(r"how herds differ from each other 6\.2", text)
    assert re.search(r"not known of the animal \(12 parameter sets\) 3\.9", text)
    assert re.search(r"all together 8\.4", text)
    assert "Seed 20270525" in text
    assert "Library 3f9a1c77d2e4, parameters p1" in text


def test_it_says_what_it_rests_on_assumed_and_left_out(texts):
    text, _ = forecast_text(texts)
    assert "Days since calving and condition of 150 cows as on file." in text
    assert "Cycling or not: drawn for 112 cows without a scan." in text
    assert "Bulls that fail between their examination and turning in." in text


def test_no_bare_percentage_is_printed(texts):
    assert not re.search(r"\d ?%", forecast_text(texts)[0])


def test_pictures_carry_their_alt_text_in_the_file(plan):
    pdf = render_packet(plan, forecasts={"Cows": build_forecast()})
    alts = _alts(pdf)
    assert any("128 calve on average" in alt for alt in alts)
    assert any("Wed 26 May from 08:00: 38 (" in alt for alt in alts)


def _alts(pdf):
    reader = PdfReader(BytesIO(pdf))
    todo, found = [reader.trailer["/Root"]["/StructTreeRoot"]], []
    while todo:
        node = todo.pop().get_object()
        if isinstance(node, list):
            todo += list(node)
        elif hasattr(node, "get"):
            if "/Alt" in node:
                found.append(str(node["/Alt"]))
            if "/K" in node:
                todo.append(node["/K"])
    return found


def test_bulls_alone_as_a_forecast_counts_the_season(plan):
    pdf = render_packet(plan, forecasts={"Cows": build_bulls()})
    text = " ".join(PdfReader(BytesIO(pdf)).pages[0].extract_text().split())
    assert "130 of 150 females pregnant by the end of the season in the middle season" in text


def test_a_single_female_has_chances_on_paper_and_a_cost_without_a_range(plan):
    """By hand: pregnant in half of the seasons; what all pay comes to 140 a pregnancy."""
    chance = replace(interval(0.5, 0.0, of=1), low80=0.0, high80=1.0, low95=0.0, high95=1.0)
    told = build_forecast(
        n=1, pregnant_to_ai=chance, on_heat=chance, on_time=chance,
        cost_per_pregnancy=interval(140.0, 0.0, of=None), without_pregnancy=0.5,
    )  # fmt: skip
    assert natural_count(told) == "A chance of 50 in 100 that she is pregnant to AI"
    (page,) = forecast_pages(plan, find_zone(plan.zone), {"Cows": told}, {"Cows": (build_bulls(),)})
    rows = {row[0].partition(",")[0]: row[1:] for row in page["table"]}
    assert rows["pregnant to AI"] == ("50 in 100", "-", "-", "-")
    assert rows["cost of a pregnancy to AI"] == ("140", "-", "-", "-")
    assert page["compared"][0][1] == "50 in 100"
    assert page["sources"][0][0] == "luck of the draw among 1 female"
    assert page["compared"][0][-1] == "140"


def test_the_same_forecast_gives_the_same_bytes(plan):
    args = {"forecasts": {"Cows": build_forecast()}}
    assert render_packet(plan, **args) == render_packet(plan, **args)
