"""A female sold and bought back keeps her history; another one may wear a sold one's tag."""

from __future__ import annotations

import pytest
from running_season import local, running

from sunup.app.record_facts import record_fact
from sunup.app.scan import find_book, find_sheet, find_states
from sunup.app.season import find_female, join, move
from sunup.base.problems import UsageError
from sunup.records.event import Kind


def sold():
    ranch, _ = running(3)
    ranch.now = local("2027-07-01T10:00")
    at = local("2027-05-25T08:00")
    record_fact(ranch.desk(), ["2001"], Kind.INSEMINATED, {"sire": "A31"}, at=at, words="AI")
    gone = local("2027-06-10T08:00")
    record_fact(ranch.desk(), ["2001"], Kind.LEFT_HERD, {"why": "sold"}, at=gone, words="left")
    return ranch


def on_the_sheet(ranch):
    return [line.exposed.tag for line in find_sheet(ranch.desk()).lines]


def test_a_cow_bought_back_is_on_the_scan_sheet_and_in_the_book_again():
    ranch = sold()
    assert on_the_sheet(ranch) == []
    move(ranch.desk(), ["2001"], "cows")
    assert on_the_sheet(ranch) == ["2001"]
    assert [line.pregnancy.tag for line in find_book(ranch.desk())] == ["2001"]
    her = find_female(ranch.desk(), "2001").id
    assert find_states(ranch.desk())[her] == "inseminated"


def test_a_sold_ones_tag_asks_whether_she_is_back_or_another():
    ranch = sold()
    with pytest.raises(UsageError, match=r"move 2001 --to cows.*--another"):
        join(ranch.desk(), "2001", class_="cow", group="cows")
    before = {f.id for f in ranch.desk().season.females.values()}
    join(ranch.desk(), "2001", class_="heifer", group="cows", is_another=True)
    new = find_female(ranch.desk(), "2001")
    assert new.id not in before
    assert new.services == ()


def test_a_tag_worn_by_one_that_is_here_is_refused_all_the_same():
    ranch = sold()
    with pytest.raises(UsageError, match="Move her instead"):
        join(ranch.desk(), "2002", class_="cow", group="cows", is_another=True)
