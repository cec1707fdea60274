"""What does not go together, in invented seasons: each clash is made, found and named, and its neighbour is not."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from scipy.stats import binom

from cropdata.season import Plan, plan_season
from cropdata.season.clashes import _warmths

PLACE = {
    "name": "Reed Hollow (invented)",
    "last_spring_frost": {0.9: "04-10", 0.5: "04-28", 0.1: "05-15"},
    "first_autumn_frost": {0.1: "10-01", 0.5: "10-19", 0.9: "11-11"},
    "bench_temperature_c": 20,
}


def _plan(*packets: dict[str, object], **place: object) -> Plan:
    return plan_season({"season": 2027, "place": PLACE | place, "packets": list(packets)})


def _kinds(plan: Plan) -> list[str]:
    return [conflict.kind for conflict in plan.conflicts]


def test_sown_too_early_for_the_bench() -> None:
    """Tomato is raised for 6 to 8 weeks and goes out from 15 May: of 1 February it is ready 47 days too soon."""
    early = _plan({"crop": "tomato", "method": "pot", "sow": datetime.date(2027, 2, 1)})
    assert _kinds(early) == ["early"]
    assert "47 days before it can go out (15 May)" in early.conflicts[0].text  # 103 days less 56
    assert early.conflicts[0].sowings == (early.sowings[0].id,)
    assert _kinds(_plan({"crop": "tomato", "method": "pot", "sow": datetime.date(2027, 3, 25)})) == []


def test_sown_later_than_its_window() -> None:
    late = _plan({"crop": "tomato", "method": "pot", "sow": datetime.date(2027, 4, 20)})
    assert _kinds(late) == ["late"] and "later than its window (20 Mar – 3 Apr)" in late.conflicts[0].text
    # Raised six weeks at least: 1 June, not 15 May.
    assert late.sowings[0].plant_out and late.sowings[0].plant_out.first == datetime.date(2027, 6, 1)


def test_a_succession_later_than_its_window_is_noted() -> None:
    """Lettuce for 31 March to 14 April is sown 6 weeks before, 17 February to 3 March: every fortnight the third on 17 March.
    Several sowings are meant to come later: a note, where a day of the grower's own for the one sowing is a clash.
    """
    several = _plan({"crop": "lettuce", "method": "tray", "sowings": 4, "every_days": 14})
    told = {
        line.id
        for line in several.sowings
        if any("Sown later than sources sow it (17 Feb – 3 Mar)" in note for note in line.notes)
    }
    assert told == {"lettuce-3", "lettuce-4"} and not any(each.kind == "late" for each in several.conflicts)
    own = _plan({"crop": "lettuce", "method": "tray", "sow": datetime.date(2027, 3, 17)})
    assert "sown on 17 Mar, later than its window (17 Feb – 3 Mar)" in own.conflicts[0].text


def test_sown_before_the_soil_is_warm() -> None:
    """Snap bean: nothing comes up below 15.6 °C (60 °F)."""
    cold = _plan(
        {"crop": "snap bean", "method": "in_place", "sow": datetime.date(2027, 6, 1)}, soil_temperature_c=[12] * 12
    )
    assert "cold" in _kinds(cold)
    assert any(
        "the soil (12 °C) is colder than the least it comes up at (16 °C)" in each.text for each in cold.conflicts
    )


def test_a_bench_that_is_too_cold_or_too_hot() -> None:
    assert _kinds(_plan({"crop": "tomato", "method": "pot"}, bench_temperature_c=8)) == ["cold"]
    hot = _plan({"crop": "lettuce", "method": "tray"}, bench_temperature_c=33)  # nothing at 35 °C, maximum 29 °C
    assert _kinds(hot) == ["heat"] and "warmer than the most" in hot.conflicts[0].text


def test_more_seeds_wanted_than_there_are() -> None:
    """All sowings of a packet draw on it: at 80 % and 90 % four lettuces take 10 seeds a sowing or more."""
    packet = {"crop": "lettuce", "method": "tray", "plants": 4, "sowings": 3, "every_days": 14, "packed": 2027}
    short = _plan(packet | {"seeds": 15})
    need = sum(line.seeds or 0 for line in short.sowings)
    assert need > 15 and _kinds(short) == ["seeds"]
    assert f"{need} seeds needed, 15 on hand" in short.conflicts[0].text
    assert len(short.conflicts[0].sowings) == 3
    assert any(step.kind == "buy" for step in short.sowings[0].steps)
    enough = _plan(packet | {"seeds": need})
    assert _kinds(enough) == [] and not any(step.kind == "buy" for line in enough.sowings for step in line.steps)


def test_fewer_seeds_in_each_cell_are_told_where_they_will_do() -> None:
    """Leek (60 % by law): one a cell fills 60 % of the cells, two 84 %, three 94 %; 90 % of those filled are raised."""
    packet = {"crop": "leek", "method": "tray", "plants": 40, "packed": 2027, "price": 3}
    three = _plan(packet).sowings[0]
    germinates, warmth, raised = (factor.share for factor in three.factors)
    given = {k: raised * (1 - (1 - germinates * warmth) ** k) for k in (1, 2, 3)}
    cells = {k: next(n for n in range(40, 400) if binom.sf(39, n, given[k]) >= 0.9) for k in (1, 2, 3)}
    assert three.per_cell == 3 and three.seeds == 3 * cells[3] > 2 * cells[2] > cells[1]
    short = _plan(packet | {"seeds": 2 * cells[2]})
    assert f"or sow 2 in each cell ({2 * cells[2]} seeds in {cells[2]} cells)" in short.conflicts[0].text
    seed = next(total for total in short.totals if total.what == "Seed to order")
    assert (seed.low, seed.high) == (0, 3)  # perhaps none is needed
    shorter = _plan(packet | {"seeds": 2 * cells[2] - 1})
    assert f"or sow 1 in each cell ({cells[1]} seeds in {cells[1]} cells)" in shorter.conflicts[0].text
    assert "in each cell" not in _plan(packet | {"seeds": cells[1] - 1}).conflicts[0].text
    assert "in each cell" not in _plan(packet | {"seeds": 2 * cells[2], "per_cell": 3}).conflicts[0].text


def test_all_sowings_of_a_packet_tell_whether_more_is_to_be_ordered() -> None:
    """Later sowings in warmer soil take fewer seeds: the sum over all of them counts, not so many times the first."""
    packet = {"crop": "carrot", "method": "in_place", "plants": 20, "sowings": 3, "every_days": 21, "packed": 2027}
    soil = [1, 1, 3, 8, 13, 18, 21, 20, 16, 11, 6, 3]
    free = _plan(packet, soil_temperature_c=soil).sowings
    need = sum(line.seeds or 0 for line in free)
    assert need < 3 * (free[0].seeds or 0)
    enough = _plan(packet | {"seeds": need, "price": 3}, soil_temperature_c=soil)
    assert not any(step.kind == "buy" for line in enough.sowings for step in line.steps)
    assert not any(total.what == "Seed to order" for total in enough.totals) and "seeds" not in _kinds(enough)
    short = _plan(packet | {"seeds": need - 1, "price": 3}, soil_temperature_c=soil)
    buy = [step.text for line in short.sowings for step in line.steps if step.kind == "buy"]
    assert buy == [f"Order seed by now: {need} are needed, {need - 1} on hand."] and "seeds" in _kinds(short)
    assert any(total.what == "Seed to order" and total.low == total.high == 3 for total in short.totals)


def test_each_packet_has_its_own_price() -> None:
    """Of one crop and variety: 3 and 5 are 8, and a packet without a price counts nothing."""
    packet = {"crop": "tomato", "variety": "Gate Red", "method": "pot", "plants": 3, "packed": 2027, "seeds": 1}
    plan = _plan(packet, packet | {"price": 3}, packet | {"price": 5})
    seed = next(total for total in plan.totals if total.what == "Seed to order")
    assert (seed.low, seed.high) == (8, 8)
    counted = _plan(packet, packet | {"price": 3}, packet | {"price": 100, "seeds": None})
    seed = next(total for total in counted.totals if total.what == "Seed to order")
    assert (seed.low, seed.high) == (3, 103)  # nobody has counted the third


def test_two_batches_that_want_different_warmth_on_one_mat() -> None:
    """Bench 12 °C: cosmos and pumpkin both want more, and no one warmth lies in the best ranges of both."""
    day = datetime.date(2027, 4, 1)
    packets = [{"crop": crop, "method": "pot", "sow": day} for crop in ("watermelon", "lettuce")]
    one = _plan(*packets, bench_temperature_c=12, mats=1)
    best = {line.crop_id: line.best_c for line in one.sowings}
    assert best["lettuce"][1] < best["watermelon"][0]  # type: ignore[index]
    clash = next(each for each in one.conflicts if each.kind == "mat")
    assert "2 warmths wanted on 1 mat" in clash.text and set(clash.sowings) == {"lettuce", "watermelon"}
    assert "mat" not in _kinds(_plan(*packets, bench_temperature_c=12, mats=2))
    # At other times one mat will do.
    apart = [packets[0], packets[1] | {"sow": datetime.date(2027, 2, 20)}]
    assert "mat" not in _kinds(_plan(*apart, bench_temperature_c=12, mats=1))


def test_batches_that_share_a_mat_are_reckoned_at_one_warmth() -> None:
    """Bench 19 °C: tomato is best at 20 to 27 °C, pepper at 21 to 31: both at 21.11 to 26.67, the middle 23.89 °C."""
    day = datetime.date(2027, 4, 1)
    tomato, pepper = ({"crop": crop, "method": "pot", "sow": day} for crop in ("tomato", "pepper"))
    both = _plan(tomato, pepper, bench_temperature_c=19, mats=1)
    shared = {line.crop_id: line.warmth_c for line in both.sowings}
    assert shared == pytest.approx({"tomato": 23.89, "pepper": 23.89}, abs=0.01) and len(set(shared.values())) == 1
    assert all(any("reckoned at 24 °C, as all that share it" in note for note in line.notes) for line in both.sowings)
    assert "mat" not in _kinds(both)
    # Alone, or when the other is long up, each has the middle of its own range: 23.3 and 26 °C.
    own = {"tomato": 23.33, "pepper": 25.97}
    apart = _plan(tomato, pepper | {"sow": datetime.date(2027, 6, 1)}, bench_temperature_c=19, mats=1)
    assert {line.crop_id: line.warmth_c for line in apart.sowings} == pytest.approx(own, abs=0.01)
    # A stated mat is what it is.
    stated = _plan(tomato, pepper, bench_temperature_c=19, mats=1, mat_temperature_c=22)
    assert {line.warmth_c for line in stated.sowings} == {22}


def test_a_mat_whose_warmth_would_have_to_change_meanwhile_is_told() -> None:
    """Best at 15-21.11 °C, 20-26.67 and 23.89-29.44: lettuce and tomato share 20 to 21, which is too cool for the melon that
    joins tomato later; tomato and melon alone would share 23.89 to 26.67.
    """
    day = datetime.date(2027, 4, 1)
    packets = [
        {"crop": "lettuce", "method": "pot", "sow": day},
        {"crop": "tomato", "method": "pot", "sow": day + datetime.timedelta(days=1)},
        {"crop": "melon", "method": "pot", "sow": day + datetime.timedelta(days=11)},
    ]
    plan = _plan(*packets, bench_temperature_c=12, mats=1)
    by_crop = {line.crop_id: line for line in plan.sowings}
    assert by_crop["lettuce"].warmth_c == by_crop["tomato"].warmth_c != by_crop["melon"].warmth_c
    told = [each for each in plan.conflicts if each.kind == "mat" and "2 warmths reckoned on 1 mat" in each.text]
    assert [set(each.sowings) for each in told] == [{"tomato", "melon"}]


def test_a_mat_that_is_set_wrong() -> None:
    """Watermelon is best from 22.5 °C on, and comes up at 21."""
    plan = _plan({"crop": "watermelon", "method": "pot"}, bench_temperature_c=12, mat_temperature_c=21)
    assert any(
        each.kind == "mat" and "the mat at 21 °C is outside its best range" in each.text for each in plan.conflicts
    )


def test_a_mat_that_is_too_cold_to_come_up_on_is_told_once() -> None:
    """Watermelon comes up from 15.6 °C on."""
    plan = _plan({"crop": "watermelon", "method": "pot"}, bench_temperature_c=10, mats=1, mat_temperature_c=12)
    assert [each.kind for each in plan.conflicts] == ["cold"] and plan.sowings[0].plant_out is None
    assert "the mat (12 °C) is colder than the least it comes up at (16 °C)" in plan.conflicts[0].text


def test_the_plan_sets_no_mat_to_a_warmth_that_the_crop_does_not_come_up_at() -> None:
    """Pak choi: best at 29 °C by one source, up to 26.67 °C by another. On the bench of 19 °C it comes up."""
    packet = {"crop": "pak choi", "method": "tray", "plants": 5}
    plan = _plan(packet, bench_temperature_c={"day": 22, "night": 16}, mats=1)
    line, without = plan.sowings[0], _plan(packet, bench_temperature_c={"day": 22, "night": 16}).sowings[0]
    assert _kinds(plan) == [] and line.warmth_c == 19 and line.best_c is None
    assert line.seedlings == without.seedlings is not None and line.seeds == without.seeds is not None
    assert any("best at 29 °C, beyond the most that others print (27 °C)" in note for note in line.notes)
    # Cape gooseberry: best at 27 to 32 °C, up to 30 by another: 27 to 30, the middle 28.5.
    clipped = _plan({"crop": "cape gooseberry", "method": "tray"}, mats=1).sowings[0]
    assert clipped.best_c == (27, 30) and clipped.warmth_c == pytest.approx(28.5)


def test_what_comes_up_on_the_bench_and_not_on_the_stated_mat_stays_on_the_bench() -> None:
    """Lettuce comes up to 29 °C at most; the bench has 12 °C, of which days are printed."""
    plan = _plan({"crop": "lettuce", "method": "tray"}, bench_temperature_c=12, mats=1, mat_temperature_c=34)
    line = plan.sowings[0]
    assert _kinds(plan) == [] and line.warmth_c == 12 and line.seedlings is not None
    assert any("Not on the heat mat: at 34 °C it is warmer than the most it comes up at" in note for note in line.notes)


def test_the_fewest_warmths_for_several_ranges() -> None:
    assert _warmths([(20, 27), (21, 31), (15, 21)]) == [21]
    assert len(_warmths([(10, 15), (14, 20), (18, 25), (24, 30)])) == 2
    assert len(_warmths([(10, 12), (14, 16), (18, 20)])) == 3


def test_more_trays_than_the_shelf_holds() -> None:
    """Leek (9 to 11 weeks) and broccoli (5 to 7) of one day: two trays until the first goes out."""
    day = datetime.date(2027, 2, 10)
    packets = [
        {"crop": crop, "method": "tray", "container": "tray-72", "plants": 20, "sow": day}
        for crop in ("leek", "broccoli")
    ]
    plan = _plan(*packets, shelf_trays=1)
    shelf = next(each for each in plan.conflicts if each.kind == "shelf")
    assert "on the shelf, room for 1" in shelf.text and shelf.first == day
    assert [line.trays for line in plan.sowings] == [1, 1]
    ends = sorted(line.shelf.last for line in plan.sowings if line.shelf)
    assert shelf.last == ends[0]
    assert "shelf" not in _kinds(_plan(*packets, shelf_trays=2))
    # Both in cells of 72, and together no more than that: one tray would hold them.
    cells = sum(line.cells or 0 for line in plan.sowings)
    assert cells <= 72 and "up to 2 trays (1 where sowings share a tray) on the shelf" in shelf.text
    many = _plan(*(packet | {"plants": 45} for packet in packets), shelf_trays=1)
    assert sum(line.cells or 0 for line in many.sowings) > 72
    assert not any("share a tray" in each.text for each in many.conflicts)


def test_a_tender_crop_that_ripens_after_the_frost() -> None:
    """Tomato sown on 1 July goes out on 12 August, and is ready 70 days later, on 21 October."""
    plan = _plan({"crop": "tomato", "method": "pot", "sow": datetime.date(2027, 7, 1)})
    assert "autumn" in _kinds(plan)
    assert any("its harvest begins about 21 Oct" in each.text for each in plan.conflicts)


def test_a_succession_that_runs_into_the_autumn_is_told() -> None:
    """Romaine goes out on 31 March and every 14 days: no. 15 on 13 October, no. 16 on 27 October, after 19 October."""
    plan = _plan({"crop": "lettuce-romaine", "method": "tray", "sowings": 20, "every_days": 14})
    told = {each.sowings[0] for each in plan.conflicts if each.kind == "autumn"}
    assert told == {f"lettuce-romaine-{number}" for number in range(16, 21)}
    last = next(line for line in plan.sowings if line.number == 20)
    assert last.plant_out and last.plant_out.first == datetime.date(2027, 12, 22)
    assert last.harvest is None  # the data holds no days from planting out for it
    assert last.frost_left is None  # no harvest is reckoned, and a chance of a later spring frost says nothing then


def test_a_succession_that_is_ready_only_in_the_autumn_is_told() -> None:
    """Lettuce is ready 50 days after planting out: no. 11 of 18 August on 7 October, no. 12 on 21 October, too late."""
    plan = _plan({"crop": "lettuce", "method": "tray", "sowings": 20, "every_days": 14})
    told = {each.sowings[0]: each.text for each in plan.conflicts if each.kind == "autumn"}
    assert set(told) == {f"lettuce-{number}" for number in range(12, 21)}
    assert "its harvest begins about 21 Oct" in told["lettuce-12"] and "outside from 27 Oct on" in told["lettuce-16"]


def test_a_tender_crop_that_may_be_caught_by_the_frost() -> None:
    """Snap bean is ready 48 to 60 days after sowing: of 20 August from 7 to 19 October, the even chance of a frost.

    In soil of 30 °C 6 days are printed (Harrington and Minges), 5.2 to 10 with their error: no later than the plain 10 to 12.
    """
    soil = [30] * 12
    plan = _plan(
        {"crop": "snap bean", "method": "in_place", "sow": datetime.date(2027, 8, 20)}, soil_temperature_c=soil
    )
    line = plan.sowings[0]
    assert line.harvest == (datetime.date(2027, 10, 7), datetime.date(2027, 10, 19))
    assert line.frost_left is not None and round(line.frost_left, 3) == 0.5 and line.autumn_frost
    assert any("ready by 19 Oct at the latest; chance of a frost before: 50 %" in each.text for each in plan.conflicts)
    # 2 August and 60 days is 1 October, one year in ten: the stated risk, and no more.
    fine = _plan({"crop": "snap bean", "method": "in_place", "sow": datetime.date(2027, 8, 2)}, soil_temperature_c=soil)
    assert "autumn" not in _kinds(fine)


def test_autumn_sowings_after_the_window_counted_back() -> None:
    """Radish 29 August to 7 September; a fortnight later is too late."""
    plan = _plan({"crop": "radish", "method": "in_place", "autumn": True, "sowings": 2, "every_days": 14})
    late = [each for each in plan.conflicts if each.kind == "late"]
    assert [each.sowings for each in late] == [("radish-2",)]
    assert "sown on 12 Sep, later than the window counted back from the first frost (29 Aug – 7 Sep)" in late[0].text


def test_the_example_has_its_clashes(tmp_path: Path) -> None:
    from cropdata.cli.plan import EXAMPLE

    plan = plan_season(EXAMPLE)
    assert {"seeds", "shelf"} <= set(_kinds(plan))
    assert len({line.id for line in plan.sowings}) == len(plan.sowings)
