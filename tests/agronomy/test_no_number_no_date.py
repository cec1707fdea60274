"""What is no number, no date or no span is refused or stays unknown; it never becomes an answer."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
import pytest

from cropdata.agronomy import emergence, frost, lots, soil, sowing, viability, windows
from cropdata.agronomy.dated import by_date
from cropdata.errors import InputError

NAN, INF = float("nan"), float("inf")
LEAP_DAY = datetime.date(2028, 2, 29)
TABLE = emergence.emergence_table([0, 10, 20], [INF, 20, 8])
SOIL = soil.daily_from_monthly([0, 0, 2, 7, 13, 18, 21, 21, 17, 11, 6, 2])
MINIMA = pd.Series(5.0, index=pd.date_range("2020-07-24", "2024-07-23"))


@pytest.mark.parametrize(
    "call",
    [
        lambda: emergence.days_under([], TABLE),
        lambda: emergence.days_under(10, TABLE),
        lambda: emergence.percent_at(5, [10, 0], [50, 100]),
        lambda: emergence.percent_at(5, [10], [50, 100]),
        lambda: emergence.thermal_days(10, 5, -3),
        lambda: emergence.give_up_day(NAN),
        lambda: emergence.give_up_day(INF),
        lambda: emergence.give_up_day(-5),
        lambda: emergence.give_up_day(5, quiet_days=NAN),
        lambda: emergence.give_up_day(5, prescribed_day=NAN),
        lambda: emergence.accumulate([INF], lambda t: t),
        lambda: emergence.accumulate([1, 2], [1, 2, 3]),
        lambda: frost.from_mean("04-28", INF),
        lambda: frost.from_mean("04-28", 5, threshold_c=NAN),
        lambda: frost.from_chances({0.9: "04-09", 0.5: "04-28"}, threshold_c=NAN),
        lambda: frost.from_chances({0.9: "04-09", 0.5: "04-28"}, threshold_c=32),
        lambda: frost.from_chances([0.9, 0.5]),  # type: ignore[arg-type]
        lambda: frost.from_mean("04-28", 5).chance_after(pd.NaT),  # type: ignore[arg-type]
        lambda: frost.from_mean("04-28", 5).chance_after("2027-W05-1"),
        lambda: frost.from_mean("04-28", 5).chance_after("W01-1"),
        lambda: frost.from_mean("04-28", 5).date_at(0.5, 0),
        lambda: frost.from_mean("04-28", 5).date_at(0.5, 99999),
        lambda: frost.from_chances({0.9: "04-09", 0.5: "04-28"}).date_at(0.5, NAN),  # type: ignore[arg-type]
        lambda: frost.from_chances({0.9: "04-09", 0.5: "04-28"}).extrapolated(NAN),
        lambda: frost.last_frost(MINIMA, NAN),
        lambda: frost.last_frost(MINIMA, 32),  # °F
        lambda: frost.last_frost(MINIMA, season_start="W01-1"),
        lambda: frost.damage_risk(MINIMA, "soon", (-2, 0)),
        lambda: frost.damage_risk(MINIMA, "05-10", (NAN, 0)),
        lambda: frost.damage_risk(MINIMA, "05-10", (-2, 0), plant_minus_screen_c=NAN),
        lambda: frost.damage_risk(MINIMA * NAN, "05-10", (-2, 0)),
        lambda: frost.last_day([]),
        lambda: frost.last_day(1.0),
        lambda: frost.first_day(np.empty((3, 0))),
        lambda: frost.day_quantiles([1, 2, 3], NAN),
        lambda: frost.day_quantiles([1, 2, 3], 2),
        lambda: frost.day_quantiles([], 0.5),
        lambda: soil.daily_from_monthly(5),  # type: ignore[arg-type]
        lambda: soil.daily_from_monthly(["a"] * 12),  # type: ignore[list-item]
        lambda: soil.first_warm_date(SOIL, NAN, LEAP_DAY),
        lambda: soil.first_warm_date(SOIL, 10, LEAP_DAY, spread_c=NAN),
        lambda: soil.first_warm_date(SOIL, 10, LEAP_DAY, hold_days=0),
        lambda: soil.first_warm_date(SOIL, 10, LEAP_DAY, search_days=-5),
        lambda: soil.soil_from_air([]),
        lambda: soil.soil_from_air(5),
        lambda: soil.soil_from_air([1, INF]),
        lambda: soil.soil_from_air([1, 2], depth_mm=-10),
        lambda: soil.soil_from_air([1, 2], leaf_area=NAN),
        lambda: soil.soil_from_air([1, 2], start_c=NAN),
        lambda: soil.daily_from_measured([1.0, 2.0]),  # type: ignore[arg-type]
        lambda: windows.days_after(LEAP_DAY, NAN),
        lambda: windows.days_after(LEAP_DAY, INF),
        lambda: windows.days_after(LEAP_DAY, 1e8),
        lambda: windows.offset_window(LEAP_DAY, 5, 2),
        lambda: windows.sowing_window(LEAP_DAY, 5, 2),
        lambda: viability.moisture_for(95, 80, 8.34, 4.54, 0.036, 0.000428, 10, 0),
        lambda: viability.fresh_weight_moisture(-100),
        lambda: lots.lot_estimate(age_years=NAN, life=(1, 3)),
        lambda: lots.lot_estimate(age_years=INF, life=(1, 3)),
        lambda: lots.lot_estimate(test=(5, INF)),  # type: ignore[arg-type]
        lambda: lots.lot_estimate(test=(5.5, 10)),  # type: ignore[arg-type]
        lambda: lots.lot_estimate(test=(5,)),  # type: ignore[arg-type]
        lambda: lots.lot_estimate(test=(5, 10), level=NAN),
        lambda: lots.lot_estimate(test=(5, 10), minimum_percent=NAN),
        lambda: sowing.seeds_needed(NAN, 0.8),  # type: ignore[arg-type]
        lambda: sowing.seeds_needed(INF, 0.8),  # type: ignore[arg-type]
        lambda: sowing.seeds_needed(10, (NAN, 10)),  # type: ignore[arg-type]
        lambda: sowing.seeds_needed(10, (5, INF)),  # type: ignore[arg-type]
        lambda: sowing.seeds_needed(10, (5,)),  # type: ignore[arg-type]
        lambda: sowing.seeds_needed_each([10, NAN], 5, 10),
        lambda: sowing.seeds_needed_each([10.7], [5.5], 10),
        lambda: sowing.cells_filled(0.8, NAN),  # type: ignore[arg-type]
    ],
)  # fmt: skip
def test_is_refused(call: Callable[[], object]) -> None:
    with pytest.raises(InputError):
        call()


def test_unknown_stays_unknown() -> None:
    """NaN in, NaN out: an unknown base or thermal time is not "never"."""
    for base, time, highest in ((NAN, 100, INF), (5, NAN, INF), (5, 100, NAN)):
        assert np.isnan(emergence.thermal_days([1, 10], base, time, highest)).all()
    assert np.isnan(emergence.thermal_days(INF, 5, 100))
    assert emergence.practical_minimum(TABLE, [], []) is None
    assert emergence.give_up_day(INF, prescribed_day=14) == 21  # the count, and a week


@pytest.mark.parametrize(
    "index",
    [
        pd.date_range("2020-07-24", "2024-07-23", tz="Australia/Hobart"),
        pd.period_range("2020-07-24", "2024-07-23", freq="D"),
        [f"{day:%Y-%m-%d}" for day in MINIMA.index],
        [day.date() for day in MINIMA.index],
        MINIMA.index + pd.Timedelta(hours=7),
    ],
    ids=["zoned", "periods", "texts", "dates", "morning"],
)
def test_dates_of_every_make_are_the_same_days(index: Any) -> None:
    pd.testing.assert_series_equal(
        by_date(pd.Series(5.0, index=index), "minima"), MINIMA, check_freq=False, check_index_type=False
    )


@pytest.mark.parametrize(
    ("series", "message"),
    [
        (pd.Series([1.0, 2.0]), "minima are indexed by date, not by number"),
        (pd.Series([1.0, 2.0], index=["a", "b"]), "minima are numbers indexed by date"),
        (pd.Series(["a", "b"], index=MINIMA.index[:2]), "minima are numbers indexed by date"),
        (pd.Series([1.0, 2.0], index=pd.DatetimeIndex(["2020-01-01", pd.NaT])), "a row without a date"),
        (pd.Series([1.0, INF], index=MINIMA.index[:2]), "an infinite value"),
        (pd.Series([1.0, 2.0], index=MINIMA.index[[0, 0]]), "2020-07-24; keep one row a day"),
        ([1.0, 2.0], "a Series indexed by date"),
    ],
)
def test_what_is_no_record_by_date(series: Any, message: str) -> None:
    with pytest.raises(InputError, match=message):
        by_date(series, "minima")
