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


_BESIDE_NONE = -1.0


def _rate_line(table: EmergenceTable) -> tuple[Floats, Floats]:
    """Points of the rate's line, so that one interpolation answers everything.

    In a stretch beside a temperature without emergence the rate is set to a mark below zero, right up to the
    neighbouring floats of its ends: the printed ends keep their rates, nothing between them is answered.
    """
    temps, rates = [float(table.temperature_c[0])], [1.0 / float(table.days[0])]
    for temp, days in zip(table.temperature_c[1:], table.days[1:], strict=True):
        rate = 1.0 / float(days)
        if rate == 0 or rates[-1] == 0:
            temps += [np.nextafter(temps[-1], np.inf), np.nextafter(float(temp), -np.inf)]
            rates += [_BESIDE_NONE, _BESIDE_NONE]
        temps.append(float(temp))
        rates.append(rate)
    return np.array(temps), np.array(rates)


def days_at(temperature_c: ArrayLike, table: EmergenceTable) -> Floats:
    """Days to emergence at each temperature; NaN outside the tested span and beside a point without emergence.

    At a printed temperature the printed figure comes back, `inf` where the print says that nothing came up.
    Shape: that of `temperature_c`; NaN in gives NaN out.
    """
    rate = np.interp(np.asarray(temperature_c, float), *_rate_line(table), left=np.nan, right=np.nan)
    with np.errstate(divide="ignore", invalid="ignore"):
        days = np.round(1.0 / np.asarray(rate), 10)  # 1/(1/49) is not 49 to the last digit
        answered: Floats = np.where(rate < 0, np.nan, days)
    return answered


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
    answered beside such a point. Raises InputError for points out of order or of another number.
    """
    asked, tested, values = (np.asarray(given, float) for given in (temperature_c, tested_c, percent))
    if tested.ndim != 1 or tested.shape != values.shape or not (np.diff(tested) > 0).all():
        raise InputError("tested temperatures rise, with one percentage each", found=tested.tolist())
    if tested.size == 0:
        return np.full(asked.shape, np.nan)
    result: Floats = np.interp(asked, tested, values, left=np.nan, right=np.nan)
    return result


def rate_at(temperature_c: ArrayLike, table: EmergenceTable) -> tuple[Floats, Floats]:
    """Daily rate of emergence for summation, as a lower and an upper figure.

    The two are equal but beside a temperature without emergence: there the rate lies between nothing and the
    straight line to zero. Colder than a coldest printed "none" the rate is 0; outside the tested span otherwise
    it is NaN.
    """
    asked = np.asarray(temperature_c, float)
    temps, rates = table.temperature_c, 1.0 / table.days
    left = 0.0 if rates[0] == 0 else np.nan
    right = 0.0 if rates[-1] == 0 else np.nan
    upper = np.interp(asked, temps, rates, left=left, right=right)
    lower = np.where(np.isnan(bound_at(asked, table)), upper, 0.0)
    return lower, np.where(np.isnan(asked), np.nan, upper)


def day_and_night(night_c: ArrayLike, day_c: ArrayLike, *, shape: str = "sine", day_hours: float = 12.0) -> Floats:
    """Hourly temperatures of a day between a night and a day temperature; a new last axis of 24 hours.

    Args:
        night_c, day_c: lowest and highest temperature, broadcast against each other.
        shape: "sine", a smooth swing between the two; "square", `day_hours` at the one and the rest at the other
            (a mat that is switched).
        day_hours: hours of warmth for "square".

    Raises InputError for another shape, hours outside 0 to 24, or a night warmer than the day.
    """
    night, day = np.broadcast_arrays(np.asarray(night_c, float), np.asarray(day_c, float))
    if (night > day).any():
        raise InputError("the night is warmer than the day", hint="swap the two")
    if shape == "sine":
        share = 0.5 - 0.5 * np.cos(2 * np.pi * (np.arange(24) + 0.5) / 24)
    elif shape == "square":
        if not 0 <= day_hours <= 24:
            raise InputError("hours of warmth lie between 0 and 24", found=day_hours)
        share = np.clip(day_hours - np.arange(24), 0, 1)
    else:
        raise InputError("unknown shape of the day", found=shape, allowed="sine or square")
    swing: Floats = night[..., None] + (day - night)[..., None] * share
    return swing


def days_under(hourly_temp_c: ArrayLike, table: EmergenceTable) -> tuple[Floats, Floats]:
    """Days to emergence when the same day repeats: hourly rates are summed. Fewest and most days.

    Args:
        hourly_temp_c: the last axis is the hours (or any equal steps) of one day.

    The two differ where some hours lie beside a temperature without emergence; `inf` where nothing comes of it,
    NaN where an hour lies outside what was tested. Raises InputError where there are no hours.
    """
    hours = np.asarray(hourly_temp_c, float)
    if hours.ndim == 0 or hours.shape[-1] == 0:
        raise InputError("a day of temperatures is needed", found=hours.tolist(), hint="see day_and_night")
    lower, upper = rate_at(hours, table)
    with np.errstate(divide="ignore"):
        return 1.0 / upper.mean(axis=-1), 1.0 / lower.mean(axis=-1)


def thermal_days(
    temperature_c: ArrayLike, base_c: ArrayLike, thermal_time: ArrayLike, highest_c: ArrayLike = np.inf
) -> Floats:
    """Days from a thermal time: `thermal_time / (temperature - base)`.

    Valid from the base (there and below: `inf`) to `highest_c`, the optimum or the top of the tested range;
    above it NaN, and NaN out for NaN in. Thermal time in degree-days C, above 0. Which event it is for (germination,
    emergence) is the caller's. Raises InputError for a thermal time that is not above 0.
    """
    temp, base, time, highest = (np.asarray(given, float) for given in (temperature_c, base_c, thermal_time, highest_c))
    if (time <= 0).any():
        raise InputError("a thermal time lies above 0 degree-days", found=time.tolist())
    known = np.isfinite(temp) & np.isfinite(base) & ~np.isnan(time) & (temp <= highest)
    above = temp - base
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(known, np.where(above > 0, time / above, np.inf), np.nan)


def practical_minimum(table: EmergenceTable, tested_c: ArrayLike, percent: ArrayLike) -> float | None:
    """Lowest printed temperature that is practical: at least 80 % of the best percentage of normal seedlings, and
    within twice the best days (the project's decision; both parts from the printed tables). None where no printed
    temperature meets both.
    """
    finite = np.isfinite(table.days)
    if not finite.any():
        return None
    share = percent_at(table.temperature_c, tested_c, percent)
    best = np.nanmax(np.asarray(percent, float)) if np.isfinite(np.asarray(percent, float)).any() else np.nan
    good = finite & (table.days <= 2 * table.days[finite].min()) & (share >= 0.8 * best)
    return float(table.temperature_c[good][0]) if good.any() else None


def give_up_day(
    last_day: float, *, prescribed_day: float | None = None, pretreatment_days: float = 0.0, quiet_days: float = 7.0
) -> int:
    """Day after sowing at which a sowing without a seedling has failed.

    The latest of the slow end of what is expected (`last_day`, at the cool end) and the prescribed final count
    with its chilling and soaking, and then `quiet_days` without a new seedling. A `last_day` that is not known (NaN,
    inf) is left out where a count is prescribed; InputError where it is not: a wait is not guessed.
    """
    if not all(np.isfinite(value) and value >= 0 for value in (prescribed_day or 0.0, pretreatment_days, quiet_days)):
        raise InputError("days to wait are 0 or more", found=(prescribed_day, pretreatment_days, quiet_days))
    if last_day < 0 or (not np.isfinite(last_day) and prescribed_day is None):
        raise InputError("neither the last day nor a prescribed final count is known", found=last_day)
    ends = [value for value in (last_day, (prescribed_day or 0.0) + pretreatment_days) if np.isfinite(value)]
    return int(np.ceil(max(ends) + quiet_days))


def accumulate(daily_temp_c: ArrayLike, rate: Callable[[Floats], ArrayLike] | ArrayLike) -> NDArray[np.intp]:
    """The day on which emergence is reached under changing temperature: daily rates are summed until they make 1.

    Args:
        daily_temp_c: temperatures, the last axis is time.
        rate: a callable from °C to 1/day, or an array of rates of the same shape.

    Returns the 0-based index of the first day on which the sum reaches 1 (to 1e-9), -1 where it never does;
    shape without the last axis. Raises InputError for a gap (NaN, inf), a negative rate, or rates of another shape.
    """
    temps = np.asarray(daily_temp_c, float)
    if temps.ndim == 0:
        raise InputError("a series of temperatures is needed", found=daily_temp_c)
    if not np.isfinite(temps).all():
        raise InputError("the temperatures have a gap", found="NaN", hint="fill it or cut the series there")
    rates = np.asarray(rate(temps) if callable(rate) else rate, float)
    try:
        rates = np.broadcast_to(rates, temps.shape)
    except ValueError:
        raise InputError("one rate for each temperature is needed", found=(rates.shape, temps.shape)) from None
    if np.isnan(rates).any() or (rates < 0).any():
        raise InputError("a daily rate is missing or negative", allowed="rates of 0 or more for each temperature")
    reached = np.cumsum(rates, axis=-1) >= 1 - 1e-9
    if temps.shape[-1] == 0:
        return np.full(temps.shape[:-1], -1, dtype=np.intp)
    return np.where(reached.any(axis=-1), reached.argmax(axis=-1), -1)
