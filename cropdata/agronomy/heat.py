"""Heat units, and harvest windows.

Degree-days above a lower and below an upper threshold (horizontal cut-off) from daily minimum and maximum: single
and double triangle, single and double sine (Baskerville and Emin 1969, Ecology 50:514, from memory; University of
California Statewide IPM, degree-day methods). tests/published checks 26 printed outputs.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cropdata.agronomy.windows import Window, days_after
from cropdata.errors import InputError

Floats = NDArray[np.float64]
METHODS = ("average", "single triangle", "double triangle", "single sine", "double sine")


def _above_sine(low: Floats, high: Floats, threshold: float) -> Floats:
    mean, half = (high + low) / 2, (high - low) / 2
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        angle = np.arcsin(np.clip((threshold - mean) / half, -1, 1))
        partly = ((mean - threshold) * (np.pi / 2 - angle) + half * np.cos(angle)) / np.pi
    return np.where(low >= threshold, mean - threshold, np.where(high <= threshold, 0.0, partly))


def _above_triangle(low: Floats, high: Floats, threshold: float) -> Floats:
    with np.errstate(divide="ignore", invalid="ignore"):
        partly = (high - threshold) ** 2 / (2 * (high - low))
    return np.where(low >= threshold, (high + low) / 2 - threshold, np.where(high <= threshold, 0.0, partly))


def _between(
    above: Callable[[Floats, Floats, float], Floats], low: Floats, high: Floats, bottom: float, top: float | None
) -> Floats:
    return above(low, high, bottom) - (above(low, high, top) if top is not None else 0.0)


def degree_days(
    minimum: ArrayLike, maximum: ArrayLike, lower: float, upper: float | None = None, *, method: str = "single sine",
    next_minimum: ArrayLike | None = None,
) -> Floats:  # fmt: skip
    """Degree-days of each day, in the degrees handed in; shape of the inputs, NaN in gives NaN out.

    Args:
        minimum, maximum: daily extremes.
        lower, upper: thresholds; above the upper one warmth counts no more (horizontal cut-off).
        method: one of "average", "single triangle", "double triangle", "single sine", "double sine".
        next_minimum: the following day's minimum, for the double methods.

    Raises InputError for an unknown method, an upper threshold not above the lower one, or a minimum above its
    maximum.
    """
    low, high = np.broadcast_arrays(np.asarray(minimum, float), np.asarray(maximum, float))
    if method not in METHODS:
        raise InputError("unknown method", found=method, allowed=", ".join(METHODS))
    if upper is not None and upper <= lower:
        raise InputError("the upper threshold must lie above the lower one", found=(lower, upper))
    if (low > high).any():
        raise InputError("a minimum is above its maximum")
    if method == "average":
        top = np.inf if upper is None else upper
        result = np.maximum((np.clip(low, lower, top) + np.clip(high, lower, top)) / 2 - lower, 0.0)
    else:
        above = _above_sine if method.endswith("sine") else _above_triangle
        result = _between(above, low, high, lower, upper)
        if method.startswith("double"):
            if next_minimum is None:
                raise InputError("the double methods need the next day's minimum", hint="pass next_minimum")
            following = np.minimum(np.asarray(next_minimum, float), high)
            result = (result + _between(above, following, high, lower, upper)) / 2
    return np.where(np.isnan(low) | np.isnan(high), np.nan, result)


def harvest_window(start: datetime.date, low_days: float, high_days: float) -> Window:
    """Harvest between `low_days` and `high_days` after `start`: sowing or planting out, as the figures count."""
    if not 0 < low_days <= high_days:
        raise InputError("days to maturity are above 0, low at most high", found=(low_days, high_days))
    return Window(days_after(start, low_days), days_after(start, high_days))
