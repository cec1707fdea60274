"""Sowings for the autumn, reckoned by hand at an invented place; days and weeks are those of the release 1.3.0.

19 October is the date by which half the years have had their first frost, 10 and 1 October those of one in four and one in
ten. Short cool days cost 14 days, a tender crop has 14 more before the frost.
"""

from __future__ import annotations

import datetime

from cropdata.season import Plan, plan_season

PLACE = {
    "name": "Reed Hollow (invented)",
    "last_spring_frost": {0.9: "04-10", 0.5: "04-28", 0.1: "05-15"},
    "first_autumn_frost": {0.1: "10-01", 0.25: "10-10", 0.5: "10-19", 0.75: "11-01", 0.9: "11-11"},
    "bench_temperature_c": 20,
}


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
