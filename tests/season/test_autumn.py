"""Sowings for the autumn, reckoned by hand at an invented place; days and weeks are those of the release 1.3.0.

19 October is the date by which half the years have had their first frost, 10 and 1 October those of one in four and one in
ten. Short cool days cost 14 days, a tender crop has 14 more before the frost.
"""

from __future__ import annotations

import datetime

from reed_hollow import PLACE

from cropdata.agronomy.windows import Window
from cropdata.season import Plan, plan_season


def _plan(packet: dict[str, object], **place: object) -> Plan:
    return plan_season({"season": 2027, "place": PLACE | place, "packets": [packet | {"autumn": True}]})


def _d(month: int, day: int, year: int = 2027) -> datetime.date:
    return datetime.date(year, month, day)


# Frost before the harvest's end


def test_a_tender_crop_for_the_autumn_that_may_be_caught_by_the_frost_is_told() -> None:
    """Tomato: 70 to 90 days from planting, so out 118 to 98 days before 19 October, 23 June to 13 July; that of 13 July is
    ready 104 days later at the latest, 25 October, between the dates of one year in two and of three in four.
    """
    plan = _plan({"crop": "tomato", "method": "pot"})
    line = plan.sowings[0]
    assert line.harvest is not None and line.harvest.last == _d(10, 25)
    told = [each.text for each in plan.conflicts if each.kind == "autumn"]
    assert len(told) == 1 and "ready by 25 Oct at the latest; chance of a frost before: 6" in told[0]
    assert line.frost_left is not None and 0.5 < line.frost_left < 0.75
    # A risk that the grower takes is not held against it, nor frost against a crop that stands it.
    assert _plan({"crop": "tomato", "method": "pot"}, risk=0.75).conflicts == ()
    assert _plan({"crop": "radish", "method": "in_place"}).conflicts == ()


# The length of a window


def test_one_printed_number_of_days_is_no_single_day_in_autumn_either() -> None:
    """Cilantro: 35 days printed and 14 before 19 October, 31 August; a week before that too, and no day later."""
    line = _plan({"crop": "cilantro", "method": "in_place"}).sowings[0]
    assert line.sow == Window(_d(8, 24), _d(8, 31))
    # Basil, tender: 70 days and 28, 13 July.
    assert _plan({"crop": "basil", "method": "in_place"}).sowings[0].sow == Window(_d(7, 6), _d(7, 13))
    # Radish has more than a week between: as it is.
    assert _plan({"crop": "radish", "method": "in_place"}).sowings[0].sow == Window(_d(8, 29), _d(9, 7))


def test_what_would_be_sown_more_than_a_year_before_its_harvest_is_not_sown_for_that_autumn() -> None:
    """Artichoke: 456.56 days printed and 14 before 19 October 2027 are 470.56: 5 July 2026, from a week before on."""
    plan = _plan({"crop": "artichoke", "method": "in_place", "plants": 5})
    line = plan.sowings[0]
    assert (line.sow, line.harvest, line.seeds) == (None, None, None)
    assert any("sown from 28 Jun 2026, more than a year before its harvest begins" in note for note in line.notes)
    assert [(each.kind, "more than a year before its harvest" in each.text) for each in plan.conflicts] == [
        ("season", True)
    ]
    # Parsnip, the slowest of the usual ones, is within the year.
    assert _plan({"crop": "parsnip", "method": "in_place"}).sowings[0].sow is not None
