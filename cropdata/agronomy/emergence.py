"""Days from sowing to emergence at a soil temperature.

Method: emergence proceeds at a rate (1/days) that is close to a straight line in temperature between base and
optimum; this is the thermal-time model (Garcia-Huidobro, Monteith and Squire 1982, J. Exp. Bot. 33:288, from
memory). A printed table of days by temperature is therefore interpolated on the *rate*, linearly between
neighbouring points. `tools/curve_choice.py` leaves out one printed temperature at a time and compares this with
interpolating the days and with a shape-preserving cubic; its table stands in DEVELOPERS.md.

Validity: inside the tested span only. Next to a temperature at which nothing came up the answer is a bound.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cropdata.errors import InputError

Floats = NDArray[np.float64]


class EmergenceTable(NamedTuple):
    """A printed table: temperatures in °C, ascending, and days there; `inf` where nothing came up."""

    temperature_c: Floats
    days: Floats


def emergence_table(temperature_c: ArrayLike, days: ArrayLike) -> EmergenceTable:
    """Make a table from printed points in any order.

    Args:
        temperature_c: soil temperatures, shape (n,).
        days: days to emergence, shape (n,); `inf` where the source prints that nothing came up.

    Raises InputError for fewer than two points, a repeated temperature, or days that are not above zero.
    """
    temps, values = np.asarray(temperature_c, float), np.asarray(days, float)
    if temps.ndim != 1 or temps.shape != values.shape or temps.size < 2:
        raise InputError(
            "a table needs two or more temperatures with as many days",
            found=f"{temps.size} and {values.size}",
        )
    if not np.isfinite(temps).all() or np.isnan(values).any() or (values <= 0).any():
        raise InputError(
            "temperatures must be finite and days above zero",
            allowed="days > 0, or inf where nothing came up",
        )
    order = np.argsort(temps, kind="stable")
    temps, values = temps[order], values[order]
    if (np.diff(temps) == 0).any():
        raise InputError("a temperature stands twice in the table")
    return EmergenceTable(temps, values)


def days_at(temperature_c: ArrayLike, table: EmergenceTable) -> Floats:
    """Days to emergence at each temperature; NaN outside the tested span and next to a point without emergence.

    At a printed temperature the printed figure comes back, `inf` where the print says that nothing came up.
    Shape: that of `temperature_c`.
    """
    asked = np.asarray(temperature_c, float)
    temps, rates = table.temperature_c, 1.0 / table.days
    rate = np.interp(asked, temps, rates, left=np.nan, right=np.nan)
    right = np.clip(np.searchsorted(temps, asked, side="left"), 1, temps.size - 1)
    beside_none = (rates[right - 1] == 0) | (rates[right] == 0)
    nearest = np.clip(np.searchsorted(temps, asked), 0, temps.size - 1)
    printed = temps[nearest] == asked
    with np.errstate(divide="ignore"):
        days = np.where(beside_none & ~printed, np.nan, 1.0 / rate)
    return np.where(printed, table.days[nearest], days)


def bound_at(temperature_c: ArrayLike, table: EmergenceTable) -> Floats:
    """The least days possible next to a point without emergence: the neighbour's days. NaN elsewhere."""
    asked = np.asarray(temperature_c, float)
    temps, days = table.temperature_c, table.days
    right = np.clip(np.searchsorted(temps, asked, side="left"), 1, temps.size - 1)
    left_days, right_days = days[right - 1], days[right]
    inside = (asked > temps[0]) & (asked < temps[-1]) & ~np.isin(asked, temps)
    one_none = np.isinf(left_days) ^ np.isinf(right_days)
    return np.where(inside & one_none, np.fmin(left_days, right_days), np.nan)


def outside_at(temperature_c: ArrayLike, table: EmergenceTable) -> NDArray[np.bool_]:
    """True where the temperature lies outside the span that was tested."""
    asked = np.asarray(temperature_c, float)
    outside: NDArray[np.bool_] = ~((asked >= table.temperature_c[0]) & (asked <= table.temperature_c[-1]))
    return outside


def percent_at(temperature_c: ArrayLike, tested_c: ArrayLike, percent: ArrayLike) -> Floats:
    """Normal seedlings in percent at each temperature, straight between tested points, NaN outside them.

    `tested_c` ascending, `percent` of the same length with NaN where the point was not tested: nothing is
    answered beside such a point.
    """
    result: Floats = np.interp(
        np.asarray(temperature_c, float),
        np.asarray(tested_c, float),
        np.asarray(percent, float),
        left=np.nan,
        right=np.nan,
    )
    return result


def accumulate(daily_temp_c: ArrayLike, rate: Callable[[Floats], ArrayLike] | ArrayLike) -> NDArray[np.intp]:
    """The day on which emergence is reached under changing temperature: daily rates are summed until they make 1.

    Args:
        daily_temp_c: temperatures, the last axis is time.
        rate: a callable from °C to 1/day, or an array of rates of the same shape.

    Returns the 0-based index of the first day on which the sum reaches 1 (to 1e-9), -1 where it never does;
    shape without the last axis. Raises InputError for a gap (NaN) or a negative rate.
    """
    temps = np.asarray(daily_temp_c, float)
    if temps.ndim == 0:
        raise InputError("a series of temperatures is needed", found=daily_temp_c)
    if np.isnan(temps).any():
        raise InputError("the temperatures have a gap", found="NaN", hint="fill it or cut the series there")
    rates = np.asarray(rate(temps) if callable(rate) else rate, float)
    rates = np.broadcast_to(rates, temps.shape)
    if np.isnan(rates).any() or (rates < 0).any():
        raise InputError("a daily rate is missing or negative", allowed="rates of 0 or more for each temperature")
    reached = np.cumsum(rates, axis=-1) >= 1 - 1e-9
    if temps.shape[-1] == 0:
        return np.full(temps.shape[:-1], -1, dtype=np.intp)
    return np.where(reached.any(axis=-1), reached.argmax(axis=-1), -1)
