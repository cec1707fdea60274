"""Soil, nights and benches that nobody tested: nothing is answered there, and no date is made of it. Places invented.

Frost as in `test_dates_by_hand`: 28 April is the date with an even chance of a later frost, 15 May that of one year in
ten. The days, weeks and temperatures are those of the release 1.3.0.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from types import SimpleNamespace

import pytest
from reed_hollow import COLD_SPRING, PLACE

import cropdata
from cropdata.agronomy.windows import Window
from cropdata.season import Plan, PlannedSowing, plan_season
from cropdata.season.crop_part import CropPart
from cropdata.season.drafting import Draft
from cropdata.season.season_file import season_of
from cropdata.season.site import Site, Year
from cropdata.season.waiting import soil_wait
from cropdata.season.words import Words


def _plan(*packets: dict[str, object], **place: object) -> Plan:
    return plan_season({"season": 2027, "place": PLACE | place, "packets": list(packets)})


def _one(packet: dict[str, object], **place: object) -> PlannedSowing:
    return _plan(packet, **place).sowings[0]


def _site_with(soil: Callable[[datetime.date], float]) -> Site:
    catalog = cropdata.open()
    site = Site(season_of({"season": 2027, "place": PLACE, "packets": [{"crop": "turnip"}]}, catalog), catalog)
    site.soil = Year(soil)
    return site


def _d(month: int, day: int, year: int = 2027) -> datetime.date:
    return datetime.date(year, month, day)


def test_soil_that_nobody_tested_is_no_soil_in_which_nothing_grows() -> None:
    """Kale: best at 18 to 21 °C, 3.5 to 10 days printed, nothing of colder soil; it is sown from 17 March on."""
    line = _one({"crop": "kale", "method": "in_place"}, soil_temperature_c=COLD_SPRING)
    assert line.sow == Window(_d(3, 17), _d(3, 31))  # 6 to 4 weeks before
    assert (line.emergence_days, line.seedlings, line.give_up_days, line.harvest) == (None, None, None, None)
    assert any("outside what was tested" in note and "3.5 to 10 days" in note for note in line.notes)
    warm = _one({"crop": "kale", "method": "in_place"}, soil_temperature_c=[20] * 12)
    assert warm.emergence_days == (4, 10) and warm.harvest is not None


def test_each_end_of_the_window_has_its_own_days_to_wait() -> None:
    """Turnip in soil of 10 °C to the end of April and 20 °C from 1 May, of which Harrington and Minges print 5 and 2 days.

    Sown on 31 March: 0.87 x 5 = 4.4 and 1.67 x 5 = 8.4, full on days 5 and 9; the last 1.44 x 8.35 = 12.02, full on day 13,
    but the final count of day 7 with seven quiet days is 14: 13 + 7 = 20. Sown on 1 May: 1.74 and 3.34 are days 2 and 4, the
    last 4.8, day 5; the count of day 7 is later: 7 + 7 = 14.
    """
    line = _one(
        {"crop": "turnip", "method": "in_place"},
        soil_temperature_c=[10] * 12,
        last_spring_frost=PLACE["last_spring_frost"],
    )
    assert line.sow is not None and line.give_up_days == line.least_give_up_days == 20
    place = _site_with(lambda date: 20.0 if date >= _d(5, 1).replace(year=date.year) else 10.0)
    part = CropPart(place.catalog.crop("turnip"), place, Words(year=2027), in_place=True, autumn=False)
    first, last = part.ends(Window(_d(3, 31), _d(5, 1)))
    assert (first.wait, first.give_up, last.wait, last.give_up) == ((5, 9), 20, (2, 4), 14)
    assert part.seedlings(Window(_d(3, 31), _d(5, 1))) == Window(_d(4, 5), _d(5, 5))


def test_from_which_day_of_a_window_on_nothing_is_known_is_told() -> None:
    """Kale comes up after 3.5 to 10 days at 18 to 21 °C, and nobody tells of 10 °C; 20 °C from May to August, else 10 °C.

    The tenth day of a sowing of 22 August is the 31st: the last whose seedlings are known. The last of them take 14.4 days, full
    on the fifteenth: of 17 August they are known, of 18 to 22 August not.
    """
    place = _site_with(lambda date: 20.0 if 5 <= date.month <= 8 else 10.0)
    part = CropPart(place.catalog.crop("kale"), place, Words(year=2027), in_place=True, autumn=True)
    told = part.in_part(Window(_d(8, 1), _d(9, 10))).notes
    assert [note.split(":")[0] for note in told] == ["Sown from 23 Aug on", "Sown 18 Aug – 22 Aug"]
    assert "soil at 10 °C is outside what was tested" in told[0] and "no harvest is given for this window" in told[0]
    assert "no day to give up is reckoned" in told[1]
    assert part.in_part(Window(_d(8, 1), _d(8, 17))).notes == []
    # Nothing known of the first day either is told of that day.
    assert part.in_part(Window(_d(8, 30), _d(9, 10))).notes == []
    place_of_cool_autumns = {
        "first_autumn_frost": {0.1: "11-05", 0.5: "12-01", 0.9: "12-28"},
        "soil_temperature_c": [5, 5, 7, 9, 13, 16, 18, 18, 15, 12, 8, 6],
    }
    line = _one({"crop": "kale", "method": "in_place", "autumn": True}, **place_of_cool_autumns)
    assert line.seedlings is not None and line.harvest is None
    assert any(note.startswith("Sown from ") and "no harvest" in note for note in line.notes)


def test_the_waiting_steps_end_with_the_last_sowing_day() -> None:
    """In a spring that warms up sowings on the last day come sooner and are given up sooner: as those of that day alone."""
    line = _one({"crop": "turnip", "method": "in_place"}, soil_temperature_c=COLD_SPRING)
    assert line.sow is not None
    alone = [
        _one({"crop": "turnip", "method": "in_place", "sow": day}, soil_temperature_c=COLD_SPRING) for day in line.sow
    ]
    first, last = (each.give_up_days or 0 for each in alone)
    assert (line.give_up_days, line.least_give_up_days) == (first, last) and first > last + 7
    assert line.sow == Window(_d(4, 3), _d(4, 17))  # a fortnight from the day on which the soil is warm enough
    step = next(step for step in line.steps if step.kind == "give_up")
    days = datetime.timedelta
    assert step.first == line.sow.first + days(first)
    assert step.last == max(step.first, line.sow.last + days(last))
    assert (
        f"If no seedling is up {first} days after a sowing on 3 Apr, {last} after one on 17 Apr it has failed:"
        in step.text
    )
    expected = next(step for step in line.steps if step.kind == "seedlings")
    assert "after a sowing on 3 Apr" in expected.text and "after one on 17 Apr" in expected.text


def test_without_soil_temperatures_nothing_is_reckoned_from_the_days_of_warm_soil() -> None:
    """Pea is sown from 3 March on, when the soil may be at 2 °C: no day in March tells that it has failed."""
    plan = _plan({"crop": "pea", "method": "in_place", "plants": 10})
    line = plan.sowings[0]
    assert line.sow is not None and line.seeds is not None
    assert (line.emergence_days, line.seedlings, line.give_up_days, line.harvest) == (None, None, None, None)
    assert not any("it has failed" in step.text for step in line.steps)
    assert any("where the soil is as warm as printed they come after 6 to 7 days" in note for note in line.notes)


def test_without_a_bench_temperature_nothing_has_failed() -> None:
    place = {"last_spring_frost": PLACE["last_spring_frost"]}
    line = plan_season({"season": 2027, "place": place, "packets": [{"crop": "tomato", "method": "pot"}]}).sowings[0]
    told = {step.kind: step.text for step in line.steps}
    assert "where it is as warm as printed" in told["seedlings"]
    assert told["give_up"].startswith("Do not give up before") and "failed" not in told["give_up"]


def test_seeds_are_not_reckoned_for_a_sowing_in_place_of_which_none_can_be_counted_on() -> None:
    """Snap bean: nothing at 10 °C (Harrington and Minges); this soil cools from 13 °C on 10 October."""
    plan = _plan(
        {"crop": "snap bean", "method": "in_place", "sow": _d(10, 10), "plants": 20}, soil_temperature_c=COLD_SPRING
    )
    assert plan.sowings[0].seeds is None and plan.sowings[0].give_up_days is None


def test_a_crop_that_is_never_sown_has_no_days() -> None:
    """Alpine soil has 14 °C at its warmest, snap bean wants 16; of zinnia no days to harvest are recorded to count back by."""
    for packet in ({"crop": "snap bean", "method": "in_place"}, {"crop": "zinnia", "method": "tray", "autumn": True}):
        line = _one(packet, soil_temperature_c=[-1, -1, 0, 2, 7, 11, 14, 13, 9, 5, 1, 0])
        assert line.sow is None, packet
        assert (line.emergence_days, line.give_up_days, line.least_give_up_days, line.warmth_c) == (None,) * 4


def test_a_tender_crop_of_unknown_speed_is_sown_when_the_frost_risk_is_reached() -> None:
    """Zinnia: best at 21 to 27 °C; in soil of 13 °C it may be up at any time, so not before 15 May."""
    line = _one({"crop": "zinnia", "method": "in_place"}, soil_temperature_c=COLD_SPRING)
    assert line.sow is not None and line.sow.first == _d(5, 15)
    assert line.frost_left == pytest.approx(0.1)


def test_colder_than_the_coldest_of_a_table_it_grows_between_nothing_and_as_there() -> None:
    """Pea (Harrington and Minges): 36 days at 5 °C, 14 at 10 °C. Ten days at 4 °C, then 10 °C.

    Fewest: 10 / (0.87 x 36) = 0.319 done at most, the rest 0.681 x 0.87 x 14 = 8.3 days: day 19. Most: nothing done,
    then 1.67 x 14 = 23.4 days: day 34.
    """
    db, start = cropdata.open(), _d(4, 1)
    soil = Year(lambda date: 10.0 if (date.month, date.day) >= (4, 11) else 4.0)
    place = SimpleNamespace(soil=soil, catalog=db, rule=lambda rule_id: {"emergence_last": 1.44}[rule_id])
    found = soil_wait(db.crop("pea"), place, start, Draft(Words()))  # type: ignore[arg-type]
    # The last of them: nothing done in the ten days, then 1.44 x 23.4 = 33.7 days at 10 °C: day 44, not 1.44 x 34 = 49.
    assert found == ((19, 34), 44, False)
    never = Draft(Words())
    cold = SimpleNamespace(soil=Year(lambda date: 4.0), catalog=db, rule=place.rule)
    assert soil_wait(db.crop("pea"), cold, start, never) == (None, None, True)  # type: ignore[arg-type]
    assert "does not come up within 120 days, or not all of it" in never.notes[0]


MILD = {
    "last_spring_frost": {0.9: "01-10", 0.5: "02-20", 0.1: "03-20"},
    "first_autumn_frost": {0.1: "11-10", 0.5: "12-05", 0.9: "12-28"},
    "night_temperature_c": [4, 5, 6, 8, 12, 16, 19, 19, 16, 12, 7, 5],
    "soil_temperature_c": [8, 9, 11, 14, 18, 22, 25, 25, 22, 17, 13, 9],
}
MILD_SOUTH = {  # the same half a year on
    "last_spring_frost": {0.9: "07-10", 0.5: "08-20", 0.1: "09-20"},
    "first_autumn_frost": {0.1: "05-10", 0.5: "06-05", 0.9: "06-28"},
    "night_temperature_c": [19, 19, 16, 12, 7, 5, 4, 5, 6, 8, 12, 16],
    "soil_temperature_c": [25, 25, 22, 17, 13, 9, 8, 9, 11, 14, 18, 22],
}


@pytest.mark.parametrize(("place", "month"), [(MILD, 4), (MILD_SOUTH, 10)])
def test_warmth_is_looked_for_after_the_coldest_day_not_in_the_autumn_before(
    place: dict[str, object], month: int
) -> None:
    """Tomato wants nights of 10 °C: April's mean is 8, May's 12. Pepper's least to germinate is 16 °C: soil has 14 in
    April and 18 in May. So both go out between the middles of these months (of October and November in the south), two
    weeks to two months after the frost-risk date.
    """
    plan = _plan({"crop": "tomato", "method": "pot"}, {"crop": "pepper", "method": "pot"}, **place)
    for line in plan.sowings:
        assert line.plant_out is not None
        assert _d(month, 15) < line.plant_out.first < _d(month + 1, 16), line.crop
    assert (plan.place.risk_date - _d(month - 1, 20)).days == 0


SHORT = {  # a short season: half the years have frost after 15 June and again by 31 August
    "last_spring_frost": {0.9: "05-25", 0.5: "06-15", 0.1: "07-05"},
    "first_autumn_frost": {0.1: "08-10", 0.5: "08-31", 0.9: "09-15"},
    "soil_temperature_c": [-1, -1, 0, 2, 7, 11, 14, 13, 9, 5, 1, 0],
}


def test_a_tender_crop_for_the_autumn_waits_for_the_spring_frost_too() -> None:
    """Tomato: 70 to 90 days from planting and 28 more before 31 August are 5 to 25 May; 5 July is safe."""
    plan = _plan({"crop": "tomato", "method": "pot", "autumn": True, "plants": 20}, **SHORT)
    line = plan.sowings[0]
    assert (line.sow, line.plant_out, line.harvest, line.seeds) == (None, None, None, None)
    assert [clash.kind for clash in plan.conflicts] == ["season"]
    assert "too short" in plan.conflicts[0].text and any("25 May" in note for note in line.notes)


def test_part_of_an_autumn_window_before_the_frost_risk_is_reached_is_cut_off() -> None:
    """The first frost on 19 October less 118 to 98 days: 23 June to 13 July; here 1 July is safe. Raised 6 to 8 weeks."""
    late = {"last_spring_frost": {0.9: "05-20", 0.5: "06-10", 0.1: "07-01"}}
    line = _one({"crop": "tomato", "method": "pot", "autumn": True}, **late)
    assert line.plant_out == Window(_d(7, 1), _d(7, 13)) and line.sow == Window(_d(5, 6), _d(6, 1))
    step = next(step for step in line.steps if step.kind == "plant_out")
    assert step.frost_left == pytest.approx(0.1) and "Chance of a later frost: 10 %" in step.text
    usual = next(
        step for step in _one({"crop": "tomato", "method": "pot", "autumn": True}).steps if step.kind == "plant_out"
    )
    assert usual.first == _d(6, 23) and usual.frost_left is None  # by then spring's frost is over


@pytest.mark.parametrize("autumn", [False, True])
def test_what_cannot_come_up_has_no_dates_and_no_seeds(autumn: bool) -> None:
    """Snap bean and okra come up from 16 °C on; this soil has 14 °C at its warmest."""
    for crop in ("snap bean", "okra"):
        plan = _plan({"crop": crop, "method": "in_place", "plants": 20, "autumn": autumn}, **SHORT)
        line = plan.sowings[0]
        assert (line.sow, line.seedlings, line.harvest, line.seeds, line.steps) == (None, None, None, None, ())
        assert [clash.kind for clash in plan.conflicts] == ["season"]
        assert any("16 °C" in note for note in line.notes)


def test_no_share_is_invented_where_a_source_saw_none_come_up() -> None:
    """Okra: 0 of a hundred normal seedlings at 10 °C and below."""
    line = _one({"crop": "okra", "method": "pot", "plants": 20}, bench_temperature_c=10)
    assert line.seeds is None and line.factors == () and line.plant_out is None
