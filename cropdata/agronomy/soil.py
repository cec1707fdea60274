"""Soil warmth: a mean year from twelve monthly means, and soil from air.

From monthly means: the smooth yearly curve of twelve harmonic terms whose mean over each month is the printed one,
exactly. It is a mean year: half of the years are colder on a given day, so a date from it is said to be that of an
average year; `first_warm_date` with a stated spread gives the date of eight years in ten.

From air: the surface takes on 0.20 of the air's frost and 0.95 to 1 of its warmth, and the soil follows it with a
daily lag (Kätterer and Andrén 2009, Acta Agriculturae Scandinavica B 59:1, read from a help page that cites it;
bare arable soil in a cool climate). tests/published gives the error on an Irish record.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cropdata.errors import InputError

if TYPE_CHECKING:
    import pandas as pd

_MONTH_ENDS = np.array([0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365], float)
_YEAR = 365.0
_ORDERS = np.arange(1, 7)
EIGHT_IN_TEN = 0.8416  # standard normal quantile of 0.8


def _terms(day: ArrayLike) -> NDArray[np.float64]:
    """The twelve harmonic terms on a day of the year (0 = 1 January, 0:00).

    Of the sixth order the sine alone: its cosine turns over once in each month, so that the month's mean hardly feels it
    and rounding in the printed means would throw the curve about by degrees.
    """
    angle = 2 * np.pi * np.multiply.outer(np.asarray(day, float), _ORDERS) / _YEAR
    ones = np.ones((*np.shape(day), 1))
    return np.concatenate([ones, np.cos(angle[..., :5]), np.sin(angle)], axis=-1)


def _month_means() -> NDArray[np.float64]:
    """Mean of each term over each month, from its integral."""
    left, right = _MONTH_ENDS[:-1, None], _MONTH_ENDS[1:, None]
    speed = 2 * np.pi * _ORDERS / _YEAR
    cosines = (np.sin(speed * right) - np.sin(speed * left)) / speed / (right - left)
    sines = (np.cos(speed * left) - np.cos(speed * right)) / speed / (right - left)
    return np.concatenate([np.ones((12, 1)), cosines[:, :5], sines], axis=1)


def daily_from_monthly(monthly_c: Sequence[float]) -> Callable[[datetime.date], float]:
    """A function from a date to the soil temperature in °C of a mean year; monthly means come back exactly.

    `monthly_c`: twelve means, January first. Raises InputError for another number or a value that is none.
    """
    try:
        values = np.asarray(monthly_c, float)
    except (TypeError, ValueError):
        values = np.empty(0)
    if values.shape != (12,) or not np.isfinite(values).all():
        raise InputError("monthly soil temperature needs twelve numbers, January first", found=monthly_c)
    weights = np.linalg.solve(_month_means(), values)

    def at(date: datetime.date) -> float:
        return float(_terms(min(date.timetuple().tm_yday, 365) - 0.5) @ weights)

    return at


def daily_from_measured(soil_c: pd.Series[Any]) -> tuple[Callable[[datetime.date], float], float | None]:
    """A mean year from measured daily soil temperatures, and their spread between years.

    Args:
        soil_c: measured temperatures in °C, indexed by date; gaps allowed.

    Returns a function from a date to the mean of that day and its neighbours (a week), and the standard deviation
    between years for `first_warm_date` (None with fewer than three years). Raises InputError for a Series that is not
    of numbers by date, or where more than two weeks of the year were never measured.
    """
    import pandas as pd

    from cropdata.agronomy.dated import by_date

    known = by_date(soil_c, "soil temperatures").dropna()
    index = pd.DatetimeIndex(known.index)
    frame = pd.DataFrame({"day": np.minimum(index.day_of_year, 365), "year": index.year, "soil": known.to_numpy(float)})
    by_day = frame.groupby("day")["soil"].mean().reindex(range(1, 366))
    wide = pd.concat([by_day.iloc[-15:], by_day, by_day.iloc[:15]])
    smooth = wide.rolling(7, center=True, min_periods=1).mean().interpolate(limit=14).iloc[15:-15].to_numpy()
    if np.isnan(smooth).any():
        raise InputError(
            "parts of the year were never measured",
            found=f"{int(np.isnan(smooth).sum())} days",
            allowed="gaps up to two weeks",
        )
    away = frame["soil"] - smooth[frame["day"].to_numpy() - 1]
    spread = float(away.std()) if frame["year"].nunique() >= 3 else None

    def at(date: datetime.date) -> float:
        return float(smooth[min(date.timetuple().tm_yday, 365) - 1])

    return at, spread


def series(at: Callable[[datetime.date], float], start: datetime.date, days: int) -> NDArray[np.float64]:
    """Daily temperatures from `start` on, shape (days,)."""
    return np.array([at(start + datetime.timedelta(days=number)) for number in range(days)])


def first_warm_date(
    at: Callable[[datetime.date], float],
    minimum_c: float,
    start: datetime.date,
    *,
    hold_days: int = 7,
    search_days: int = 365,
    spread_c: float | None = None,
) -> datetime.date | None:
    """First day from `start` on which the soil is at `minimum_c` or above and stays so for `hold_days`; else None.

    In an average year; with `spread_c`, the standard deviation between years of a day's temperature, the date by
    which it holds in eight years of ten. Raises InputError for a temperature or spread that is none, or days to hold or
    to search below 1.
    """
    if not np.isfinite(minimum_c) or not (spread_c is None or 0 <= spread_c < np.inf):
        raise InputError("a temperature and its spread are numbers, the spread 0 or more", found=(minimum_c, spread_c))
    if hold_days < 1 or search_days < 1:
        raise InputError("days to hold and to search are 1 or more", found=(hold_days, search_days))
    needed = minimum_c + (EIGHT_IN_TEN * spread_c if spread_c is not None else 0.0)
    warm = series(at, start, search_days + hold_days) >= needed
    held = np.convolve(warm.astype(int), np.ones(hold_days, dtype=int), mode="valid") == hold_days
    return start + datetime.timedelta(days=int(held.argmax())) if held.any() else None


def soil_from_air(
    air_mean_c: ArrayLike, *, depth_mm: float = 100.0, leaf_area: float = 0.0, start_c: float | None = None
) -> NDArray[np.float64]:
    """Estimated daily soil temperature in °C at a depth, from daily mean air temperature; marked as an estimate.

    Args:
        air_mean_c: daily means, the last axis is time; no gaps.
        depth_mm: depth in the soil.
        leaf_area: green area index of what grows there, 0 for bare soil.
        start_c: soil temperature on the first day; the first surface temperature when None (the first two weeks
            then depend on it).

    Raises InputError for a gap, no days at all, or a depth or leaf area below 0.
    """
    air = np.asarray(air_mean_c, float)
    if air.ndim == 0 or air.shape[-1] == 0:
        raise InputError("a series of daily air temperatures is needed", found=air.tolist())
    if not np.isfinite(air).all() or (start_c is not None and not np.isfinite(start_c)):
        raise InputError("the air temperatures have a gap", found="NaN")
    if not (0 <= depth_mm < np.inf and 0 <= leaf_area < np.inf):
        raise InputError("depth and leaf area are 0 or more", found=(depth_mm, leaf_area))
    warm = 0.95 + 0.05 * np.exp(-0.4 * (0.8 * leaf_area - 3))
    surface = np.where(air < 0, 0.20 * air, air * warm)
    follow = 0.24 * np.exp(-0.017 * depth_mm / 20) * np.exp(-0.15 * leaf_area)
    soil = np.empty_like(surface)
    soil[..., 0] = surface[..., 0] if start_c is None else start_c
    for day in range(1, air.shape[-1]):
        soil[..., day] = soil[..., day - 1] + (surface[..., day - 1] - soil[..., day - 1]) * follow
    return soil
