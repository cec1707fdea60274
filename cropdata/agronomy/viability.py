"""Seed life in storage.

Improved viability equation (Ellis and Roberts 1980, Annals of Botany 45:13, from memory): in probits
`v = Ki - days / 10^(KE - CW log10 m - CH t - CQ t²)`, m moisture in percent of fresh weight, t in °C. It holds for
orthodox seed in constant, hermetic storage; 5 to 15 % moisture and 0 to 50 °C are enforced. A packet in a shed is
outside it. Species constants: evidence/viability_constants.csv.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cropdata.errors import InputError

Floats = NDArray[np.float64]
MOISTURE = (5.0, 15.0)
TEMPERATURE = (0.0, 50.0)
# Printed storage life means that viability falls to between these shares of its start.
LIFE_SHARES = (0.5, 0.8)


def _probit(percent: ArrayLike, what: str) -> Floats:
    from scipy.special import ndtri

    share = np.asarray(percent, float) / 100
    if ((share <= 0) | (share >= 1)).any():
        raise InputError(
            f"{what} of 0 or 100 % has no probit", found=np.asarray(percent).tolist(), allowed="above 0 and below 100",
            hint="a lot that tested 100 of 100 is better written as 99.5 %: no test shows 100",
        )  # fmt: skip
    result: Floats = ndtri(share)
    return result


def _regime(moisture_percent: ArrayLike, temp_c: ArrayLike) -> tuple[Floats, Floats]:
    moisture, temp = np.asarray(moisture_percent, float), np.asarray(temp_c, float)
    for values, (low, high), what in (
        (moisture, MOISTURE, "moisture (% of fresh weight)"),
        (temp, TEMPERATURE, "temperature (°C)"),
    ):
        if ((values < low) | (values > high)).any():
            raise InputError(
                f"the viability equation is not known to hold at this {what}", found=values.tolist(), allowed=f"{low:g} to {high:g}",
                hint="moisture is in percent of fresh weight; see fresh_weight_moisture" if "moisture" in what else None,
            )  # fmt: skip
    return moisture, temp


def sigma_days(
    ke: ArrayLike, cw: ArrayLike, ch: ArrayLike, cq: ArrayLike, moisture_percent: ArrayLike, temp_c: ArrayLike
) -> Floats:
    """Days in which viability falls by one probit; inputs broadcast, NaN in gives NaN out."""
    moisture, temp = _regime(moisture_percent, temp_c)
    exponent = (
        np.asarray(ke, float)
        - np.asarray(cw, float) * np.log10(moisture)
        - np.asarray(ch, float) * temp
        - np.asarray(cq, float) * temp**2
    )
    days: Floats = np.asarray(10.0**exponent, dtype=np.float64)
    return days


def viability_after(
    initial_percent: ArrayLike, ke: ArrayLike, cw: ArrayLike, ch: ArrayLike, cq: ArrayLike,
    moisture_percent: ArrayLike, temp_c: ArrayLike, days: ArrayLike,
) -> Floats | float:  # fmt: skip
    """Viability in percent after `days` of hermetic storage.

    All inputs broadcast. Raises InputError for an initial viability of 0 or 100 % (its probit is infinite),
    for days below 0, and outside the regime in which the equation is known to hold.
    """
    from scipy.special import ndtr

    time = np.asarray(days, float)
    if (time < 0).any():
        raise InputError("days of storage are 0 or more", found=time.tolist())
    result = 100 * ndtr(
        _probit(initial_percent, "an initial viability") - time / sigma_days(ke, cw, ch, cq, moisture_percent, temp_c)
    )
    return float(result) if np.ndim(result) == 0 else result


def days_until(
    initial_percent: ArrayLike, target_percent: ArrayLike, ke: ArrayLike, cw: ArrayLike, ch: ArrayLike, cq: ArrayLike,
    moisture_percent: ArrayLike, temp_c: ArrayLike,
) -> Floats | float:  # fmt: skip
    """Days of storage until viability has fallen to the target; 0 where it starts at or below it."""
    drop = _probit(initial_percent, "an initial viability") - _probit(target_percent, "a target")
    result = np.maximum(drop, 0) * sigma_days(ke, cw, ch, cq, moisture_percent, temp_c)
    return float(result) if np.ndim(result) == 0 else result


def moisture_for(
    initial_percent: ArrayLike, target_percent: ArrayLike, ke: ArrayLike, cw: ArrayLike, ch: ArrayLike, cq: ArrayLike,
    temp_c: ArrayLike, days: ArrayLike,
) -> Floats | float:  # fmt: skip
    """Highest moisture (percent of fresh weight) at which viability is still at the target after `days`.

    NaN where it would lie outside 5 to 15 %, the range in which the equation is known to hold. Raises InputError for
    days that are not above 0 and a target that is not below the initial viability.
    """
    if (np.asarray(days, float) <= 0).any():
        raise InputError("days of storage are above 0", found=np.asarray(days).tolist())
    temp = _regime(np.full(1, MOISTURE[0]), temp_c)[1]
    drop = _probit(initial_percent, "an initial viability") - _probit(target_percent, "a target")
    if (drop <= 0).any():
        raise InputError("the target must lie below the initial viability")
    exponent = np.log10(np.asarray(days, float) / drop)
    log_moisture = (
        np.asarray(ke, float) - exponent - np.asarray(ch, float) * temp - np.asarray(cq, float) * temp**2
    ) / np.asarray(cw, float)
    moisture = 10.0**log_moisture
    result = np.where((moisture < MOISTURE[0]) | (moisture > MOISTURE[1]), np.nan, moisture)
    return float(result) if result.ndim == 0 else result


def fresh_weight_moisture(dry_basis_percent: ArrayLike) -> Floats:
    """Moisture in percent of fresh weight from percent of dry weight: 100 m / (100 + m). InputError below 0."""
    dry = np.asarray(dry_basis_percent, float)
    if (dry < 0).any():
        raise InputError("moisture is 0 % or more", found=dry.tolist())
    fresh: Floats = 100 * dry / (100 + dry)
    return fresh


def equilibrium_moisture(relative_humidity_percent: ArrayLike, temp_c: ArrayLike, oil_percent: ArrayLike) -> Floats:
    """Moisture of seed, in percent of FRESH weight, in balance with the air.

    Cromarty, Ellis and Roberts 1982 (IBPGR, read second-hand):
    `1 - R = exp(-(Me (1.1 + T/90) / (1 - Do))² / 440)`, Me percent of dry weight, Do oil as a share of dry weight.
    Valid from 10 to 70 % humidity; 0 to 40 °C for starchy seed (oil up to 10 %: our reading), 15 to 25 °C for oily
    seed. Raises InputError outside. Inputs broadcast.
    """
    humidity, temp, oil = np.broadcast_arrays(
        np.asarray(relative_humidity_percent, float), np.asarray(temp_c, float), np.asarray(oil_percent, float)
    )
    low, high = np.where(oil > 10, 15.0, 0.0), np.where(oil > 10, 25.0, 40.0)
    if ((humidity < 10) | (humidity > 70)).any():
        raise InputError(
            "the isotherm is not known to hold at this humidity", found=humidity.tolist(), allowed="10 to 70 %"
        )
    if ((temp < low) | (temp > high)).any():
        raise InputError(
            "the isotherm is not known to hold at this temperature",
            found=temp.tolist(),
            allowed="0 to 40 °C, oily seed 15 to 25 °C",
        )
    if ((oil < 0) | (oil >= 100)).any():
        raise InputError("oil is a percentage of dry weight", found=oil.tolist(), allowed="0 up to 100")
    dry = (1 - oil / 100) * np.sqrt(-440 * np.log1p(-humidity / 100)) / (1.1 + temp / 90)
    return fresh_weight_moisture(dry)


def relative_life(moisture_change: ArrayLike, temp_change_c: ArrayLike) -> Floats:
    """How many times as long seed keeps after a change of moisture (points) and temperature (°C).

    Rules of thumb: one point less doubles life; 10 °F (5.6 °C) less doubles it (Harrington's rules as printed by the
    University of Washington, EHUF 473; other leaflets print 5 or 6 °C). Relative only, for species without
    constants, between 5 and 14 % moisture and 0 and 50 °C. Refused beyond 9 points or 50 °C of change.
    """
    moisture, temp = np.asarray(moisture_change, float), np.asarray(temp_change_c, float)
    if (np.abs(moisture) > 9).any() or (np.abs(temp) > 50).any():
        raise InputError("the rules of thumb do not reach so far", allowed="up to 9 points of moisture and 50 °C")
    return np.asarray(2.0 ** (-moisture) * 2.0 ** (-temp / (10 / 1.8)))


def life_band(
    years: ArrayLike, life_low: float, life_high: float, start_percent: float = 95.0
) -> tuple[Floats, Floats]:
    """Viability in percent at an age, as a band, from a printed storage life.

    Assumption, stated: a printed life of L years means that viability falls to between 0.5 and 0.8 of its start
    in L years, on a straight line in probits. Low end: half left after `life_low`; high end: four fifths left
    after `life_high`. Never one curve as fact.
    """
    from scipy.special import ndtr

    age = np.asarray(years, float)
    if not 0 < life_low <= life_high or (age < 0).any():
        raise InputError(
            "life and age in years are above 0, and the low end is at most the high one", found=(life_low, life_high)
        )
    start = _probit(start_percent, "a start")
    ends = []
    for life, share in zip((life_low, life_high), LIFE_SHARES, strict=True):
        slope = (start - _probit(start_percent * share, "an end")) / life
        ends.append(100 * ndtr(start - slope * age))
    return ends[0], ends[1]
