"""What a place does to the printed windows, reckoned by hand. Places invented; weeks, days and temperatures are those of
the release 1.3.0. 28 April is the date with an even chance of a later frost, 15 May that of one year in ten.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path

import pytest
from reed_hollow import COLD_SPRING, PLACE

import cropdata
from cropdata.agronomy.windows import Window
from cropdata.season import Plan, PlannedSowing, plan_season
from cropdata.season.records import Record

HOT = {
    "last_spring_frost": {0.9: "01-25", 0.5: "02-20", 0.1: "03-15"},
    "first_autumn_frost": {0.1: "11-10", 0.5: "11-28", 0.9: "12-20"},
    "soil_temperature_c": [10, 12, 16, 20, 25, 29, 31, 31, 28, 22, 16, 11],
}


def _plan(packet: dict[str, object], records: Sequence[Record] = (), **place: object) -> Plan:
    return plan_season({"season": 2027, "place": PLACE | place, "packets": [packet]}, records=records)


def _one(packet: dict[str, object], records: Sequence[Record] = (), **place: object) -> PlannedSowing:
    return _plan(packet, records, **place).sowings[0]


def _d(month: int, day: int, year: int = 2027) -> datetime.date:
    return datetime.date(year, month, day)


def _says(line: PlannedSowing, text: str) -> bool:
    return any(text in note for note in line.notes)


def _days(window: Window | None) -> int:
    assert window is not None
    return (window.last - window.first).days


# The end of a window


def test_cold_soil_costs_the_early_days_of_a_window_and_does_not_move_its_end() -> None:
    """Carrot: 6 weeks before to the date itself, 17 March to 28 April; its least is 4.4 °C. March has 2 °C and April 7 °C
    (middle of March to middle of April): about half-way, at the turn of the month.
    """
    line = _one({"crop": "carrot", "method": "in_place"}, soil_temperature_c=COLD_SPRING)
    assert line.sow is not None and _d(3, 25) < line.sow.first < _d(4, 8)
    assert line.sow.last == _d(4, 28) and not _says(line, "Sources sow it until")


def test_the_best_range_of_sources_is_told_beside_a_table_that_has_it_slow_there() -> None:
    """Carrot: best at 7 to 29 °C by sources; Harrington and Minges print 17 days at 10 °C, 10 at 15 and 6 at best: more than
    twice as many below 15 °C. Lettuce is best from 15 °C on, and slow below 15 by the table too.
    """
    carrot = _one({"crop": "carrot", "method": "in_place"}, soil_temperature_c=COLD_SPRING)
    assert _says(carrot, "; sources' best range 7–29 °C; by the table of days it is slow and thin below 15 °C.")
    lettuce = _one({"crop": "lettuce", "method": "in_place"}, soil_temperature_c=COLD_SPRING)
    assert _says(lettuce, "in an average year; by the table of days it is slow and thin below 15 °C.")


def test_a_window_that_is_nearly_over_keeps_a_fortnight_and_says_that_it_passes_what_is_printed() -> None:
    """Pea: 8 to 2 weeks before 28 April, to 14 April. Snap bean comes up from 16 °C on: the middle of May has 13 °C, that
    of June 18 °C, so from about 31 May; printed to 17 June at the latest, 7.1 weeks after, it is not sown in July.
    """
    pea = _one({"crop": "pea", "method": "in_place"}, soil_temperature_c=COLD_SPRING)
    assert pea.sow is not None and _d(4, 1) < pea.sow.first < _d(4, 14) and _days(pea.sow) == 14
    assert _says(pea, "Sources sow it until 14 Apr at the latest")
    plan = _plan({"crop": "snap bean", "method": "in_place"}, soil_temperature_c=COLD_SPRING)
    bean = plan.sowings[0]
    assert bean.sow is not None and bean.sow.last == _d(6, 17) and not plan.conflicts


def test_why_a_window_moved_is_told_of_the_first_of_several_sowings_only() -> None:
    """Pea waits for its soil and keeps a fortnight, past the 14 April of its sources; those after it wait for the grower."""
    plan = _plan({"crop": "pea", "method": "in_place", "sowings": 4, "every_days": 14}, soil_temperature_c=COLD_SPRING)
    said = ("Sources sow it until", "Soil reaches its least temperature")
    told = {line.number: [_says(line, text) for text in said] for line in plan.sowings}
    assert told == {1: [True, True]} | {number: [False, False] for number in (2, 3, 4)}
    # A fortnight on is its last day yet, four and six weeks on are not.
    assert [line.number for line in plan.sowings if _says(line, "Sown later than sources sow it")] == [3, 4]
    assert not any(each.kind == "late" for each in plan.conflicts)


# Frost risk, soil and nights


@pytest.mark.parametrize("crop", ["sweet corn", "cucumber"])
def test_seedlings_of_a_tender_crop_in_place_never_come_before_the_frost_risk_is_reached(crop: str) -> None:
    """Each later sowing waits fewer days in soil that warms up, so that day's own wait counts."""
    place = {
        "last_spring_frost": {0.9: "03-20", 0.5: "04-20", 0.1: "05-21"},
        "soil_temperature_c": [2, 4, 8, 12, 17, 21, 24, 24, 19, 13, 7, 3],
    }
    line = _one({"crop": crop, "method": "in_place"}, **place)
    assert line.seedlings is not None and _d(5, 21) <= line.seedlings.first <= _d(5, 23)
    assert line.frost_left is not None and line.frost_left <= 0.1 + 1e-9


def test_melon_waits_outside_for_the_soil_that_its_seed_wants() -> None:
    """Cold soil checks it below 50 °F, and it comes up from 60 °F on (15.6 °C): the greater counts. The middle of May has
    13 °C, that of June 18 °C.
    """
    line = _one({"crop": "melon", "method": "pot"}, soil_temperature_c=COLD_SPRING)
    assert line.plant_out is not None and _d(5, 22) < line.plant_out.first < _d(6, 8)
    assert _says(line, "The soil holds 16 °C, its least to germinate")


# A frost tolerance that nobody prints


def test_unknown_tolerance_and_a_printed_date_before_the_last_frost_is_not_tender() -> None:
    """Celeriac: about 2 weeks before the average last frost (Cornell), and raised 10 to 12 weeks."""
    line = _one({"crop": "celeriac", "method": "tray"})
    assert line.plant_out == Window(_d(4, 14), _d(4, 28)) and line.sow == Window(_d(1, 20), _d(2, 3))
    assert _says(line, "printed weeks have it outside by the last frost, so not treated as tender")


@pytest.mark.parametrize("crop", ["tomatillo", "squash", "luffa", "melampodium"])
def test_unknown_tolerance_stays_tender_where_no_printed_date_says_otherwise(crop: str) -> None:
    """Tomatillo: "after danger of frost has passed" (Utah State); squash: a week after the average last frost (Colorado
    State); luffa: two to three weeks after it, recalled, though a difference of two prints would put it out before;
    melampodium: nothing but recalled weeks.
    """
    line = _one({"crop": crop, "method": "tray"})
    assert line.plant_out is not None and line.plant_out.first >= _d(5, 15)
    assert _says(line, "not recorded: treated as tender")


def test_one_printed_number_of_weeks_is_no_single_day() -> None:
    """Pak choi: out "after last frost date" (Cornell), 28 April and a fortnight; raised 3 weeks, so sown 3 weeks before."""
    line = _one({"crop": "pak choi", "method": "tray"})
    assert line.plant_out == Window(_d(4, 28), _d(5, 12)) and line.sow == Window(_d(4, 7), _d(4, 21))


# Two printed ways to a sowing date


def test_leek_is_sown_by_its_printed_weeks_before_the_last_frost() -> None:
    """Printed 12 to 8 weeks before 28 April: 3 February to 3 March. By planting out from 6 weeks before (17 March) and 11 to
    9 weeks to raise it would be 30 December to 13 January, three weeks sooner. Out 9 weeks after the first and the last
    sowing, 7 April and 5 May.
    """
    line = _one({"crop": "leek", "method": "tray"})
    assert line.sow == Window(_d(2, 3), _d(3, 3)) and line.plant_out == Window(_d(4, 7), _d(5, 5))
    told = "3 Feb – 3 Mar by printed weeks before the last frost, which the plan follows; 30 Dec 2026 – 13 Jan by"
    assert _says(line, told)
    # On a day of one's own it goes out when it is raised (9 to 11 weeks), from 17 March on.
    own = _one({"crop": "leek", "method": "tray", "sow": _d(1, 5)})
    assert own.plant_out == Window(_d(3, 17), _d(3, 24)) and not _says(own, "Sources disagree when to sow")


def test_where_the_place_puts_planting_out_off_the_printed_sowing_moves_with_it(tmp_path: Path) -> None:
    """An invented tender leek: out not from 7 April but from 15 May, 38 days later; so is its sowing, 13 March to 10 April.
    The last of it goes out 9 weeks after 10 April, 12 June.
    """
    (tmp_path / "layer.yaml").write_text("title: A tender leek (invented)\nauthor: me\n", encoding="utf-8")
    (tmp_path / "frost_tolerance.csv").write_text("crop_id,class,action\nleek,tender,override\n", encoding="utf-8")
    season = {"season": 2027, "place": PLACE, "packets": [{"crop": "leek", "method": "tray"}]}
    line = plan_season(season, cropdata.open(layers=[tmp_path])).sowings[0]
    assert line.sow == Window(_d(3, 13), _d(4, 10)) and line.plant_out == Window(_d(5, 15), _d(6, 12))
    assert _says(line, "3 Feb – 3 Mar by printed weeks before the last frost, which the plan follows")


def test_onion_within_a_fortnight_keeps_its_weeks_to_raise() -> None:
    """Printed 12 to 10 weeks before: 3 to 17 February; by weeks to raise until 27 January, 7 days apart."""
    line = _one({"crop": "onion", "method": "tray"})
    assert line.sow == Window(_d(12, 30, 2026), _d(1, 27)) and not _says(line, "Sources disagree when to sow")


def test_weeks_to_raise_without_a_planting_out_time_are_told_as_that(tmp_path: Path) -> None:
    """Beet, sown in place by its sources; a grower's own layer raises it 3 to 4 weeks. Of 10 April it goes out 1 to 8 May."""
    (tmp_path / "layer.yaml").write_text("title: Beet in blocks (invented)\nauthor: me\n", encoding="utf-8")
    (tmp_path / "weeks_to_raise.csv").write_text(
        "crop_id,low,high,unit,action\nbeet,3,4,weeks,override\n", encoding="utf-8"
    )
    packet = {"crop": "beet", "method": "block"}
    season = {"season": 2027, "place": {"last_spring_frost": PLACE["last_spring_frost"]}, "packets": [packet]}
    with_layer = cropdata.open(layers=[tmp_path])
    line = plan_season(season, with_layer).sowings[0]
    assert line.sow is None and not _says(line, "Nothing is recorded of how long")
    assert _says(line, "It is raised 3 to 4 weeks, but its planting-out time is not recorded")
    own = plan_season(season | {"packets": [packet | {"sow": _d(4, 10)}]}, with_layer).sowings[0]
    assert own.plant_out == Window(_d(5, 1), _d(5, 8))


# Autumn


def test_autumn_lettuce_is_not_sown_while_the_soil_is_too_warm_for_it() -> None:
    """47.5 to 90 days to harvest and 14 before 28 November: 16 August to 27 September. Nothing comes up above 85 °F (29.4 °C):
    the middle of August has 31 °C, that of September 28 °C.
    """
    packet = {"crop": "lettuce", "method": "in_place", "autumn": True, "plants": 20}
    line = _one(packet, **HOT)
    assert line.sow is not None and _d(8, 20) < line.sow.first < _d(9, 16) and line.sow.last == _d(9, 27)
    assert _says(line, "it would be sown 16 Aug – 27 Sep; only") and _says(line, "no warmer than 29 °C")
    plan = _plan(packet, **HOT | {"soil_temperature_c": [35] * 12})
    assert plan.sowings[0].sow is None and plan.sowings[0].seeds is None
    assert [each.text for each in plan.conflicts] == [
        "Lettuce: the soil is too warm to sow it in place for the autumn."
    ]


def test_autumn_parsnip_waits_for_soil_that_it_comes_up_in() -> None:
    """Alpine: 107 to 150 days and 14 before 31 August, 20 March to 2 May. Its least is 1.7 °C: March has 0 °C, April 2 °C."""
    place = {
        "last_spring_frost": {0.9: "05-25", 0.5: "06-15", 0.1: "07-05"},
        "first_autumn_frost": {0.1: "08-10", 0.5: "08-31", 0.9: "09-15"},
        "soil_temperature_c": [-1, -1, 0, 2, 7, 11, 14, 13, 9, 5, 1, 0],
    }
    line = _one({"crop": "parsnip", "method": "in_place", "autumn": True}, **place)
    assert line.sow is not None and _d(4, 5) < line.sow.first < _d(4, 20) and line.sow.last == _d(5, 2)


@pytest.mark.parametrize("first_frost", [{0.1: "10-01", 0.5: "10-19", 0.9: "11-11"}, {0.1: "10-01", 0.5: "10-19"}])
def test_the_autumn_frost_has_come_for_all_that_stands_until_next_spring(first_frost: dict[float, str]) -> None:
    """Sown on 20 December and planted six weeks later, tomatoes are ripe in April or May, after every first frost."""
    line = _one({"crop": "tomato", "method": "pot", "sow": _d(12, 20)}, first_autumn_frost=first_frost)
    assert line.harvest is not None and line.harvest.last > _d(4, 30, 2028)
    assert line.frost_left == pytest.approx(0.98)  # read as 98 % or more


# A day of the grower's own


def test_what_is_said_of_the_reckoned_window_is_not_said_of_a_day_of_ones_own() -> None:
    """Zinnia goes into 13 °C so that it does not come up before 15 May; on 5 April that is not so."""
    said = "do not come before 15 May"
    packet = {"crop": "zinnia", "method": "in_place"}
    assert _says(_one(packet, soil_temperature_c=COLD_SPRING), said)
    stated = _one(packet | {"sow": _d(4, 5)}, soil_temperature_c=COLD_SPRING)
    recorded = _one(packet, [Record(2, "zinnia", "sow", _d(4, 5), None, "")], soil_temperature_c=COLD_SPRING)
    for line in (stated, recorded):
        assert line.sow == Window(_d(4, 5), _d(4, 5)) and not _says(line, said)


def test_what_planting_out_waits_for_is_told_where_it_waits() -> None:
    """Tomato of 7 April goes out six weeks later, 19 May; that of 20 March would from 1 May and waits for 15 May."""
    waits = "moved to 15 May"
    assert _says(_one({"crop": "tomato", "method": "pot", "sow": _d(3, 20)}), waits)
    late = _one({"crop": "tomato", "method": "pot", "sow": _d(4, 7)})
    assert late.plant_out is not None and late.plant_out.first == _d(5, 19) and not _says(late, waits)


def _laid(folder: Path, table: str, row: str) -> cropdata.Catalog:
    folder.mkdir()
    (folder / "layer.yaml").write_text(f"title: {folder.name}\n", encoding="utf-8")
    (folder / f"{table}.csv").write_text(f"crop_id,low,high,unit,action\n{row}\n", encoding="utf-8")
    return cropdata.open(layers=[folder])


def test_a_layer_that_answers_alone_decides_over_the_release(tmp_path: Path) -> None:
    """28 April is the last frost. Eggplant 6 to 7 weeks before it: 10 to 17 March, and so a fortnight from the 10th."""
    season = {"season": 2027, "place": PLACE, "packets": [{"crop": "eggplant", "method": "tray", "plants": 12}]}
    before = _laid(tmp_path / "before", "weeks_before_last_frost", "eggplant,6,7,weeks,override")
    line = plan_season(season, before).sowings[0]
    later = line.sow.first - _d(3, 10) if line.sow else None  # planting out may wait for the place, and sowing with it
    assert line.sow is not None and later is not None and later.days >= 0
    assert any("by the weeks before the last frost of your layer before" in note for note in line.notes)
    assert any("10 Mar – 17 Mar" in note for note in line.notes)
    # One more row that says what stands already moves nothing.
    plain = {"season": 2027, "place": PLACE, "packets": [{"crop": "leek", "method": "tray", "plants": 12}]}
    weeks = cropdata.open(installed=False).crop("leek").weeks_to_raise
    assert weeks is not None
    same = _laid(tmp_path / "same", "weeks_to_raise", f"leek,{weeks.low:g},{weeks.high:g},weeks,add")
    one, other = plan_season(plain).sowings[0], plan_season(plain, same).sowings[0]
    assert (one.sow, one.plant_out) == (other.sow, other.plant_out)
    # Raised for 14 weeks by the grower's own word, it is sown 14 weeks before planting out, whatever else is printed.
    own = _laid(tmp_path / "own", "weeks_to_raise", "leek,14,14,weeks,override")
    mine = plan_season(plain, own).sowings[0]
    assert mine.sow is not None and mine.plant_out is not None
    assert mine.plant_out.first - mine.sow.first == datetime.timedelta(weeks=14)
    assert any("your layer's figures stand" in note for note in mine.notes)
