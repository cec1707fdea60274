"""What must make sense over the whole of the tables on spacing, raising, season and autumn; exceptions with reasons."""

from __future__ import annotations

import csv
from collections import defaultdict
from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[2] / "datapackage"


def rows(path: str) -> list[dict[str, str]]:
    with (PACKAGE / path).open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def evidence(name: str) -> list[dict[str, str]]:
    return rows(f"evidence/{name}.csv")


def ends(row: dict[str, str], low: str, high: str) -> tuple[float, float]:
    return float(row[low] or row[high]), float(row[high] or row[low])


# Crop and source that print more room along the row than between rows.
CLOSER_ROWS = {
    ("melon", "missouri_g6201_jett"): "hills",
    ("squash-winter", "missouri_g6201_jett"): "hills",
}


def test_rows_are_no_closer_than_the_plants_in_them() -> None:
    between: dict[tuple[str, str], float] = {}
    for row in evidence("spacing_between_rows"):
        key = row["crop_id"], row["source_id"]
        between[key] = max(between.get(key, 0.0), ends(row, "low_cm", "high_cm")[1])
    closer = {
        key
        for row in evidence("spacing_in_row")
        if (key := (row["crop_id"], row["source_id"])) in between
        and row["arrangement"] != "seed_bed"
        and ends(row, "low_cm", "high_cm")[0] > between[key]
    }
    assert closer == set(CLOSER_ROWS)


def test_hills_and_seed_beds_are_shown_but_not_counted() -> None:
    aside = {row["row_id"] for row in rows("reference/decisions.csv") if row["table"] == "spacing_in_row"}
    odd = {row["row_id"] for row in evidence("spacing_in_row") if row["arrangement"] in ("hill", "seed_bed")}
    assert odd and odd == aside


def test_only_a_statement_of_ease_has_a_class() -> None:
    for row in evidence("transplant_ease"):
        assert (row["measure"] == "ease") == bool(row["class"]) == bool(row["rank"]), row


def test_nights_are_no_warmer_than_days() -> None:
    warmth: dict[tuple[str, str], dict[str, tuple[float, float]]] = defaultdict(dict)
    for row in evidence("raising"):
        if row["aspect"] in ("day_warmth", "night_warmth"):
            warmth[row["crop_id"], row["source_id"]][row["aspect"]] = ends(
                row, "temperature_low_c", "temperature_high_c"
            )
    pairs = [both for both in warmth.values() if len(both) == 2]
    assert len(pairs) > 20
    for both in pairs:
        assert both["night_warmth"][0] <= both["day_warmth"][0] and both["night_warmth"][1] <= both["day_warmth"][1]


def test_a_figure_on_raising_is_a_temperature_or_a_number_with_its_unit() -> None:
    for row in evidence("raising"):
        warm = any(row[name] for name in ("temperature_low", "temperature_high"))
        counted = any(row[name] for name in ("low", "high"))
        assert warm != counted and warm == bool(row["temperature_unit"]) and counted == bool(row["unit"]), row


def test_one_aspect_has_one_kind_of_unit() -> None:
    units: dict[str, set[str]] = defaultdict(set)
    for row in evidence("raising"):
        units[row["aspect"]].add(row["unit"].replace("in", "length").replace("cm", "length"))
    assert all(len(found) == 1 for found in units.values()), units


def test_cold_that_makes_bolt_is_cool_not_warm() -> None:
    for row in evidence("season_signals"):
        if row["signal"] in ("bolts_after_cold", "needs_cold", "checked_by_cold") and row["temperature_high_c"]:
            assert float(row["temperature_high_c"]) <= 15, row
        if row["signal"] == "bulbs_at_day_length":
            assert 9 <= float(row["day_hours_low"]) <= 17, row


def test_weeks_stand_only_where_a_crop_is_sown_in_place_before_winter() -> None:
    for row in evidence("autumn_sowing_weeks"):
        if row["low"] or row["high"]:
            assert (row["method"], row["purpose"], row["advice"]) == ("in_place", "autumn_crop", "advised"), row
            assert row["frost_reference"] != "unstated", row


def test_warmer_stores_ask_for_drier_seed() -> None:
    safe: dict[tuple[str, str], list[tuple[float, float]]] = defaultdict(list)
    for row in evidence("moisture_isotherm"):
        if row["meaning"] == "safe_storage":
            safe[row["crop_id"], row["source_id"]].append((float(row["temperature_c"]), float(row["moisture"])))
    assert safe
    for points in safe.values():
        moistures = [moisture for _, moisture in sorted(points)]
        assert moistures == sorted(moistures, reverse=True)
