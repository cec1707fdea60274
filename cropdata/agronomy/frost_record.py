"""Frost dates from a record of daily minima.

A frost is a minimum at or below the threshold. The year is split in high summer: 24 July in the north, 24 January
in the south (Utah Climate Center, freeze dates, help page); the last frost is sought backwards from the end of the
cold season, the first one forwards from its start. A season in which more than ten days are missing before the
frost is reached is left out (same source). Years without a frost stay in, as years without a date.
"""

from __future__ import annotations

import datetime
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from cropdata.agronomy.frost import Date, FrostCurve
from cropdata.errors import InputError

NORTH, SOUTH = "07-24", "01-24"
MOST_MISSING = 10
SHORT_RECORD = 20


def _clean(daily_minimum_c: pd.Series[Any]) -> pd.Series[Any]:
    if not isinstance(daily_minimum_c, pd.Series):
        raise InputError("daily minima are a Series indexed by date", found=type(daily_minimum_c).__name__)
    series = pd.Series(np.asarray(daily_minimum_c, float), index=pd.DatetimeIndex(daily_minimum_c.index).normalize())
    if series.index.has_duplicates:
        twice = series.index[series.index.duplicated()][0]
        raise InputError("a day stands twice in the record", found=f"{twice:%Y-%m-%d}", hint="keep one row a day")
    if series.empty:
        raise InputError("the record is empty")
    series = series.sort_index()
    return series.reindex(pd.date_range(series.index[0], series.index[-1], freq="D"))


def _start(series: pd.Series[Any], season_start: str | None) -> tuple[int, int]:
    if season_start is None:
        # The colder of January and July tells the hemisphere.
        by_month = series.groupby(series.index.month).mean()  # type: ignore[attr-defined]
        january, july = by_month.get(1, np.nan), by_month.get(7, np.nan)
        season_start = SOUTH if january > july else NORTH
    try:
        date = datetime.date.fromisoformat(f"2001-{season_start}")
    except ValueError:
        raise InputError(
            "season_start is no date", found=season_start, allowed="MM-DD, such as 07-24 north, 01-24 south"
        ) from None
    return date.month, date.day


def _seasons(series: pd.Series[Any], month: int, day: int) -> list[tuple[pd.Timestamp, pd.Series[Any]]]:
    first, last = series.index[0], series.index[-1]
    starts = [pd.Timestamp(year, month, day) for year in range(first.year - 1, last.year + 1)]
    found = []
    for start in starts:
        end = pd.Timestamp(start.year + 1, month, day) - pd.Timedelta(days=1)
        if end >= first and start <= last:
            found.append((start, series.reindex(pd.date_range(start, end, freq="D"))))
    return found


def _dates(daily_minimum_c: pd.Series[Any], threshold_c: float, season_start: str | None, last: bool) -> pd.Series[Any]:
    series = _clean(daily_minimum_c)
    month, day = _start(series, season_start)
    labels, dates = [], []
    for start, minima in _seasons(series, month, day):
        values = minima.to_numpy()
        order = values[::-1] if last else values
        frost = order <= threshold_c
        reached = int(frost.argmax()) if frost.any() else len(order)
        if np.isnan(order[:reached]).sum() > MOST_MISSING:
            continue
        labels.append((start + pd.Timedelta(days=270 if last else 90)).year)
        at = len(values) - 1 - reached if last else reached
        dates.append(minima.index[at] if frost.any() else pd.NaT)
    return pd.Series(
        pd.DatetimeIndex(dates),
        index=pd.Index(labels, name="year", dtype="int64"),
        name="last_frost" if last else "first_frost",
    )


def last_frost(
    daily_minimum_c: pd.Series[Any], threshold_c: float = 0.0, *, season_start: str | None = None
) -> pd.Series[Any]:
    """Date of the last frost of each cold season.

    Args:
        daily_minimum_c: daily minima in °C, indexed by date; gaps allowed.
        threshold_c: a frost is a minimum at or below it.
        season_start: "MM-DD" in high summer at which the frost year begins; told from the record when None.

    Returns a Series of dates by year (that of the spring), NaT in a year without frost; seasons with more than ten
    days missing before the frost is reached are left out. Raises InputError for a day that stands twice.
    """
    return _dates(daily_minimum_c, threshold_c, season_start, last=True)


def first_frost(
    daily_minimum_c: pd.Series[Any], threshold_c: float = 0.0, *, season_start: str | None = None
) -> pd.Series[Any]:
    """Date of the first frost of each cold season, by the year of the autumn; see `last_frost`."""
    return _dates(daily_minimum_c, threshold_c, season_start, last=False)


def frost_free_days(
    daily_minimum_c: pd.Series[Any], threshold_c: float = 0.0, *, season_start: str | None = None
) -> pd.Series[Any]:
    """Days between the last frost of spring and the first of the following autumn, both left out, by year.

    NaN where either is missing in the record or there was none.
    """
    last = last_frost(daily_minimum_c, threshold_c, season_start=season_start)
    first = first_frost(daily_minimum_c, threshold_c, season_start=season_start)
    last, first = last.align(first, join="inner")
    return ((first - last).dt.days - 1).rename("frost_free_days")


def from_record(
    daily_minimum_c: pd.Series[Any],
    threshold_c: float = 0.0,
    *,
    season: str = "spring",
    season_start: str | None = None,
) -> FrostCurve:
    """A normal curve fitted to the frost dates of a record, with its share of years without frost.

    The curve's `warnings` tell when the record is short or seasons were left out. Raises InputError when fewer
    than three years had a frost: no curve can be drawn through them.
    """
    if season not in ("spring", "autumn"):
        raise InputError("unknown season", found=season, allowed="spring or autumn")
    dates = (last_frost if season == "spring" else first_frost)(daily_minimum_c, threshold_c, season_start=season_start)
    known = dates.dropna()
    if len(known) < 3:
        raise InputError(
            "fewer than three years with a frost in the record",
            found=len(known),
            hint="use published dates, or a milder threshold",
        )
    starts = pd.to_datetime({"year": known.index, "month": 1, "day": 1}).to_numpy()
    days = ((known.to_numpy() - starts) / np.timedelta64(1, "D")).astype(float)
    warnings = []
    if len(dates) < SHORT_RECORD:
        warnings.append(f"only {len(dates)} years of record: read the interval, not the date")
    span = int(dates.index[-1] - dates.index[0]) + 1
    if span > len(dates):
        warnings.append(
            f"{span - len(dates)} of {span} seasons left out: more than {MOST_MISSING} days missing in the critical weeks"
        )
    share = len(known) / len(dates)
    return FrostCurve(
        season,
        float(threshold_c),
        float(days.mean()),
        float(max(days.std(ddof=1), 0.5)),
        share,
        tuple(days.tolist()),
        tuple(warnings),
    )


def damage_risk(
    daily_minimum_c: pd.Series[Any], date: Date, damage_c: tuple[float, float], *, plant_minus_screen_c: float = 0.0,
    season_start: str | None = None,
) -> tuple[float, float]:  # fmt: skip
    """Share of years in which a crop's own damage temperature came after a date: bold end, cautious end.

    Args:
        daily_minimum_c: daily minima in a screen.
        date: day of planting out, "MM-DD" or a date.
        damage_c: lowest and highest temperature at which sources report damage.
        plant_minus_screen_c: how much colder the plant is than the screen on a clear night (negative, commonly
            -2 to -4: common practice, no source).

    Both are shares of the years in the record, (k + 1/2) / (n + 1), so that no year of ten is not read as never.
    """
    shares = []
    for damage in sorted(damage_c):
        dates = last_frost(daily_minimum_c, damage - plant_minus_screen_c, season_start=season_start)
        text = f"{date:%m-%d}" if isinstance(date, datetime.date) else str(date)[-5:]
        after = sum(
            frost is not pd.NaT and f"{frost:%m-%d}" > text and frost.year == year for year, frost in dates.items()
        )
        shares.append((after + 0.5) / (len(dates) + 1))
    return shares[0], shares[1]


def last_day(daily_minimum_c: ArrayLike, threshold_c: float = 0.0) -> NDArray[np.float64]:
    """Position of the last value at or below the threshold along the last axis; NaN where there is none.

    For many stations and years at once: shape (…, days) gives shape (…). NaN values are never a frost.
    """
    frost = np.asarray(daily_minimum_c) <= threshold_c
    position = frost.shape[-1] - 1 - frost[..., ::-1].argmax(axis=-1)
    return np.where(frost.any(axis=-1), position, np.nan)


def first_day(daily_minimum_c: ArrayLike, threshold_c: float = 0.0) -> NDArray[np.float64]:
    """Position of the first value at or below the threshold along the last axis; NaN where there is none."""
    frost = np.asarray(daily_minimum_c) <= threshold_c
    return np.where(frost.any(axis=-1), frost.argmax(axis=-1), np.nan)


def day_quantiles(days: ArrayLike, chances: ArrayLike) -> NDArray[np.float64]:
    """Positions at chances along the last axis, years without a frost (NaN) left out; shape (chances, …).

    Straight between the ordered years, as numpy's default quantile; NaN where every year is. One sort for all.
    """
    ordered = np.sort(np.asarray(days, float), axis=-1)  # NaN goes to the end
    known = np.isfinite(ordered).sum(axis=-1)
    found = []
    for chance in np.atleast_1d(np.asarray(chances, float)):
        place = np.maximum(known - 1, 0) * chance
        below = np.floor(place).astype(np.intp)
        above = np.minimum(below + 1, np.maximum(known - 1, 0))
        low, high = (np.take_along_axis(ordered, index[..., None], axis=-1)[..., 0] for index in (below, above))
        found.append(low + (high - low) * (place - below))
    return np.stack(found)
