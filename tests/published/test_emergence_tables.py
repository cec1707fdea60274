"""Days to emergence and normal seedlings by soil temperature, against the printed tables.

Source of the days: Harrington and Minges, Vegetable Seed Germination (California Agricultural Extension, 1954), as
reprinted in Teaching Organic Farming and Gardening, Unit 1.3, Appendix 4 (University of California, Santa Cruz),
after Knott's Handbook for Vegetable Growers. None: the table prints that no seed came up. Source of the
percentages: the table of normal seedlings usually credited to J. F. Harrington, University of California, Davis.
Temperatures in degrees Fahrenheit, as printed.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from cropdata.catalog import Catalog

pytestmark = pytest.mark.published

DAYS: dict[str, dict[int, int | None]] = {
    "asparagus": {32: None, 41: None, 50: 53, 59: 24, 68: 15, 77: 10, 86: 12, 95: 20, 104: 28},
    "bean-lima": {50: None, 59: 31, 68: 18, 77: 7, 86: 7, 95: None},
    "bean-snap": {32: None, 41: None, 50: None, 59: 16, 68: 11, 77: 8, 86: 6, 95: 6, 104: None},
    "beet": {41: 42, 50: 17, 59: 10, 68: 6, 77: 5, 86: 5, 95: 5},
    "cabbage": {50: 15, 59: 9, 68: 6, 77: 5, 86: 4},
    "carrot": {32: None, 41: 51, 50: 17, 59: 10, 68: 7, 77: 6, 86: 6, 95: 9, 104: None},
    "cauliflower": {50: 20, 59: 10, 68: 6, 77: 5, 86: 5},
    "celery": {32: None, 41: 41, 50: 16, 59: 12, 68: 7, 77: None, 86: None, 95: None},
    "corn-sweet": {32: None, 41: None, 50: 22, 59: 12, 68: 7, 77: 4, 86: 4, 95: 3, 104: None},
    "cucumber": {32: None, 41: None, 50: None, 59: 13, 68: 6, 77: 4, 86: 3, 95: 3},
    "eggplant": {68: 13, 77: 8, 86: 5},
    "lettuce": {32: 49, 41: 15, 50: 7, 59: 4, 68: 3, 77: 2, 86: 3, 95: None, 104: None},
    "melon": {68: 8, 77: 4, 86: 3},
    "okra": {32: None, 41: None, 50: None, 59: 27, 68: 17, 77: 13, 86: 7, 95: 6, 104: 7},
    "onion": {32: 136, 41: 31, 50: 13, 59: 7, 68: 5, 77: 4, 86: 4, 95: 13, 104: None},
    "parsley": {50: 29, 59: 17, 68: 14, 77: 13, 86: 12},
    "parsnip": {32: 172, 41: 57, 50: 27, 59: 19, 68: 14, 77: 15, 86: 32, 95: None, 104: None},
    "pea": {41: 36, 50: 14, 59: 9, 68: 8, 77: 6, 86: 6},
    "pepper": {32: None, 41: None, 50: None, 59: 25, 68: 13, 77: 8, 86: 8, 95: 9, 104: None},
    "radish": {32: None, 41: 29, 50: 11, 59: 6, 68: 4, 77: 4, 86: 3},
    "spinach": {32: 63, 41: 23, 50: 12, 59: 7, 68: 6, 77: 5, 86: 6, 95: None, 104: None},
    "tomato": {32: None, 41: None, 50: 43, 59: 14, 68: 8, 77: 6, 86: 6, 95: 9, 104: None},
    "turnip": {32: None, 41: None, 50: 5, 59: 3, 68: 2, 77: 1, 86: 1, 95: 1, 104: 3},
    "watermelon": {41: None, 68: 12, 77: 5, 86: 4, 95: 3},
}

PERCENT: dict[str, dict[int, float]] = {
    "beet": {41: 53, 50: 72, 59: 88, 68: 90, 77: 97, 86: 89, 95: 35},
    "carrot": {32: 0, 41: 48, 50: 93, 59: 95, 68: 96, 77: 96, 86: 95, 95: 74, 104: 0},
    "celery": {32: 0, 41: 72, 50: 70, 59: 40, 68: 97, 86: 0, 95: 0},
    "corn-sweet": {32: 0, 41: 0, 50: 47, 59: 97, 68: 97, 77: 98, 86: 91, 95: 88},
    "cucumber": {32: 0, 41: 0, 50: 0, 59: 95, 68: 99, 77: 99, 86: 99, 95: 99},
    "lettuce": {32: 98, 41: 98, 50: 98, 59: 99, 68: 99, 77: 99, 86: 12, 95: 0, 104: 0},
    "onion": {32: 90, 41: 98, 50: 98, 59: 98, 68: 99, 77: 97, 86: 91, 95: 73},
    "pepper": {32: 0, 41: 0, 59: 70, 68: 96, 77: 98, 86: 95, 95: 70, 104: 0},
    "spinach": {32: 83, 41: 96, 50: 91, 59: 82, 68: 52, 77: 28, 86: 32, 95: 0, 104: 0},
    "tomato": {32: 0, 41: 0, 50: 82, 59: 98, 68: 98, 77: 97, 86: 83, 95: 46, 104: 0},
}

CELLS = [(crop, temp, days) for crop, row in DAYS.items() for temp, days in row.items()]


def celsius(fahrenheit: float) -> float:
    return round((fahrenheit - 32) / 1.8, 2)


@pytest.mark.parametrize(("crop", "temp", "days"), CELLS, ids=[f"{crop}-{temp}F" for crop, temp, _ in CELLS])
def test_at_a_printed_temperature_the_printed_figure_is_answered(
    db: Catalog, crop: str, temp: int, days: int | None
) -> None:
    estimate = db.crop(crop).days_to_emergence(celsius(temp))
    assert estimate is not None
    assert estimate.expected == (float("inf") if days is None else days)
    assert "harrington_minges_1954_knott1997_ucsc" in estimate.sources
    if days is not None:
        assert estimate.low <= days <= estimate.high
        assert not estimate.extrapolated


@pytest.mark.parametrize("crop", PERCENT)
def test_normal_seedlings(db: Catalog, crop: str) -> None:
    temps = list(PERCENT[crop])
    estimate = db.crop(crop).days_to_emergence([celsius(temp) for temp in temps])
    assert estimate is not None
    assert list(estimate.percent_normal) == pytest.approx(list(PERCENT[crop].values()))


@pytest.mark.parametrize("crop", ["tomato", "carrot", "cabbage", "onion", "radish"])
def test_inside_the_table_a_general_librarys_curve_agrees(db: Catalog, crop: str) -> None:
    """scipy's shape-preserving cubic on the rates, away from temperatures without emergence: within a tenth."""
    points = [(celsius(temp), days) for temp, days in DAYS[crop].items() if days is not None]
    temps, days = (np.array(values, float) for values in zip(*points, strict=True))
    asked = np.linspace(temps[1], temps[-2], 60)
    ours = db.crop(crop).days_to_emergence(asked)
    assert ours is not None
    theirs = 1 / PchipInterpolator(temps, 1 / days)(asked)
    assert np.abs(np.log(np.asarray(ours.expected) / theirs)).max() < 0.1


def test_outside_the_tested_span_nothing_is_answered(db: Catalog) -> None:
    estimate = db.crop("tomato").days_to_emergence(45.0)
    assert estimate is not None and np.isnan(estimate.expected) and estimate.extrapolated is True
    between = db.crop("tomato").days_to_emergence(7.0)  # 41 °F prints no emergence, 50 °F 43 days
    assert between is not None and np.isnan(between.expected) and (between.low, between.high) == (43, float("inf"))
    assert db.crop("tomato").days_to_emergence(float("nan")).extrapolated  # type: ignore[union-attr]
