"""Frost dates from a record of daily minima.

A frost is a minimum at or below the threshold. The year is split in high summer: 24 July in the north, 24 January
in the south (Utah Climate Center, freeze dates, help page); the last frost is sought backwards from the end of the
cold season, the first one forwards from its start. A season in which more than ten days are missing before the
frost is reached is left out (same source). Years without a frost stay in, as years without a date.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from cropdata.agronomy.dated import by_date
from cropdata.agronomy.frost import Date, FrostCurve, checked_threshold, day_number, month_day, nearest_turn
from cropdata.errors import InputError

NORTH, SOUTH = "07-24", "01-24"
MOST_MISSING = 10
SHORT_RECORD = 20


def _clean(daily_minimum_c: pd.Series[Any]) -> pd.Series[Any]:
    series = by_date(daily_minimum_c, "daily minima")
    if series.empty:
        raise InputError("the record is empty")
    return series.reindex(pd.date_range(series.index[0], series.index[-1], freq="D"))


def _start(series: pd.Series[Any], season_start: str | None) -> tuple[int, int]:
    if season_start is None:
        # The colder of January and July tells the hemisphere; of a record of half the year, its warmest month.
        by_month = series.groupby(series.index.month).mean().dropna()  # type: ignore[attr-defined]
        if {1, 7} <= set(by_month.index):
            southern = by_month[1] > by_month[7]
        else:
            southern = len(by_month) > 0 and by_month.idxmax() not in range(4, 10)
        season_start = SOUTH if southern else NORTH
    month, day, _ = month_day(season_start, "season_start (07-24 north, 01-24 south)")
    return month, min(day, 28) if month == 2 else day


def _label(start: pd.Timestamp, last: bool) -> int:
    """The year of the spring, or of the autumn, of the cold season that starts there in high summer."""
    return int((start + pd.Timedelta(days=270 if last else 90)).year)


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
    threshold_c = checked_threshold(threshold_c)
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
        labels.append(_label(start, last))
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
    days missing before the frost is reached are left out. Raises InputError for a day that stands twice, a Series that
    is not of numbers by date, or a threshold that is none in °C.
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
    """Days between the last frost of spring and the first of the following autumn, both left out, by year of the spring.

    In the south that autumn is the next year's. NaN where either is missing in the record or there was none.
    """
    last = last_frost(daily_minimum_c, threshold_c, season_start=season_start)
    first = first_frost(daily_minimum_c, threshold_c, season_start=season_start)
    start = pd.Timestamp(2001, *_start(_clean(daily_minimum_c), season_start))
    first.index = first.index - (_label(start + pd.DateOffset(years=1), False) - _label(start, True))
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
    days = _numbers(known)
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

    Both are shares of the years in the record, (k + 1/2) / (n + 1), so that no year of ten is not read as never. The
    date is taken in its turn nearest to the record's frosts: before one in December comes one in January. Raises
    InputError for a date or temperature that is none, and where no season of the record is whole.
    """
    bold, cautious = (
        share_after(*season_ends(daily_minimum_c, damage - plant_minus_screen_c, season_start=season_start), date)
        for damage in sorted(damage_c)
    )
    return bold, cautious


def season_ends(
    daily_minimum_c: pd.Series[Any], threshold_c: float, *, season_start: str | None = None
) -> tuple[NDArray[np.float64], int]:
    """Days from 1 January of the last frost of each season that has one, and how many seasons are whole.

    For `share_after`, where many dates are asked at one threshold. Raises InputError where no season is whole.
    """
    dates = last_frost(daily_minimum_c, threshold_c, season_start=season_start)
    if dates.empty:
        raise InputError("no season of the record is whole enough to count", found=0)
    return _numbers(dates.dropna()), len(dates)


def share_after(ends: NDArray[np.float64], seasons: int, date: Date) -> float:
    """Share of the seasons of `season_ends` in which that frost came later than the date, (k + 1/2) / (n + 1)."""
    month, day, _ = month_day(date, "the date")
    asked = nearest_turn(day_number(month, day), float(ends.mean()) if ends.size else 0.0)
    return float(((ends > asked).sum() + 0.5) / (seasons + 1))


def _numbers(dates: pd.Series[Any]) -> NDArray[np.float64]:
    """Dates by year as days from 1 January of that year, common years all."""
    return np.array([day_number(at.month, at.day) + 365.0 * (at.year - year) for year, at in dates.items()])


def last_day(daily_minimum_c: ArrayLike, threshold_c: float = 0.0) -> NDArray[np.float64]:
    """Position of the last value at or below the threshold along the last axis; NaN where there is none.

    For many stations and years at once: shape (…, days) gives shape (…). NaN values are never a frost. Raises
    InputError for a threshold that is none in °C, or where there are no days.
    """
    frost = _frosts(daily_minimum_c, threshold_c)
    position = frost.shape[-1] - 1 - frost[..., ::-1].argmax(axis=-1)
    return np.where(frost.any(axis=-1), position, np.nan)


def first_day(daily_minimum_c: ArrayLike, threshold_c: float = 0.0) -> NDArray[np.float64]:
    """Position of the first value at or below the threshold along the last axis; NaN where there is none. As `last_day`."""
    frost = _frosts(daily_minimum_c, threshold_c)
    return np.where(frost.any(axis=-1), frost.argmax(axis=-1), np.nan)


def _frosts(daily_minimum_c: ArrayLike, threshold_c: float) -> NDArray[np.bool_]:
    minima = np.asarray(daily_minimum_c)
    if minima.ndim == 0 or minima.shape[-1] == 0:
        raise InputError("days are needed along the last axis", found=minima.shape)
    frost: NDArray[np.bool_] = minima <= checked_threshold(threshold_c)
    return frost


def day_quantiles(days: ArrayLike, chances: ArrayLike) -> NDArray[np.float64]:
    """Positions at chances along the last axis, years without a frost (NaN) left out; shape (chances, …).

    Straight between the ordered years, as numpy's default quantile; NaN where every year is. One sort for all. Raises
    InputError for a chance outside 0 to 1, or where there are no years.
    """
    asked = np.atleast_1d(np.asarray(chances, float))
    if not ((asked >= 0) & (asked <= 1)).all():
        raise InputError("chances lie between 0 and 1", found=asked.tolist())
    if np.ndim(days) == 0 or np.shape(days)[-1] == 0:
        raise InputError("years are needed along the last axis", found=np.shape(days))
    ordered = np.sort(np.asarray(days, float), axis=-1)  # NaN goes to the end
    known = np.isfinite(ordered).sum(axis=-1)
    found = []
    for chance in asked:
        place = np.maximum(known - 1, 0) * chance
        below = np.floor(place).astype(np.intp)
        above = np.minimum(below + 1, np.maximum(known - 1, 0))
        low, high = (np.take_along_axis(ordered, index[..., None], axis=-1)[..., 0] for index in (below, above))
        found.append(low + (high - low) * (place - below))
    return np.stack(found)
