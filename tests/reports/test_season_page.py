"""What the season summary says of each group, day by day and through the chute."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from sunup.reports.packet_season import season_page, strips

DENVER = ZoneInfo("America/Denver")


def test_who_does_what_has_the_inseminations_on_heat(watched):
    (strip,) = strips(watched, DENVER)
    cells = dict(zip(strip["days"], dict(strip["rows"])["cows"], strict=True))
    assert cells["Mon 24 May"] == [
        ["from 18:00", "Inseminate those seen in heat", "at most 60 head"]
    ]
    assert [job[0] for job in cells["Tue 25 May"]] == ["from 06:00", "from 18:00"]


def test_the_chute_is_reckoned_for_inseminations_on_heat(watched):
    """60 cows spread evenly over 4 sessions are 15 each, 0.6 h at 25 an hour."""
    (card,) = season_page(watched, DENVER)["groups"]
    (told,) = [line for line in card["capacity"] if "seen in heat" in line]
    assert "15 head at 25 an hour need 0.6 h of 2 h: it fits" in told
