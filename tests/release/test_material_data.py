"""What must make sense over the whole of the tables on methods, containers, mixes, stays, trials and cautions."""

from __future__ import annotations

import csv
from collections import defaultdict
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "datapackage"
TABLES = ("methods", "containers", "media", "material_figures", "cell_stay", "method_effects", "material_cautions")


def rows(name: str) -> list[dict[str, str]]:
    with (PACKAGE / "reference" / f"{name}.csv").open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


@pytest.mark.parametrize("name", TABLES)
def test_every_row_says_who_where_and_on_what_ground(name: str) -> None:
    sources = {row["source_id"] for row in rows("sources")}
    for row in rows(name):
        assert row["source_id"] in sources and row["locator"], row
        assert (row["source_id"] == "memory") == (row["basis"] != "published"), row


def test_prices_are_never_passed_off_as_published() -> None:
    assert {row["basis"] for row in rows("material_figures") if row["what"] == "price"} == {"from_memory"}


def test_more_cells_in_a_tray_are_smaller_ones() -> None:
    sizes = [
        (int(row["units_per_tray"]), float(row["volume_low_ml"])) for row in rows("containers")
        if row["method_id"] == "tray" and row["volume_low_ml"]
    ]  # fmt: skip
    volumes = [volume for _, volume in sorted(sizes)]
    assert len(volumes) >= 7 and volumes == sorted(volumes, reverse=True)


def test_a_recalled_cube_holds_what_its_edges_say() -> None:
    """A pressed block of edge d holds at most d³, and no less than four fifths of it."""
    for row in rows("containers"):
        if row["container_id"].endswith("mm") and row["method_id"] == "block":
            cube = float(row["depth_mm"]) ** 3 / 1000
            assert 0.8 * cube <= float(row["volume_low_ml"]) <= float(row["volume_high_ml"]) <= 1.06 * cube, row


@pytest.mark.parametrize("method", ["tray", "flat", "pot"])
def test_thick_pieces_are_heavier_dearer_and_last_longer(method: str) -> None:
    found: dict[tuple[str, str], tuple[float, float]] = {}
    for row in rows("material_figures"):
        if row["method_id"] == method and row["build"] in ("thin", "thick"):
            found[row["what"], row["build"]] = float(row["low"] or row["high"]), float(row["high"] or row["low"])
    for what in ("plastic", "price", "life"):
        assert found[what, "thin"][1] <= found[what, "thick"][0], what
    assert found["breakage", "thick"][1] < found["breakage", "thin"][0]


def test_one_figure_of_one_method_and_make_has_one_unit() -> None:
    units: dict[tuple[str, ...], set[str]] = defaultdict(set)
    for row in rows("material_figures"):
        if row["what"] != "labour":
            units[row["method_id"], row["medium"], row["what"], row["build"]].add(row["unit"])
    assert all(len(found) == 1 for found in units.values()), units


def test_a_figure_is_of_a_method_or_of_a_mix() -> None:
    for row in rows("material_figures"):
        assert bool(row["method_id"]) != bool(row["medium"]), row
        assert row["low"] or row["high"], row


def test_a_larger_cell_bears_a_longer_stay() -> None:
    """Rules of the trade, by crop, family or in general."""
    of: dict[tuple[str, str], list[tuple[float, float, float]]] = defaultdict(list)
    for row in rows("cell_stay"):
        if row["basis"] == "common_practice":
            of[row["crop_id"], row["family"]].append(
                (float(row["volume_ml"]), float(row["low_weeks"]), float(row["high_weeks"]))
            )
    assert of
    for found in of.values():
        lows, highs = [low for _, low, _ in sorted(found)], [high for _, _, high in sorted(found)]
        assert lows == sorted(lows) and highs == sorted(highs), found


def test_families_are_families_of_crops() -> None:
    with (PACKAGE / "reference" / "crops.csv").open(encoding="utf-8", newline="") as stream:
        families = {row["family"] for row in csv.DictReader(stream)}
    assert {row["family"] for row in rows("cell_stay")} - {""} <= families


def test_null_and_opposite_results_are_there() -> None:
    outcomes = [row["outcome"] for row in rows("method_effects")]
    assert outcomes.count("no_difference") >= 10 and "worse" in outcomes and "mixed" in outcomes


def test_every_recipe_has_parts_that_can_be_measured() -> None:
    parts: dict[str, float] = defaultdict(float)
    for row in rows("media"):
        parts[row["recipe_id"]] += float(row["parts"] or 0)
        assert not (row["parts"] and row["amount"]), row
    assert len(parts) >= 8 and all(total > 0 for total in parts.values())


def test_the_cautions_that_the_issue_names_are_there() -> None:
    text = " ".join(row["applies_to"] + " " + row["hazard"] for row in rows("material_cautions")).lower()
    for word in ("peat", "perlite", "vermiculite", "legionella", "tetanus", "blood meal", "bone meal", "heat mat", "lamp", "ammonia",
                 "acid", "sprout", "treated seed"):  # fmt: skip
        assert word in text, word
