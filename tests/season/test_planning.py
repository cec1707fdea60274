"""Plans of invented seasons, reckoned by hand from the catalog's ranges."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

import cropdata
from cropdata.catalog import Catalog
from cropdata.cli.plan_text import plan_text
from cropdata.season import Plan, PlannedSowing, plan_season
from cropdata.season.page import page_html
from cropdata.season.records import Record
from cropdata.season.schema import plan_object
from cropdata.season.words import Words

D = datetime.date

PLACE = """\
season: 2027
place:
  name: Reed Hollow (invented)
  last_spring_frost: {0.9: 04-10, 0.5: 04-28, 0.1: 05-15}
  bench_temperature_c: {day: 22, night: 18}
"""
SOIL = "  soil_temperature_c: [1, 1, 3, 8, 13, 18, 21, 20, 16, 11, 6, 3]\n"


def _plan(tmp_path: Path, packets: str, place: str = PLACE) -> Plan:
    path = tmp_path / "season.yaml"
    path.write_text(f"{place}packets:\n{packets}", encoding="utf-8")
    return plan_season(path)


def _one(tmp_path: Path, packet: str, place: str = PLACE) -> PlannedSowing:
    return _plan(tmp_path, f"  - {packet}\n", place).sowings[0]


def test_a_hardy_crop_goes_out_by_its_weeks_and_the_frost_left_is_told(tmp_path: Path, db: Catalog) -> None:
    line = _one(tmp_path, "{crop: broccoli, plants: 10, method: block}")
    crop = db.crop("broccoli")
    weeks, offset = crop.weeks_to_raise, crop.planting_out_weeks
    assert weeks and offset and line.plant_out and line.sow
    assert line.plant_out.first == D(2027, 4, 28) + datetime.timedelta(days=round(7 * offset.low))
    assert line.sow.first == line.plant_out.first - datetime.timedelta(days=round(7 * weeks.high))
    assert line.sow.last == line.plant_out.first - datetime.timedelta(days=round(7 * weeks.low))
    assert line.frost_left is not None and line.frost_left > 0.9
    assert any("Stands light frost" in note for note in line.notes)


def test_a_tender_crop_waits_for_the_stated_risk(tmp_path: Path) -> None:
    line = _one(tmp_path, "{crop: tomato, method: tray}")
    assert line.plant_out and line.plant_out.first == D(2027, 5, 15)
    assert line.frost_left == pytest.approx(0.1)
    bold = _one(tmp_path, "{crop: tomato, method: tray}", PLACE + "  risk: 0.4\n")
    assert bold.plant_out and bold.plant_out.first < D(2027, 5, 15)
    assert bold.frost_left is not None and bold.frost_left <= 0.4 + 1e-6


def test_expected_seedlings_and_giving_up_follow_the_bench(tmp_path: Path, db: Catalog) -> None:
    line = _one(tmp_path, "{crop: tomato, method: tray}", PLACE.replace("{day: 22, night: 18}", "20"))
    estimate = db.crop("tomato").days_to_emergence(20)
    assert estimate is not None and line.sow and line.seedlings
    assert estimate.expected == 8  # the printed figure at 68 °F
    assert line.seedlings.first == line.sow.first + datetime.timedelta(days=round(float(estimate.low)))
    assert line.seedlings.last == line.sow.last + datetime.timedelta(days=round(float(estimate.high)))
    assert line.give_up_days is not None and line.give_up_days >= 14 + 7  # §201.58: final count of tomato on day 14


def test_a_cold_bench_gives_no_days_and_says_why(tmp_path: Path) -> None:
    """Tomato comes up from 10 °C on; celery (Harrington and Minges) at 20 °C, and nothing of it at 25 °C."""
    for crop, bench, why in (
        ("tomato", "7", "the bench (7 °C) is colder than the least it comes up at (10 °C)"),
        ("celery", "23", "the bench (23 °C) is next to a temperature at which nothing came up"),
    ):
        plan = _plan(
            tmp_path, f"  - {{crop: {crop}, method: tray, plants: 9}}\n", PLACE.replace("{day: 22, night: 18}", bench)
        )
        line = plan.sowings[0]
        found = (line.emergence_days, line.seedlings, line.give_up_days, line.plant_out, line.harvest, line.seeds)
        assert line.sow is not None and found == (None,) * 6 and line.shelf is None and line.cells is None
        assert [step.kind for step in line.steps if step.kind not in ("test", "buy", "chill", "soak")] == ["sow"]
        assert [each.text.partition(why)[1] for each in plan.conflicts] == [why]  # one, and no line against it
        assert not any("come up" in note or "best range" in note for note in line.notes)


def test_what_the_grower_has_seen_stands_on_a_bench_that_nobody_would_count_on(tmp_path: Path) -> None:
    """Planted out on 20 May by the records: 70 to 90 days from planting are 29 July and 18 August."""
    place = PLACE.replace("{day: 22, night: 18}", "7")
    (tmp_path / "s.yaml").write_text(place + "packets: [{crop: tomato, method: tray}]\n", encoding="utf-8")
    planted = Record(2, "tomato", "plant_out", D(2027, 5, 20), None, "")
    plan = plan_season(tmp_path / "s.yaml", records=(planted,))
    assert plan.sowings[0].harvest == (D(2027, 7, 29), D(2027, 8, 18)) and not plan.conflicts


def test_the_growers_method_stands_where_sources_do_not_raise_the_crop(tmp_path: Path, db: Catalog) -> None:
    line = _one(tmp_path, "{crop: carrot, method: tray}", PLACE + SOIL)
    assert line.where == "under cover" and line.sow is None
    assert any(
        "not raised under cover" in note and "weeks to raise in a layer of your own" in note for note in line.notes
    )
    # Without a method it is sown where sources sow it; with a day of the grower's own it is raised from then on.
    assert _one(tmp_path, "{crop: carrot}", PLACE + SOIL).where == "in place"
    own = _one(tmp_path, "{crop: carrot, method: tray, sow: 2027-03-20, plants: 10}", PLACE + SOIL)
    assert own.sow == (D(2027, 3, 20), D(2027, 3, 20)) and own.seedlings is not None and own.trays == 1


def test_direct_sowing_waits_for_warm_soil_and_counts_in_warming_soil(tmp_path: Path, db: Catalog) -> None:
    line = _one(tmp_path, "{crop: snap bean, method: in_place}", PLACE + SOIL)
    minimum = db.crop("bean-snap").germination_temperature.minimum  # type: ignore[union-attr]
    assert minimum == pytest.approx(15.56)  # 60 °F, Harrington and Minges
    assert line.sow and D(2027, 5, 16) < line.sow.first < D(2027, 6, 16)  # May is 13 °C on average, June 18 °C
    assert line.emergence_days and 6 < line.emergence_days[0] <= line.emergence_days[1] < 30
    assert line.frost_left == pytest.approx(0.02)


def test_without_soil_temperature_the_plan_says_so(tmp_path: Path) -> None:
    line = _one(tmp_path, "{crop: pea, method: in_place}")
    assert line.sow and any("No soil temperature given" in note for note in line.notes)


def test_old_seed_is_named_and_a_test_sets_the_seeds(tmp_path: Path) -> None:
    old = _one(tmp_path, "{crop: onion, packed: 2015, plants: 20, method: tray}")
    assert any("12 years old, beyond the" in note for note in old.notes)
    assert old.assumed_germination == 0.7  # §201.31: onion 70 %
    tested = _one(tmp_path, "{crop: onion, plants: 20, method: tray, tested: {germinated: 9, sown: 10}}")
    assert tested.assumed_germination is None and tested.seeds is not None and old.seeds is not None
    dead = _one(tmp_path, "{crop: onion, plants: 20, method: tray, tested: {germinated: 0, sown: 10}}")
    assert dead.seeds is None and any("None of 10 germinated" in note for note in dead.notes)


def test_rows_come_in_the_order_of_sowing(tmp_path: Path) -> None:
    plan = _plan(tmp_path, "  - {crop: cucumber}\n  - {crop: onion}\n  - {crop: tomato}\n")
    firsts = [line.sow.first for line in plan.sowings if line.sow]
    assert firsts == sorted(firsts) and len(firsts) == 3


def test_a_southern_season(tmp_path: Path) -> None:
    south = PLACE.replace("{0.9: 04-10, 0.5: 04-28, 0.1: 05-15}", "{0.9: 09-10, 0.5: 09-25, 0.1: 10-12}")
    line = _one(tmp_path, "{crop: tomato, method: tray}", south)
    assert line.plant_out and line.plant_out.first == D(2027, 10, 12)
    assert line.sow and line.sow.first < D(2027, 9, 1)


def test_a_crop_without_figures_says_what_is_missing(tmp_path: Path, db: Catalog) -> None:
    bare = next(
        crop
        for crop in db.find(group="flower")
        if not crop.weeks_to_raise and not crop.weeks_before_last_frost and not crop.direct_sowing_weeks
    )
    line = _one(tmp_path, f"{{crop: {bare.id}, method: tray, plants: 3}}")
    assert line.sow is None and any("no sowing date can be reckoned" in note for note in line.notes)


def test_every_crop_can_be_planned(tmp_path: Path, db: Catalog) -> None:
    plan = _plan(
        tmp_path, "".join(f"  - {{crop: {crop_id}, plants: 5, packed: 2024}}\n" for crop_id in db), PLACE + SOIL
    )
    assert len(plan.sowings) == len(db)
    for line in plan.sowings:
        for window in (line.sow, line.seedlings, line.plant_out):
            assert window is None or window.first <= window.last, line
        assert set(line.sources) <= set(db.sources)


def test_public_name() -> None:
    assert cropdata.plan is plan_season


def test_frost_on_a_crop_that_is_not_tender_is_told_from_where_to_where(tmp_path: Path) -> None:
    """Lettuce: sources print damage from 0 °C (FAO) to -7 °C; nothing may say that it stands frost and does not."""
    lettuce = " ".join(_one(tmp_path, "{crop: lettuce, method: tray}").notes)
    assert "Sources disagree how much frost harms it" in lettuce and "from about 0 °C to -7 °C" in lettuce
    assert "Stands light frost" not in lettuce
    pea = " ".join(_one(tmp_path, "{crop: pea, method: in_place}").notes)
    assert "Stands light frost: sources report damage from about -2 °C down to -4 °C." in pea


def test_a_bench_too_cold_for_its_planting_out_is_told(tmp_path: Path) -> None:
    """Planted out with true leaves, 10 days after the first and the last seedlings at the soonest (common practice)."""
    plan = _plan(
        tmp_path, "  - {crop: lettuce, method: tray}\n", PLACE.replace("{day: 22, night: 18}", "0")
    )  # fmt: skip
    cold = plan.sowings[0]
    assert cold.plant_out and cold.seedlings
    ten = datetime.timedelta(days=10)
    assert cold.plant_out == (cold.seedlings.first + ten, cold.seedlings.last + ten)
    bench = next(each for each in plan.conflicts if each.kind == "bench")
    assert "some too late to be planted out 31 Mar – 14 Apr" in bench.text and bench.sowings == ("lettuce",)
    warm = _plan(tmp_path, "  - {crop: lettuce, method: tray}\n")
    assert warm.sowings[0].plant_out == (D(2027, 3, 31), D(2027, 4, 14)) and not warm.conflicts


@pytest.mark.parametrize("bench", ["{day: 22, night: 18}", "{day: 18, night: 12}"])
def test_steps_come_in_an_order_that_can_be_done(tmp_path: Path, db: Catalog, bench: str) -> None:
    """Of every crop in the smallest cells: nothing is hardened off before it is up, potted on or planted out in vain."""
    place = PLACE.replace("{day: 22, night: 18}", bench) + SOIL
    plan = _plan(
        tmp_path, "".join(f"  - {{crop: {crop_id}, method: tray, container: tray-288}}\n" for crop_id in db), place
    )
    for line in plan.sowings:
        steps = {step.kind: step for step in line.steps}
        assert all(step.first <= step.last for step in line.steps), line
        if line.plant_out is None:
            continue
        assert line.seedlings is None or line.seedlings.first < line.plant_out.first, line
        assert line.seedlings is None or line.seedlings.first <= steps["harden"].first, line
        if "pot_on" in steps:  # nobody pots on what can go out within a week
            assert (line.plant_out.first - steps["pot_on"].first).days >= 7, line
            assert steps["pot_on"].last <= line.plant_out.first, line
        if "give_up" in steps and steps["give_up"].first > line.plant_out.first:
            assert "Planting out begins before" in steps["give_up"].text or "over months" in steps["give_up"].text


def test_one_is_one(tmp_path: Path) -> None:
    parsnip = _one(tmp_path, "{crop: parsnip, packed: 2025}")
    assert any("beyond the 1 year that sources give it" in note for note in parsnip.notes)
    canna = _one(
        tmp_path, "{crop: canna, method: tray}", PLACE.replace("  bench_temperature_c: {day: 22, night: 18}\n", "")
    )
    assert any(step.kind == "soak" and "for 1 day before" in step.text for step in canna.steps)


def test_a_plan_names_what_was_laid_over_the_release(tmp_path: Path) -> None:
    own = tmp_path / "own"
    own.mkdir()
    (own / "layer.yaml").write_text("title: Hill notes (invented)\nauthor: me\n", encoding="utf-8")
    (own / "seed_longevity.csv").write_text("crop_id,low,high,unit\nonion,1,2,years\n", encoding="utf-8")
    season = tmp_path / "season.yaml"
    season.write_text(f"{PLACE}packets:\n  - {{crop: onion, plants: 3}}\n", encoding="utf-8")
    plan = plan_season(season, cropdata.open(layers=[own]))
    assert plan.layers == (f"Hill notes (invented) ({own})",)
    assert plan_object(plan)["layers"] == list(plan.layers)
    shown = plan_text(plan, Words(), D(2027, 3, 1)), page_html(plan)
    assert all("Laid over the release: Hill notes (invented)" in " ".join(text.split()) for text in shown)
