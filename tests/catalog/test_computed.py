"""Answers that a crop computes: emergence under swings, radicle, practical minimum, lots, harvest."""

from __future__ import annotations

import datetime

import numpy as np
import pandas as pd
import pytest
from statsmodels.stats.proportion import proportion_confint

import cropdata
from cropdata.catalog import Catalog

D = datetime.date


def test_a_swing_of_day_and_night_is_slower_than_its_mean_in_the_cold(db: Catalog) -> None:
    tomato = db.crop("tomato")
    steady = tomato.days_to_emergence(15)
    swing = tomato.days_to_emergence_under(10, 20, shape="square")
    assert steady is not None and swing is not None
    # Printed: 43 days at 10 °C, 8 at 20 °C (Harrington and Minges): mean rate (1/43 + 1/8) / 2.
    assert swing[1] == pytest.approx(2 / (1 / 43 + 1 / 8))
    assert swing[0] < swing[1] < swing[2]
    assert db.crop("zinnia").days_to_emergence_under(10, 20) is None


def test_hours_beside_no_emergence_give_bounds_only(db: Catalog) -> None:
    low, expected, high = db.crop("tomato").days_to_emergence_under(7, 25, shape="square", day_hours=8)  # type: ignore[misc]
    assert np.isnan(expected) and low < high < np.inf


def test_the_answer_as_a_date(db: Catalog) -> None:
    """Steady 20 °C: 8 days by the table; the bounds are the measured error of one place against another."""
    first, last = db.crop("tomato").emergence_date(D(2027, 5, 1), np.full(60, 20.0))  # type: ignore[misc]
    assert first is not None and last is not None
    assert D(2027, 5, 8) <= first <= D(2027, 5, 9) and D(2027, 5, 13) <= last <= D(2027, 5, 15)
    assert db.crop("tomato").emergence_date(D(2027, 5, 1), np.full(3, 20.0)) == (None, None)
    # Pea was tested from 5 °C on: what it does on three days at 2 °C nobody knows.
    pea, start = db.crop("pea"), D(2027, 4, 1)
    assert pea.emergence_date(start, [2.0] * 3 + [20.0] * 60) == (None, None)
    assert None not in pea.emergence_date(start, [20.0] * 60 + [2.0] * 3)  # type: ignore[operator]


def test_the_radicle_is_an_answer_of_its_own(db: Catalog) -> None:
    onion = db.crop("onion").days_to_radicle([2.0, 15.0, 60.0])
    assert onion is not None and list(onion.extrapolated) == [True, False, True]  # type: ignore[arg-type]
    assert db.crop("zinnia").days_to_radicle(20) is None


def test_emergence_constants_answer_where_only_they_are_known(db: Catalog) -> None:
    """Souza et al. 2017, Agrociencia Uruguay: Cucurbita moschata, 88.2 degree-days above 12 °C to emerge."""
    squash = db.crop("squash-winter").days_to_emergence(24.0)
    assert squash is not None and squash.basis == "thermal time" and squash.expected == pytest.approx(88.2 / 12)


def test_a_practical_minimum_is_warmer_than_the_minimum(db: Catalog) -> None:
    for name in ("tomato", "carrot", "pea", "lettuce"):
        crop = db.crop(name)
        assert crop.germination_temperature is not None and crop.germination_temperature.minimum is not None
        assert crop.practical_minimum_c is not None and crop.practical_minimum_c > crop.germination_temperature.minimum
    assert db.crop("zinnia").practical_minimum_c is None


def test_a_lot_joins_age_and_test(db: Catalog) -> None:
    tomato = db.crop("tomato")
    alone, aged = tomato.lot(test=(8, 10)), tomato.lot(age_years=2, test=(8, 10))
    assert alone.prior_mean is None and aged.prior_mean is not None
    assert aged.high - aged.low < alone.high - alone.low
    assert alone.chance_above_minimum is not None  # legal minimum 75 %
    # statsmodels' Jeffreys interval of 8 of 10.
    assert (alone.low, alone.high) == pytest.approx(proportion_confint(8, 10, alpha=0.1, method="jeffreys"), abs=1e-6)
    with pytest.raises(cropdata.InputError, match="neither an age"):
        tomato.lot()


def test_harvest_counts_from_the_right_start(db: Catalog) -> None:
    tomato = db.crop("tomato")
    window = tomato.harvest_window(planted=D(2027, 5, 15))
    assert window is not None and D(2027, 7, 1) < window.first < window.last < D(2027, 10, 1)
    assert db.crop("carrot").harvest_window(planted=D(2027, 5, 15)) is None
    assert db.crop("carrot").harvest_window(sown=D(2027, 4, 1)) is not None
    with pytest.raises(cropdata.InputError, match="either the date"):
        tomato.harvest_window()


def test_arrays_and_series_in_arrays_out(db: Catalog) -> None:
    for temps in ([15.0, 20.0], np.array([15.0, 20.0]), pd.Series([15.0, 20.0])):
        estimate = db.crop("tomato").days_to_emergence(temps)
        assert estimate is not None and list(estimate.expected) == [14, 8]  # type: ignore[arg-type]
        assert list(estimate.percent_normal) == [98, 98]  # type: ignore[arg-type]
