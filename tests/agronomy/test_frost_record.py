"""Frost from records made up for the purpose."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropdata.agronomy import frost
from cropdata.agronomy.frost_record import day_quantiles, first_day, last_day
from cropdata.errors import InputError


def record(frosts: list[str], start: str, end: str, mild: float = 5.0) -> pd.Series[Any]:
    series = pd.Series(mild, index=pd.date_range(start, end))
    series.loc[pd.to_datetime(frosts)] = -1.0
    return series


NORTH = record(
    ["2020-12-30", "2021-03-02", "2021-04-20", "2021-10-11", "2022-05-03", "2022-11-01"], "2020-07-24", "2023-07-23"
)


def test_last_and_first_frost_by_year() -> None:
    assert list(frost.last_frost(NORTH, season_start="07-24").dropna().astype(str)) == [
        "2021-04-20",
        "2022-05-03",
        "2022-11-01",
    ]
    assert frost.last_frost(NORTH, season_start="07-24").loc[2021] == pd.Timestamp("2021-04-20")
    assert frost.first_frost(NORTH, season_start="07-24").loc[2021] == pd.Timestamp("2021-10-11")
    assert (
        frost.frost_free_days(NORTH, season_start="07-24").loc[2021]
        == (pd.Timestamp("2021-10-11") - pd.Timestamp("2021-04-20")).days - 1
    )


def test_exactly_at_the_threshold_is_a_frost() -> None:
    series = record([], "2021-01-01", "2021-12-31")
    series.loc["2021-04-01"] = 0.0
    assert frost.last_frost(series, season_start="07-24").loc[2021] == pd.Timestamp("2021-04-01")


def test_other_thresholds() -> None:
    series = record([], "2020-07-24", "2021-07-23")
    series.loc["2021-04-01"], series.loc["2021-05-01"] = -3.0, -1.0
    assert frost.last_frost(series, -2.2, season_start="07-24").loc[2021] == pd.Timestamp("2021-04-01")


def test_a_year_without_frost_stays_in_as_a_year_without_a_date() -> None:
    dates = frost.last_frost(record(["2021-03-01"], "2020-07-24", "2022-07-23"), season_start="07-24")
    assert dates.loc[2021] == pd.Timestamp("2021-03-01") and pd.isna(dates.loc[2022])


def test_the_southern_hemisphere_is_told_from_the_record() -> None:
    days = pd.date_range("2020-01-24", "2023-01-23")
    warmth = 10 + 9 * np.cos(2 * np.pi * (days.day_of_year - 15) / 365)  # warm in January
    series = pd.Series(warmth.to_numpy(), index=days)
    last, first = frost.last_frost(series, 2.0), frost.first_frost(series, 2.0)
    assert set(last.dropna().dt.month) <= {8, 9} and set(first.dropna().dt.month) <= {5, 6}
    assert list(last.index) == [2020, 2021, 2022]


def test_gaps_in_the_critical_weeks_leave_a_season_out() -> None:
    series = record(["2021-03-01", "2022-03-05"], "2020-07-24", "2022-07-23")
    series.loc["2021-04-01":"2021-04-20"] = np.nan  # type: ignore[misc]
    assert list(frost.last_frost(series, season_start="07-24").index) == [2022]
    series = record(["2021-03-01"], "2020-07-24", "2021-07-23")
    series.loc["2020-09-01":"2020-12-01"] = np.nan  # type: ignore[misc]
    assert frost.last_frost(series, season_start="07-24").loc[2021] == pd.Timestamp(
        "2021-03-01"
    )  # gap before the frost: no matter


def test_a_mixed_distribution_for_years_without_frost() -> None:
    frosts = [f"{year}-03-{day:02d}" for year, day in zip(range(2001, 2021, 2), range(1, 21, 2), strict=True)]
    curve = frost.from_record(record(frosts, "2000-07-24", "2020-07-23"), season="spring", season_start="07-24")
    assert curve.share_with_frost == pytest.approx(0.5)
    assert curve.date_at(0.6) is None and curve.date_at(0.25) == "03-10"
    assert curve.chance_after("03-10") == pytest.approx(0.25, abs=0.02)
    assert curve.chance_after("02-01") <= 0.5


def test_a_record_that_holds_too_little_is_refused() -> None:
    with pytest.raises(InputError, match="fewer than three years"):
        frost.from_record(record(["2021-03-01"], "2020-07-24", "2021-07-23"))
    twice = pd.Series([1.0, 2.0], index=pd.to_datetime(["2021-01-01", "2021-01-01"]))
    with pytest.raises(InputError, match="stands twice"):
        frost.last_frost(twice)
    with pytest.raises(InputError, match="a Series indexed by date"):
        frost.last_frost([1.0])
    with pytest.raises(InputError, match="is no date"):
        frost.last_frost(NORTH, season_start="July")


def test_a_mean_and_a_deviation() -> None:
    curve = frost.from_mean("05-01", 10)
    assert curve.date_at(0.5) == "05-01" and curve.date_at(0.1) == "05-14"  # 10 days x 1.2816
    assert curve.chance_after("05-14") == pytest.approx(0.1, abs=0.005)
    assert frost.from_mean("12-28", 12, season="autumn").date_at(0.9, 2026).isoformat() == "2027-01-12"  # type: ignore[union-attr]
    with pytest.raises(InputError, match="deviation"):
        frost.from_mean("05-01", 0)


def test_damage_risk_takes_the_crops_own_temperature_and_the_cold_of_the_plant() -> None:
    frosts = [f"{year}-05-10" for year in range(2001, 2011)]
    series = record(frosts, "2000-07-24", "2020-07-23")
    bold, cautious = frost.damage_risk(series, "05-01", (-2.0, 0.0), season_start="07-24")
    assert (bold, cautious) == (pytest.approx(0.5 / 21), pytest.approx(10.5 / 21))
    bold, cautious = frost.damage_risk(series, "05-01", (-2.0, 0.0), plant_minus_screen_c=-2.0, season_start="07-24")
    assert bold == cautious == pytest.approx(10.5 / 21)
    assert frost.damage_risk(series, "05-20", (-2.0, 0.0), season_start="07-24")[1] == pytest.approx(0.5 / 21)


@given(st.lists(st.floats(-5, 5), min_size=1, max_size=30))
def test_positions_for_many_stations_agree_with_plain_python(values: list[float]) -> None:
    cold = [number for number, value in enumerate(values) if value <= 0]
    last, first = last_day(np.array([values])), first_day(np.array([values]))
    assert (last[0], first[0]) == ((cold[-1], cold[0]) if cold else (pytest.approx(np.nan, nan_ok=True),) * 2)


@given(
    st.lists(
        st.lists(st.one_of(st.integers(0, 200).map(float), st.just(float("nan"))), min_size=5, max_size=5),
        min_size=1,
        max_size=6,
    )
)
def test_quantiles_of_days_are_numpys(days: list[list[float]]) -> None:
    table = np.array(days)
    ours = day_quantiles(table, [0.1, 0.5, 0.9])
    for number, row in enumerate(table):
        known = row[np.isfinite(row)]
        expected = np.quantile(known, [0.1, 0.5, 0.9]) if known.size else [np.nan] * 3
        assert ours[:, number] == pytest.approx(expected, nan_ok=True)


def test_the_record_itself_answers_beside_the_curve() -> None:
    """Five years, no curve: the middle of the ordered dates is the third."""
    frosts = ["2001-03-01", "2002-03-05", "2003-03-09", "2004-03-20", "2005-04-30"]
    curve = frost.from_record(record(frosts, "2000-07-24", "2005-07-23"), season_start="07-24")
    assert curve.date_in_record(0.5) == "03-09"
    # 2004 is a leap year, as 2008: days are counted from 1 January.
    assert curve.date_in_record(0.25, 2008).isoformat() == "2008-03-20"  # type: ignore[union-attr]
    assert frost.from_mean("05-01", 10).date_in_record(0.5) is None


def test_frost_free_days_of_the_south_run_over_new_year() -> None:
    """Last frost 20 September 2020, first of the next autumn 10 May 2021: 231 days between, counted on a calendar."""
    south = record(["2020-06-01", "2020-09-20", "2021-05-10", "2021-10-01", "2022-04-30"], "2020-01-24", "2023-01-23")
    free = frost.frost_free_days(south, season_start="01-24")
    assert free[2020] == 231 and free[2021] == 210  # 1 October 2021 to 30 April 2022


def test_a_record_of_half_the_year_tells_its_hemisphere_by_its_warmest_month() -> None:
    days = pd.date_range("2010-02-01", "2020-11-30")
    days = days[(days.month >= 2) & (days.month <= 11)]
    wave = -10 * np.cos(2 * np.pi * (days.day_of_year.to_numpy() - 20) / 365)  # coldest on 20 January
    first = frost.first_frost(pd.Series(10 + 1.2 * wave, index=days)).dropna()
    assert {date.month for date in first} <= {10, 11}
    # In the south the first frost of a cold season lies before its coldest time, in July, not at a split on 24 July.
    south = frost.first_frost(pd.Series(5 - 1.2 * wave, index=days)).dropna()
    assert south.size and {date.month for date in south} <= {4, 5, 6}


def test_a_mean_date_is_one_day_of_the_calendar_in_every_year() -> None:
    curve = frost.from_mean("04-28", 10)
    assert [str(curve.date_at(0.5, year)) for year in (2027, 2028)] == ["2027-04-28", "2028-04-28"]
    assert curve.chance_after("2028-04-28") == pytest.approx(0.5) == curve.chance_after("2027-04-28")
    dates = ["2020-05-01", "2021-05-01", "2022-05-01", "2024-05-01"]  # 2020 and 2024 are leap years
    assert set(frost.from_record(record(dates, "2019-07-24", "2024-07-23")).days) == {120.0}  # 1 May, 0 is 1 January


def test_damage_over_new_year() -> None:
    """In the south a frost of November lies before a planting in January, and one of January after one in December."""
    south = record(["2020-11-20", "2021-11-20", "2022-11-20"], "2020-01-24", "2023-01-23")
    assert frost.damage_risk(south, "01-05", (-1, 0), season_start="01-24") == (0.125, 0.125)  # (0 + 1/2) / (3 + 1)
    assert frost.damage_risk(south, "11-01", (-1, 0), season_start="01-24") == (0.875, 0.875)
    late = record(["2021-01-10", "2022-01-10", "2023-01-10"], "2020-01-24", "2023-01-23")
    assert frost.damage_risk(late, "12-20", (-1, 0), season_start="01-24") == (0.875, 0.875)


def test_chances_over_new_year_in_leap_years() -> None:
    over = frost.from_chances({0.9: "12-01", 0.5: "12-25", 0.1: "01-15"})
    for date in ("01-15", "2028-01-15", "2029-01-15"):
        assert over.chance_after(date) == pytest.approx(0.1)
