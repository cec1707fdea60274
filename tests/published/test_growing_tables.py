"""Spacing, transplanting, raising, season, autumn sowing and moisture, typed again from their sources.

Each figure was keyed anew from the page (or from the copy of it that the row names), not from our table; sources
named at each check.
"""

from __future__ import annotations

import datetime
import math

import pytest

from cropdata.agronomy import viability
from cropdata.catalog import Catalog

pytestmark = pytest.mark.published

# 7 CFR 201.36c(c), vegetable seeds: highest moisture in percent for hermetically sealed containers.
SEALED = {
    "bean-snap": 7.0, "bean-lima": 7.0, "beet": 7.5, "broccoli": 5.0, "brussels-sprouts": 5.0, "cabbage": 5.0,
    "chinese-cabbage": 5.0, "carrot": 7.0, "cauliflower": 5.0, "celeriac": 7.0, "celery": 7.0, "chard": 7.5,
    "chives": 6.5, "collard": 5.0, "corn-sweet": 8.0, "cucumber": 6.0, "eggplant": 6.0, "kale": 5.0, "kohlrabi": 5.0,
    "leek": 6.5, "lettuce": 5.5, "melon": 6.0, "mustard": 5.0, "onion": 6.5, "onion-bunching": 6.5, "parsley": 6.5,
    "parsnip": 6.0, "pea": 7.0, "pepper": 4.5, "pumpkin": 6.0, "radish": 5.0, "rutabaga": 5.0, "spinach": 8.0,
    "squash": 6.0, "tomato": 5.5, "turnip": 5.0, "watermelon": 6.5,
    "clover-crimson": 8.0, "ryegrass-annual": 8.0,  # from the agricultural list
}  # fmt: skip


def test_moisture_for_sealed_packing_is_the_regulations(db: Catalog) -> None:
    for crop, percent in SEALED.items():
        answer = db.crop(crop).trait("hermetic_moisture")
        assert answer is not None and answer.low == answer.high == percent, crop
    assert set(db.table("hermetic_moisture")["crop_id"]) == set(SEALED)


@pytest.mark.parametrize(
    ("crop", "source", "in_row", "between"),
    [
        # Florida Vegetable Gardening Guide SP 103: arugula 3-4 in, rows 10 in.
        ("arugula", "uf_ifas_sp103", (7.62, 10.16), (25.4, 25.4)),
        # Illinois, Watch Your Garden Grow: pumpkin, single plants 24-36 in, rows 84-120 in.
        ("pumpkin", "illinois_vegguide", (60.96, 91.44), (213.36, 304.8)),
        # Rockwell 1911, Planting Table: borecole 2 ft, rows 2 1/2 ft.
        ("kale", "rockwell_1911", (60.96, 60.96), (76.2, 76.2)),
        # Free 1918, Table III: parsnip 6 in, rows 15 to 18 in.
        ("parsnip", "free_1918", (15.24, 15.24), (38.1, 45.72)),
        # Royal Horticultural Society: pak choi 20 cm half-grown to 30 cm grown, rows 30-38 cm.
        ("pak-choi", "rhs_pak_choi", (20, 30), (30, 38)),
        # Kains 1912, p. 88: dill 9 in to a foot, drills 1 foot.
        ("dill", "kains_1912", (22.86, 30.48), (30.48, 30.48)),
    ],
)
def test_spacing_as_printed(
    db: Catalog, crop: str, source: str, in_row: tuple[float, float], between: tuple[float, float]
) -> None:
    for table, expected in (("spacing_in_row", in_row), ("spacing_between_rows", between)):
        rows = [row for row in db.crop(crop).evidence(table) if row["source_id"] == source]
        assert [(row["low_cm"], row["high_cm"]) for row in rows] == [expected], table


def test_codes_of_the_florida_guide_and_the_words_of_its_newsletter_agree(db: Catalog) -> None:
    """Codes I, II, III of SP 103; easy, medium, difficult in The Neighborhood Gardener 2013 of the same university.

    The key of the codes was recalled; eight crops stand in both lists and none contradicts it.
    """
    both = 0
    for crop in ("beet", "broccoli", "cabbage", "carrot", "cauliflower", "melon", "bean-snap", "bean-pole"):
        rows = [
            row for name in (crop, db.crop(crop).parent_id) if name for row in db.crop(name).evidence("transplant_ease")
        ]
        code = {row["rank"] for row in rows if row["source_id"] == "uf_ifas_sp103"}
        words = {row["rank"] for row in rows if row["source_id"] == "uf_newsletter_transplanting_2013"}
        assert code == words, crop
        both += 1
    assert both == 8


# Delaware, Times and Temperatures for Vegetable Transplant Production: optimum day, minimum night, °F.
DELAWARE = {
    "broccoli": (65, 70, 60), "cabbage": (65, 65, 60), "cauliflower": (65, 70, 60), "cucumber": (70, 75, 65),
    "eggplant": (70, 85, 65), "lettuce": (60, 65, 40), "melon": (70, 75, 65), "onion": (65, 70, 60),
    "pepper": (70, 75, 60), "squash-summer": (70, 75, 65), "tomato": (65, 75, 60), "watermelon": (70, 75, 65),
}  # fmt: skip


@pytest.mark.parametrize("crop", DELAWARE)
def test_warmth_after_emergence_as_printed(db: Catalog, crop: str) -> None:
    low, high, night = DELAWARE[crop]
    rows = [row for row in db.crop(crop).evidence("raising") if row["source_id"] == "udel_midatlantic_a4"]
    day = next(row for row in rows if row["aspect"] == "day_warmth")
    dark = next(row for row in rows if row["aspect"] == "night_warmth")
    assert (day["temperature_low"], day["temperature_high"], day["temperature_unit"]) == (low, high, "F")
    assert (dark["temperature_low"], dark["temperature_high"]) == (night, None)
    assert day["temperature_low_c"] == pytest.approx((low - 32) / 1.8, abs=0.01)


def test_onions_bulb_at_the_printed_day_lengths(db: Catalog) -> None:
    """Iowa State: 10 to 12, 12 to 14, 14 or more hours; Oregon State: 11 to 13, 13 to 14, 14 or more."""
    rows = [row for row in db.crop("onion").evidence("season_signals") if row["signal"] == "bulbs_at_day_length"]
    hours = {(row["source_id"], row["population"]): (row["day_hours_low"], row["day_hours_high"]) for row in rows}
    assert hours == {
        ("isu_long_day_onion", "short-day kinds"): (10, 12),
        ("isu_long_day_onion", "intermediate kinds"): (12, 14),
        ("isu_long_day_onion", "long-day kinds"): (14, None),
        ("osu_onion_day_length_2006", "short-day kinds"): (11, 13),
        ("osu_onion_day_length_2006", "intermediate kinds"): (13, 14),
        ("osu_onion_day_length_2006", "long-day kinds"): (14, None),
    }


def test_artichoke_chill_as_printed(db: Catalog) -> None:
    """Oregon State: 1300 and 200 hours; Connecticut bulletin 975: 250 and 500 hours, all below 50 °F (10 °C)."""
    rows = [row for row in db.crop("artichoke").evidence("season_signals") if row["signal"] == "needs_cold"]
    assert {row["temperature_high_c"] for row in rows} == {10}
    assert sorted(row.low for row in rows) == [200, 200, 250, 500, 1300]
    # Cornell: beet, two to three weeks below 45 °F. Swiss journal: Florence fennel above 14 hours.
    beet = next(row for row in db.crop("beet").evidence("season_signals") if row["source_id"] == "cornell_hg_beet")
    assert (beet["low_days"], beet["high_days"], beet["temperature_high"]) == (14, 21, 45)
    fennel = db.crop("fennel-florence").evidence("season_signals")[0]
    assert (fennel["signal"], fennel["day_hours_low"]) == ("bolts_in_long_days", 14)


def test_weeks_before_the_autumn_frost_are_those_of_the_printed_dates(db: Catalog) -> None:
    """Where a last date and the dates of the first frost are both printed, the days between, by the calendar."""
    reckoned = 0
    for row in db.table("autumn_sowing_weeks").to_dict("records"):
        if not (isinstance(row["window_until"], str) and isinstance(row["first_frost_from"], str)):
            continue
        last, *frost = (
            datetime.date.fromisoformat(f"2021-{row[name]}")
            for name in ("window_until", "first_frost_from", "first_frost_until")
        )
        assert [(day - last).days for day in frost] == [row["low"], row["high"]], row["row_id"]
        reckoned += 1
    assert reckoned >= 10
    # Prince William County, Virginia: cucumbers through 28 August, first frost 20 to 30 October.
    cucumber = db.crop("cucumber").trait("autumn_sowing_weeks")
    assert cucumber is not None and (cucumber.low, cucumber.high) == (pytest.approx(53 / 7, abs=0.01), 9)


def test_maize_in_air_fits_the_equation_printed_beside_it(db: Catalog) -> None:
    """Howlett, Osmosis, prints K 8.6541e-5, N 1.8634, C 49.810 and three points; the modified Henderson equation
    1 - RH = exp(-K (T + C) M^N), its form from memory, gives them within 1.3 % humidity.
    """
    rows = [row for row in db.crop("corn").evidence("moisture_isotherm") if row["meaning"] == "equilibrium"]
    assert {(row["temperature"], row["unit"], row["humidity"], row["moisture"]) for row in rows} == {
        (32, "F", 49, 15), (70, "F", 62, 15), (90, "F", 68, 15),
    }  # fmt: skip
    for row in rows:
        assert row["moisture_basis"] == "dry"
        humidity = 100 * (1 - math.exp(-8.6541e-5 * (row.temperature_c + 49.810) * row.moisture**1.8634))
        assert humidity == pytest.approx(row.humidity, abs=1.3)


def test_chickpea_in_a_drying_room_fits_the_general_isotherm(db: Catalog) -> None:
    """Genebank course of the Open University, module 2: 6 % (fresh) at 15 % and 15 °C; Cromarty's isotherm, 5 % oil."""
    (row,) = db.crop("chickpea").evidence("moisture_isotherm")
    assert (row["humidity"], row["temperature_c"], row["moisture"], row["moisture_basis"]) == (15, 15, 6, "fresh")
    assert float(viability.equilibrium_moisture(15, 15, 5)) == pytest.approx(row.moisture, abs=0.2)


def test_stored_maize_as_printed(db: Catalog) -> None:
    """Genebank of the maize and wheat centre, abstract: 81.4 % at -3 °C, 92.1 % at -15 °C, 48 years."""
    rows = db.crop("corn").evidence("storage_observations")
    assert {(row["temperature"], row["percent_low"], row["period_low"]) for row in rows} == {
        (-3, 81.4, 48),
        (-15, 92.1, 48),
    }
