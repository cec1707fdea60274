"""Soil warmth from twelve monthly means.

Daily values lie on a straight line between the middles of neighbouring months, round the year. This is a mean
year: half of the years are colder on a given day. (Straight lines shave the peaks of the yearly wave by a few
tenths of a degree.)
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from cropdata.errors import InputError

_MIDDLES = np.array([15.5, 45.0, 74.5, 105.0, 135.5, 166.0, 196.5, 227.5, 258.0, 288.5, 319.0, 349.5])


def daily_from_monthly(monthly_c: Sequence[float]) -> Callable[[datetime.date], float]:
    """A function from a date to the soil temperature in °C of a mean year.

    `monthly_c`: twelve means, January first. Raises InputError for another number or a value that is none.
    """
    values = np.asarray(monthly_c, float)
    if values.shape != (12,) or not np.isfinite(values).all():
        raise InputError("monthly soil temperature needs twelve numbers, January first", found=list(monthly_c))
    days = np.concatenate([_MIDDLES[-1:] - 365, _MIDDLES, _MIDDLES[:1] + 365])
    temps = np.concatenate([values[-1:], values, values[:1]])

    def at(date: datetime.date) -> float:
        return float(np.interp(min(date.timetuple().tm_yday, 365) - 0.5, days, temps))

    return at


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
) -> datetime.date | None:
    """First day from `start` on which the soil is at `minimum_c` or above and stays so for `hold_days`; else None."""
    warm = series(at, start, search_days + hold_days) >= minimum_c
    held = np.convolve(warm.astype(int), np.ones(hold_days, dtype=int), mode="valid") == hold_days
    return start + datetime.timedelta(days=int(held.argmax())) if held.any() else None
