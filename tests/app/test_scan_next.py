"""Who will be late next season: nobody is left out without a word."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from running_season import local, running

from sunup.app.record import Details, record_ai
from sunup.app.record_facts import record_fact
from sunup.app.scan import Finding, find_at_start, record_findings
from sunup.base.problems import UsageError
from sunup.cli.scan_view import print_at_start
from sunup.records.event import Kind

SERVED = local("2027-05-25T18:00")


@pytest.fixture
def served():
    """Four of five cows inseminated; one found pregnant, one aborted, two never checked."""
    ranch, _ = running(5)
    ranch.now = SERVED
    record_ai(ranch.desk(), ["2001", "2002", "2003", "2004"], at=SERVED, details=Details(sire="A"))
    ranch.now = local("2027-08-10T09:00")
    record_findings(ranch.desk(), ["2001", "2002"], Finding(result="pregnant"), at=ranch.now)
    ranch.now = local("2027-11-01T09:00")
    record_fact(ranch.desk(), ["2002"], Kind.ABORTED, {}, at=ranch.now, words="aborted")
    return ranch


def test_served_and_unchecked_females_are_named_and_not_counted_in_time(served, capsys):
    served.now += timedelta(days=1)
    told = find_at_start(served.desk(), first_ai_on=date(2028, 5, 23))
    assert [one.tag for one in told.every] == ["2001"]
    assert told.unchecked == ("2003", "2004")
    assert told.ended == ("2002",)
    assert told.idle == ("2005",)
    print_at_start(told)
    said = " ".join(capsys.readouterr().out.split())
    assert "not yet checked: 2 (2003, 2004)" in said
    assert "lost her pregnancy: 1 (2002)" in said
    assert "found open or not served: 1 (2005)" in said


def test_a_calving_this_spring_counts_where_no_calf_of_a_later_service_can_come(served):
    # calved 20 Feb to the service of May; served again 1 May; first insemination 23 May
    served.now = local("2028-02-20T09:00")
    record_fact(served.desk(), ["2003"], Kind.CALVED, {}, at=served.now, words="calved")
    served.now = local("2028-05-01T09:00")
    record_ai(served.desk(), ["2003"], at=served.now, details=Details(sire="A"))
    served.now += timedelta(days=1)
    told = find_at_start(served.desk(), first_ai_on=date(2028, 5, 23))
    days = {one.tag: one.days for one in told.every}
    assert days["2003"] == (date(2028, 5, 23) - date(2028, 2, 20)).days
    assert told.unchecked == ("2004",)


def test_a_past_first_insemination_is_asked_back(served):
    served.now += timedelta(days=1)
    with pytest.raises(UsageError, match="--first-ai 2027-05-25 is past"):
        find_at_start(served.desk(), first_ai_on=date(2027, 5, 25))
