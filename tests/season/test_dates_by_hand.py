"""Dates reckoned by hand from the evidence, at invented places. The weeks and days are those of the release 1.3.0; each
date stands beside the sum that gives it. 28 April is the date with an even chance of a later frost, 15 May that of one
year in ten.
"""

from __future__ import annotations

import datetime
import math
from pathlib import Path

import pytest
from reed_hollow import PLACE

import cropdata
from cropdata.agronomy.windows import Window
from cropdata.errors import InputError
from cropdata.season import Plan, PlannedSowing, plan_season


def _plan(*packets: dict[str, object], **place: object) -> Plan:
    return plan_season({"season": 2027, "place": PLACE | place, "packets": list(packets)})


def _one(packet: dict[str, object], **place: object) -> PlannedSowing:
    return _plan(packet, **place).sowings[0]


def _d(month: int, day: int, year: int = 2027) -> datetime.date:
    return datetime.date(year, month, day)


def _step(line: PlannedSowing, kind: str) -> Window:
    step = next(step for step in line.steps if step.kind == kind)
    return Window(step.first, step.last)


def test_tomato() -> None:
    line = _one({"crop": "tomato", "method": "pot", "packed": 2027, "plants": 6, "seeds": 5})
    # Planting out 1 to 2 weeks after 28 April, 5 to 12 May, waits for 15 May; raised 6 to 8 weeks.
    assert line.plant_out == Window(_d(5, 15), _d(5, 22))
    assert line.sow == Window(_d(3, 20), _d(4, 3))
    # 20 °C: 8 days printed (Harrington and Minges); 0.87 times 8 is 7, 1.67 times 8 is 13.
    assert line.seedlings == Window(_d(3, 27), _d(4, 16))
    # The last of them 1.44 times 13.36 days, 19.2, and seven quiet days: 27; the final count of day 14 comes sooner.
    assert line.give_up_days == 27 and _step(line, "give_up") == Window(_d(4, 16), _d(4, 30))
    # 70 to 90 days from planting; hardening off 14 to 7 days before; seed ordered 21 days before sowing.
    assert line.harvest == Window(_d(7, 24), _d(8, 20))
    assert _step(line, "harden") == Window(_d(5, 1), _d(5, 15))
    assert _step(line, "buy") == Window(_d(2, 27), _d(2, 27))
    # True leaves 10 to 21 days after the seedlings.
    assert _step(line, "feed") == Window(_d(4, 6), _d(5, 7))
    assert line.frost_left == pytest.approx(0.1) and line.where == "under cover"


def test_a_bench_of_cool_nights_is_given_up_by_its_days_and_nights() -> None:
    """Tomato at 12 °C by night and 18 by day: the slow end's rate of each hour of a day, summed, tells when they are up, 1.44
    times that when the last are; seven quiet days. Of a steady 12 °C it would be three weeks more, after planting out begins.
    """
    line = _one({"crop": "tomato", "method": "pot"}, bench_temperature_c={"day": 18, "night": 12})
    tomato = cropdata.open().crop("tomato")
    hours = [15 + 3 * math.sin(2 * math.pi * (hour + 0.5) / 24) for hour in range(24)]
    slowest = 24 / sum(1 / float(tomato.days_to_emergence(temp).high) for temp in hours)
    assert 22.5 < slowest < 23.5
    assert line.give_up_days == math.ceil(1.44 * slowest + 7) == 41
    assert line.plant_out is not None and _step(line, "give_up").last < line.plant_out.first
    # Basil has no table by temperature: as it would be in the night's steady warmth.
    bench = {"day": 24, "night": 19}
    steady = _one({"crop": "basil", "method": "pot"}, bench_temperature_c=19).give_up_days
    assert _one({"crop": "basil", "method": "pot"}, bench_temperature_c=bench).give_up_days == steady is not None


def test_nobody_pots_on_for_less_than_a_week() -> None:
    """Basil is bound in its cells after 9 weeks, lettuce after 5, and basil goes out on 15 May: of 6 March it is bound on
    8 May, of 8 March on 10 May.
    """
    in_time = _one({"crop": "basil", "method": "tray", "sow": _d(3, 6)})
    assert in_time.plant_out is not None and in_time.plant_out.first == _d(5, 15)
    assert _step(in_time, "pot_on") == Window(_d(5, 8), _d(5, 8))
    late = _one({"crop": "basil", "method": "tray", "sow": _d(3, 8)})
    assert late.plant_out == in_time.plant_out and "pot_on" not in {step.kind for step in late.steps}
    # Lettuce of 17 February is bound on 24 March and of 3 March on 7 April, when it may be out since 31 March.
    lettuce = _one({"crop": "lettuce", "method": "tray"})
    assert lettuce.sow == Window(_d(2, 17), _d(3, 3)) and _step(lettuce, "pot_on") == Window(_d(3, 24), _d(3, 31))


@pytest.mark.parametrize(("method", "what"), [("pot", "seedling is up"), ("towel", "root or seedling has shown")])
def test_the_step_to_give_up_is_no_news_but_a_condition(method: str, what: str) -> None:
    """Tomato at 20 °C is given up after 27 days (see test_tomato)."""
    line = _one({"crop": "tomato", "method": method})
    text = next(step.text for step in line.steps if step.kind == "give_up")
    assert text == f"If no {what} 27 days after sowing it has failed: sow again or change the plan."


def test_days_from_sowing_never_count_from_planting() -> None:
    """Chard: 52.5 to 62.5 days, the medians of four sources, all counted from sowing in place."""
    line = _one({"crop": "chard", "method": "tray"})
    assert line.plant_out is not None and line.harvest is None
    told = "its days from planting out are not recorded; sources count 52 to 62 days from sowing in place."
    assert f"No harvest date: {told}" in line.notes


def test_onion() -> None:
    line = _one({"crop": "onion", "method": "tray", "packed": 2026})
    # 5 to 4 weeks before 28 April; raised 8 to 12 weeks, so sown in the year before.
    assert line.plant_out == Window(_d(3, 24), _d(3, 31))
    assert line.sow == Window(_d(12, 30, 2026), _d(1, 27))
    assert line.seedlings == Window(_d(1, 3), _d(2, 4))  # 5 days at 20 °C: 4 to 8
    # From planting out 100 to 150 and 110 to 120 days are printed: the medians are 105 and 135.
    assert line.harvest == Window(_d(7, 7), _d(8, 13))


def test_lettuce_in_three_sowings() -> None:
    plan = _plan({"crop": "lettuce", "method": "tray", "sowings": 3, "every_days": 14, "plants": 4, "variety": "A"})
    first, second, third = plan.sowings
    assert [line.id for line in plan.sowings] == ["lettuce-a-1", "lettuce-a-2", "lettuce-a-3"]
    # 4 weeks before 28 April is 31 March, 6 weeks before that 17 February; a week for each sowing.
    assert first.sow == Window(_d(2, 17), _d(2, 23))
    assert second.sow == Window(_d(3, 3), _d(3, 9)) and third.sow == Window(_d(3, 17), _d(3, 23))
    assert first.plant_out == Window(_d(3, 31), _d(4, 14))
    assert second.plant_out == Window(_d(4, 14), _d(4, 28)) and third.plant_out == Window(_d(4, 28), _d(5, 12))
    assert third.frost_left == pytest.approx(0.5)  # planted out from the very day of even chances
    assert first.seedlings == Window(_d(2, 20), _d(2, 28))  # 3 days at 20 °C: 2.6 to 5


def test_carrot_without_soil_temperatures() -> None:
    line = _one({"crop": "carrot", "method": "in_place"})
    assert line.sow == Window(_d(3, 17), _d(4, 28))  # 6 weeks before, to the date itself
    # In March nobody knows how cold the soil is: the printed 9.5 to 13.5 days are told with the warmth they hold at.
    assert (line.emergence_days, line.seedlings, line.give_up_days, line.harvest) == (None, None, None, None)
    assert {step.kind for step in line.steps}.isdisjoint({"seedlings", "give_up", "harvest"})
    assert any("where the soil is as warm as printed they come after 9.5 to 14 days" in note for note in line.notes)
    assert line.plant_out is None and line.shelf is None


def test_pea_in_soil_that_is_always_at_10_degrees() -> None:
    line = _one({"crop": "pea", "method": "in_place"}, soil_temperature_c=[10] * 12)
    assert line.sow == Window(_d(3, 3), _d(4, 14))  # 8 to 2 weeks before
    # 14 days printed at 10 °C: 0.87 times is 12.2, full on day 13; 1.67 times is 23.4, full on day 24.
    assert line.emergence_days == (13, 24)
    assert line.seedlings == Window(_d(3, 16), _d(5, 8))
    assert line.give_up_days == 41  # 1.44 times 23.4 days is 33.7, full on day 34, and seven quiet days
    # 6 to 7 days are printed: up 7 and 17 days later than that, it is ready so much later than 45 to 80 days.
    assert line.harvest == Window(_d(4, 24), _d(7, 20))
    assert "45 to 80 days from sowing, 7 to 17 more as it is slow to come up in this soil" in line.steps[-1].text
    warm = _one({"crop": "pea", "method": "in_place", "sow": _d(3, 3)}, soil_temperature_c=[24] * 12)
    assert warm.harvest is not None and warm.harvest.first == _d(4, 17)  # never sooner than printed


def test_a_harvest_does_not_run_backwards() -> None:
    """Sown in the cold of a short summer the first may come later than the last: sown later, in warmer soil."""
    soil = [-1, -1, 0, 2, 7, 11, 14, 13, 9, 5, 1, 0]
    late = {
        "last_spring_frost": {0.9: "05-25", 0.5: "06-15", 0.1: "07-05"},
        "first_autumn_frost": {0.1: "08-10", 0.5: "08-31", 0.9: "09-15"},
    }
    line = _one({"crop": "parsley", "method": "in_place", "autumn": True}, soil_temperature_c=soil, **late)
    assert line.harvest is not None and line.harvest.first <= line.harvest.last


def test_no_harvest_where_nothing_comes_up() -> None:
    """Snap bean: nothing at 10 °C (Harrington and Minges)."""
    packet = {"crop": "snap bean", "method": "in_place", "sow": _d(5, 20)}
    cold = _plan(packet, soil_temperature_c=[10] * 12)
    assert cold.sowings[0].seedlings is None and cold.sowings[0].harvest is None
    assert "cold" in {each.kind for each in cold.conflicts}
    # Soil that cools: 16 °C on 20 September, for a week, and then ever colder.
    autumn = _plan(packet | {"sow": _d(9, 25)}, soil_temperature_c=[0, 0, 2, 7, 13, 18, 21, 21, 17, 11, 6, 2])
    assert autumn.sowings[0].harvest is None
    assert any("no seedlings can be counted on" in each.text for each in autumn.conflicts)


def test_autumn_radish_is_counted_back_from_the_first_frost() -> None:
    line = _one({"crop": "radish", "method": "in_place", "autumn": True})
    # 7.29 weeks are 51 days, 6 weeks 42 days before 19 October; 23 to 40 days from sowing.
    assert line.sow == Window(_d(8, 29), _d(9, 7))
    # and 14 days for slow growth (Virginia Cooperative Extension), as for every autumn crop.
    assert line.harvest == Window(_d(10, 5), _d(10, 31))
    # 50 % by 19 October, 75 % by 1 November (0.6745 standard deviations): the 31st lies at 12/13 of it, 0.6226, 73 %.
    assert line.frost_left == pytest.approx(0.7332, abs=0.0005) and line.autumn
    assert "23 to 40 days from sowing, 14 more for slow growth in autumn" in line.steps[-1].text


def test_autumn_broccoli_by_the_published_formula() -> None:
    line = _one({"crop": "broccoli", "method": "block", "autumn": True})
    # 60 to 70 days from planting and two weeks for slow growth: planted 84 to 74 days before 19 October.
    assert line.plant_out == Window(_d(7, 27), _d(8, 6))
    assert line.sow == Window(_d(6, 8), _d(7, 2))  # raised 5 to 7 weeks
    # Harvested as it was counted back: 60 + 14 days after 27 July, 70 + 14 after 6 August.
    assert line.harvest == Window(_d(10, 9), _d(10, 29))


def test_the_southern_hemisphere_crosses_new_year() -> None:
    south = {
        "last_spring_frost": {0.9: "09-05", 0.5: "09-25", 0.1: "10-12"},
        "first_autumn_frost": {0.1: "04-10", 0.5: "05-02", 0.9: "05-20"},
    }
    plan = _plan({"crop": "tomato", "method": "pot"}, {"crop": "radish", "method": "in_place", "autumn": True}, **south)
    tomato, radish = plan.sowings
    assert plan.place.last_frost == _d(9, 25) and plan.place.first_frost == _d(5, 2, 2028)
    assert tomato.plant_out == Window(_d(10, 12), _d(10, 19)) and tomato.sow == Window(_d(8, 17), _d(8, 31))
    assert tomato.harvest == Window(_d(12, 21), _d(1, 17, 2028))
    assert radish.sow == Window(_d(3, 12, 2028), _d(3, 21, 2028))  # 2028 is a leap year: 51 and 42 days before 2 May
    spring = [day for day in plan.frost if day.spring_left is not None]
    autumn = [day for day in plan.frost if day.autumn_come is not None]
    assert max(day.date for day in spring) < min(day.date for day in autumn)


def test_a_last_frost_after_new_year_belongs_to_the_year_it_falls_in() -> None:
    line = _plan({"crop": "tomato", "method": "pot"}, last_spring_frost={0.9: "12-20", 0.5: "01-15", 0.1: "02-10"})
    assert line.place.last_frost == _d(1, 15) and line.place.risk_date == _d(2, 10)


def test_a_chill_is_counted_back_and_giving_up_waits_for_it() -> None:
    line = _one({"crop": "milkweed", "method": "pot", "sow": datetime.date(2027, 3, 30)})
    assert _step(line, "chill") == Window(_d(2, 28), _d(2, 28))  # 30 days
    assert "Do not give up before" in next(step.text for step in line.steps if step.kind == "give_up")


def test_planting_out_waits_for_nights_from_a_daily_record(tmp_path: Path) -> None:
    """An invented record without leap years: frost to 30 April, nights of 5 °C in May, of 13 °C from 1 June.

    Tomato wants nights of 10 °C (Cornell). The mean of a week around 1 June is (3 x 5 + 4 x 13) / 7 = 9.6 °C, around
    2 June (2 x 5 + 5 x 13) / 7 = 10.7 °C.
    """
    rows = ["date,minimum"]
    day = _d(7, 24, 2012)
    while day < _d(7, 24, 2015):
        cold = day.month <= 4 or day.month >= 11
        rows.append(f"{day},{-1 if cold else 5 if day.month == 5 else 13}")
        day += datetime.timedelta(days=1)
    (tmp_path / "record.csv").write_text("\n".join(rows) + "\n")
    (tmp_path / "s.yaml").write_text(
        "season: 2027\nplace: {name: Invented, daily_minima: record.csv, bench_temperature_c: 20}\n"
        "packets: [{crop: tomato, method: pot}]\n"
    )
    line = plan_season(tmp_path / "s.yaml").sowings[0]
    assert line.plant_out is not None and line.plant_out.first == _d(6, 2)
    assert any("Nights hold 10 °C from about 2 Jun, in an average year" in note for note in line.notes)


def test_too_early_is_told_both_ways() -> None:
    """Kohlrabi: a week below 10 °C makes it bolt (Cornell); nights of 12 °C leave no such day. Cold nights are not counted
    as days of cold: no source of it speaks of nights.
    """
    cold = _one({"crop": "kohlrabi", "method": "tray"}, night_temperature_c=[5] * 12)
    bolting = [note for note in cold.notes if "make it bolt" in note]
    assert len(bolting) == 1 and "7 days below 10 °C does" in bolting[0]
    assert "60" not in bolting[0] and "fewer than" not in bolting[0]
    broccoli = _one({"crop": "broccoli", "method": "tray"}, night_temperature_c=[5] * 12)
    assert any(
        "prolonged cold below 10 °C does" in note for note in broccoli.notes
    )  # as the University of California has it
    warm = _one({"crop": "kohlrabi", "method": "tray"}, night_temperature_c=[12] * 12)
    assert not any("bolt" in note for note in warm.notes)
    never = _one({"crop": "tomato", "method": "tray"}, night_temperature_c=[8] * 12)
    assert any("Nights never hold 10 °C for a week here" in note for note in never.notes)
    assert never.plant_out is not None and never.plant_out.first == _d(5, 15)  # the frost alone


def test_swinging_warmth_is_summed_by_the_hour() -> None:
    """Tomato between 10 and 30 °C is slower than at 20 °C, where 8 days are printed: 43 days at 10 °C, 6 at 30 °C."""
    steady = _one({"crop": "tomato", "method": "pot"})
    swing = _one({"crop": "tomato", "method": "pot"}, bench_temperature_c={"day": 30, "night": 10})
    assert steady.emergence_days == pytest.approx((6.96, 13.36))
    assert swing.emergence_days is not None and swing.emergence_days[0] > 7.5


def test_seedlings_of_a_tender_crop_in_place_do_not_come_before_the_frost_risk() -> None:
    """Snap bean from 10 days before 28 April on; in soil of 20 °C 11 days are printed, 0.87 times is 9.6: day 10."""
    line = _one({"crop": "snap bean", "method": "in_place"}, soil_temperature_c=[20] * 12)
    assert line.sow is not None and line.sow.first == _d(5, 5)  # 15 May less 10 days
    assert line.seedlings is not None and line.seedlings.first == _d(5, 15)
    assert line.frost_left == pytest.approx(0.1)
    warm = _one({"crop": "snap bean", "method": "in_place"}, soil_temperature_c=[20] * 12, risk=0.5)
    assert warm.sow is not None and warm.sow.first == _d(4, 18)  # the printed weeks


def test_what_the_grower_states_stands_among_the_assumptions() -> None:
    plan = _plan({"crop": "tomato", "method": "pot"}, risk=0.2, plant_minus_screen_c=-3)
    rules = {rule.rule_id: rule for rule in plan.assumptions}
    assert (rules["planting_out_risk"].low, rules["planting_out_risk"].basis) == (0.2, "stated")
    assert (rules["plant_minus_screen"].low, rules["plant_minus_screen"].high) == (-3, -3)
    usual = {rule.rule_id: rule for rule in _plan({"crop": "tomato", "method": "pot"}).assumptions}
    assert (usual["planting_out_risk"].low, usual["planting_out_risk"].basis) == (0.1, "common_practice")


def test_a_place_without_frost_counts_from_a_stated_day() -> None:
    here = {"last_spring_frost": "none", "first_autumn_frost": "none", "counted_from": "04-28"}
    for packet in ({"crop": "broccoli", "method": "tray"}, {"crop": "carrot", "method": "in_place"}):
        free, frosty = _one(packet, **here), _one(packet)
        assert (free.sow, free.plant_out) == (frosty.sow, frosty.plant_out)  # hardy: no frost date moves it
    line = _one({"crop": "tomato", "method": "pot"}, **here)
    # 1 to 2 weeks after 28 April, and no frost to wait for; no chance of one in any of the year's weeks.
    assert line.plant_out == Window(_d(5, 5), _d(5, 12)) and line.frost_left == 0
    assert "Chance of a later frost: none" in next(step.text for step in line.steps if step.kind == "plant_out")
    plan = _plan({"crop": "tomato", "method": "pot"}, **here)
    assert plan.place.last_frost is None and plan.place.counted_from == _d(4, 28)
    assert {day.spring_left for day in plan.frost} == {0.0}


def test_a_stated_day_does_not_stand_beside_an_average_last_frost() -> None:
    with pytest.raises(InputError, match=r"place\.counted_from: weeks are counted from the average last frost"):
        _plan({"crop": "tomato"}, counted_from="04-01")
    with pytest.raises(InputError, match=r"place\.counted_from: missing; .*add its date \(0\.5\)"):
        _plan({"crop": "tomato"}, last_spring_frost={0.3: "02-01", 0.1: "02-20"})
    with pytest.raises(InputError, match=r"place\.counted_from is no date"):
        _plan({"crop": "tomato"}, last_spring_frost="none", counted_from="spring")


def test_a_risk_beyond_the_dates_given_is_said() -> None:
    plan = _plan({"crop": "tomato"}, last_spring_frost={0.9: "04-10", 0.5: "04-28"})
    assert plan.warnings == ("the date at 10 % is run on past those given (50 to 90 %)",)
    assert _plan({"crop": "tomato"}).warnings == ()


def test_a_test_is_counted_back_by_days_that_are_assumed_where_none_are_printed() -> None:
    """Basil: no official count; 7 to 14 days are not its own: the slow end of its days to seedlings, and 7 quiet days."""
    line = _one({"crop": "basil", "packed": 2015, "plants": 10, "method": "tray"})
    test, buy = _step(line, "test").first, _step(line, "buy").first
    slow = cropdata.open(installed=False).crop("basil").emergence_range
    assert slow is not None and (buy - test).days == round(slow.high + 7)
    assert "days are assumed from its days to seedlings" in next(
        step.text for step in line.steps if step.kind == "test"
    )


def test_sources_that_disagree_on_depth_and_light_are_both_told() -> None:
    line = _one({"crop": "lavender", "method": "tray"})
    assert line.light == "light" and line.depth_mm is not None and line.depth_mm[1] >= 3
    assert (
        "Sources also say that it needs light: cover it as thinly as you can."
        in line.steps[0].text + line.steps[1].text
    )
