"""Dates, times and amounts in words, and which characters can be printed."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from sunup.reports import words
from sunup.reports.printable import drawn_characters, printable

DENVER = ZoneInfo("America/Denver")


def test_a_date_has_its_weekday():
    """25 May 2027 is a Tuesday: 1 January 2000 was a Saturday, 10006 days before."""
    assert words.day(date(2027, 5, 25)) == "Tue 25 May 2027"
    assert (date(2027, 5, 25) - date(2000, 1, 1)).days % 7 == 3  # Saturday and three is Tuesday


def test_clocks_are_those_of_the_ranch_and_of_24_hours():
    assert words.clock(datetime(2027, 5, 25, 2, 5, tzinfo=UTC), DENVER) == "20:05"


def test_a_span_over_midnight_names_the_second_day():
    start, end = datetime(2027, 5, 25, 4, tzinfo=UTC), datetime(2027, 5, 25, 8, tzinfo=UTC)
    assert words.span(start, end, DENVER) == "22:00 to 02:00 on Tue 25 May"


def test_numbers_keep_their_zeros_where_they_count():
    assert words.number(100.0) == "100"
    assert words.number(1234.50) == "1,234.5"
    assert words.number(0.3499, 1) == "0.3"
    assert words.money(7860, "USD") == "USD 7,860.00"
    assert words.money(-3.5) == "-3.50"


def test_one_and_many():
    assert words.count(1, "female") == "1 female"
    assert words.count(1200, "female") == "1,200 females"


def test_letters_of_many_lands_print_and_emoji_do_not():
    drawn, lost = printable({"name": "Génisses ñandú Ärzte Łąka 🐮", "n": 3, "more": ["ok\nnow"]})
    assert drawn == {"name": "Génisses ñandú Ärzte Łąka ?", "n": 3, "more": ["ok now"]}
    assert lost == 1


def test_the_font_table_has_what_a_packet_is_made_of():
    for character in "AZaz09.,:;()+-/%…\u2013\u2019µ≤\u00d7":
        assert ord(character) in drawn_characters(), character
    assert 0x1F42E not in drawn_characters()  # a cow's face
