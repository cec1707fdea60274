"""Germination from counts: intervals, indices, replicates, and how many seeds a test needs.

Functions of numbers and arrays; what they mean for a crop is said by `cropdata.experiments.assessing`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cropdata.errors import InputError

Floats = NDArray[np.float64]
METHODS = ("exact", "wilson")
MOST_SEEDS = 100_000  # a bound on what is meant in earnest; a legal test takes 400


def _counts(germinated: ArrayLike, sown: ArrayLike) -> tuple[Floats, Floats]:
    try:
        good, all_sown = np.broadcast_arrays(np.asarray(germinated, float), np.asarray(sown, float))
    except (TypeError, ValueError):
        raise InputError("seeds are counted in numbers, as many sown as germinated", found=(germinated, sown)) from None
    # Written so that NaN, which is in no order with any number, is refused too.
    if not ((good >= 0) & (good <= all_sown) & (all_sown >= 1)).all():
        raise InputError(
            "a test is germinated of sown seeds", found=(germinated, sown), allowed="0 <= germinated <= sown, sown >= 1"
        )
    if (all_sown > MOST_SEEDS).any():
        raise InputError("more seeds than anybody counts", found=sown, allowed=f"up to {MOST_SEEDS} seeds")
    if (good != np.floor(good)).any() or (all_sown != np.floor(all_sown)).any():
        raise InputError("seeds are counted in whole numbers", found=(germinated, sown))
    return good, all_sown


def interval(
    germinated: ArrayLike, sown: ArrayLike, confidence: float = 0.95, method: str = "exact"
) -> tuple[float, float] | tuple[Floats, Floats]:
    """Interval of the germination rate: (low, high), floats, or arrays for arrays.

    Args:
        germinated, sown: counts, broadcast against each other.
        confidence: in (0, 1).
        method: "exact" (Clopper and Pearson 1934: covers at least its level) or "wilson" (score interval, Wilson
            1927: narrower; its true coverage is published, about 83 % at worst for 3 to 5 seeds, not promised).

    Raises InputError for counts that are none, a confidence outside (0, 1) or another method.
    """
    from scipy.special import betaincinv, ndtri

    if not 0 < confidence < 1:
        raise InputError("confidence lies between 0 and 1", found=confidence, hint="write 0.95 for 95 %")
    if method not in METHODS:
        raise InputError("unknown method", found=method, allowed=", ".join(METHODS))
    good, sown_ = _counts(germinated, sown)
    tail = (1 - confidence) / 2
    if method == "exact":
        low = np.where(good == 0, 0.0, betaincinv(np.maximum(good, 1), sown_ - good + 1, tail))
        high = np.where(good == sown_, 1.0, betaincinv(good + 1, np.maximum(sown_ - good, 1), 1 - tail))
    else:
        z = float(ndtri(1 - tail))
        middle = (good + z**2 / 2) / (sown_ + z**2)
        half = z / (sown_ + z**2) * np.sqrt(good * (sown_ - good) / sown_ + z**2 / 4)
        low = np.where(good == 0, 0.0, middle - half)
        high = np.where(good == sown_, 1.0, middle + half)
    return (float(low), float(high)) if low.ndim == 0 else (low, high)


def seeds_for_width(width: float, rate: float = 0.8, confidence: float = 0.95) -> int:
    """Least number of seeds whose exact interval is no wider than `width`, if as many germinate as the rate leads
    one to expect (rounded, a half upwards).

    Args: `width` as a share (0.2: twenty points), `rate` and `confidence` in (0, 1).

    The width does not fall evenly: where one more seed is expected to come it jumps up, so that a few more seeds than
    the least may be a little wider again. Raises InputError for values outside (0, 1), or when more than `MOST_SEEDS`
    would be needed.
    """
    if not 0 < width < 1 or not 0 < rate < 1:
        raise InputError(
            "width and rate lie between 0 and 1", found=(width, rate), hint="write 0.2 for 20 points, 0.8 for 80 %"
        )
    start, block = 1, 256
    while start <= MOST_SEEDS:
        seeds = np.arange(start, min(start + block, MOST_SEEDS + 1))
        low, high = interval(np.floor(rate * seeds + 0.5), seeds, confidence)
        enough = np.flatnonzero(np.asarray(high) - np.asarray(low) <= width)
        if enough.size:
            return int(seeds[enough[0]])
        start, block = start + block, block * 2
    raise InputError(f"an interval so narrow takes more than {MOST_SEEDS} seeds", found=width, allowed="a wider one")


class Indices(NamedTuple):
    """Germination indices of a record; arrays for several lots. See `indices` for formulas, units and sources."""

    final_percent: Floats
    mean_days: Floats
    t50_days: Floats
    speed: Floats
    spread_days: Floats
    t10_to_t90_days: Floats


INDEX_NOTES = {
    "final_percent": "100 x germinated / sown, percent. Says nothing of speed; depends on when the counting stopped.",
    "mean_days": "sum(n t) / sum(n), days (Ellis and Roberts 1981, from memory). Counts only seed that germinated: a lot of which few "
    "but quick seeds come looks better than it is. Moves with the days between counts.",
    "t50_days": "day at which half of those that germinated had done so, straight between counts (Farooq et al. 2005). Half of those that "
    "came, not of those sown. A count that hits the half exactly is that count's day.",
    "speed": "sum(n / t), seeds a day (Maguire 1962). Grows with the number sown: compare only equal numbers; the first count weighs much.",
    "spread_days": "standard deviation of the days, weighted by n. Uniformity in days.",
    "t10_to_t90_days": "days from a tenth to nine tenths of those that germinated, straight between counts.",
}


def time_to(share: float, days: ArrayLike, newly: ArrayLike) -> Floats:
    """Day at which `share` of those that germinated had done so, straight between counts from day 0 on.

    Args: `days` of the counts, ascending, shape (d,); `newly` germinated at each, shape (…, d). NaN where none came.
    """
    at = np.concatenate([[0.0], np.asarray(days, float)])
    counts = np.asarray(newly, float)
    total = np.concatenate([np.zeros((*counts.shape[:-1], 1)), np.cumsum(counts, axis=-1)], axis=-1)
    target = share * total[..., -1:]
    # The first count at or past the target: a count that hits it exactly is the answer, and no bracket is lost.
    upper = np.argmax(total >= target - 1e-9 * np.maximum(target, 1), axis=-1)
    upper = np.maximum(upper, 1)
    lower = upper - 1
    below = np.take_along_axis(total, lower[..., None], -1)[..., 0]
    above = np.take_along_axis(total, upper[..., None], -1)[..., 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.where(above > below, (target[..., 0] - below) / (above - below), 1.0)
    result = at[lower] + np.clip(part, 0, 1) * (at[upper] - at[lower])
    return np.where(total[..., -1] > 0, result, np.nan)


def indices(days: ArrayLike, newly: ArrayLike, sown: ArrayLike) -> Indices:
    """Germination indices of one record or many.

    Args:
        days: days from sowing of the counts, ascending, above 0, shape (d,).
        newly: newly germinated at each count, shape (d,) or (lots, d).
        sown: seeds sown, shape () or (lots,).

    Formulas, units, sources and how each misleads: `INDEX_NOTES`. Raises InputError for days out of order or more
    germinated than sown.
    """
    at, counts = np.asarray(days, float), np.asarray(newly, float)
    if at.ndim != 1 or at.size == 0 or not np.isfinite(at).all() or (np.diff(at) <= 0).any() or at[0] <= 0:
        raise InputError("the days of the counts rise and start above 0", found=at.tolist())
    if counts.ndim == 0 or counts.shape[-1] != at.size or not (counts >= 0).all():
        raise InputError("newly germinated needs one count, 0 or more, for each day", found=counts.tolist())
    total, all_sown = _counts(counts.sum(axis=-1), sown)
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = (counts * at).sum(axis=-1) / total
        spread = np.sqrt((counts * (at - mean[..., None]) ** 2).sum(axis=-1) / total)
    return Indices(
        100 * total / all_sown, mean, time_to(0.5, at, counts), (counts / at).sum(axis=-1), spread,
        time_to(0.9, at, counts) - time_to(0.1, at, counts),
    )  # fmt: skip


def t50_by_curve(days: Sequence[float], newly: Sequence[float]) -> float | None:
    """Time to half of those that come, by a log-logistic curve through the cumulative counts (least squares).

    None where fewer than three counts have new seedlings: three points do not hold a curve. Steadier than the
    straight line between counts, and wrong where germination comes in two waves.
    """
    from scipy.optimize import curve_fit

    at, counts = np.asarray(days, float), np.asarray(newly, float)
    if (counts > 0).sum() < 3:
        return None
    cumulative = np.cumsum(counts)

    def curve(time: Floats, most: float, half: float, slope: float) -> Floats:
        return most / (1 + (half / time) ** slope)

    start = (cumulative[-1], float(time_to(0.5, at, counts)), 5.0)
    try:
        (_, half, _), _ = curve_fit(
            curve, at, cumulative, p0=start, bounds=([0, 1e-6, 0.1], [2 * cumulative[-1], 10 * at[-1], 100])
        )
    except RuntimeError:
        return None
    return float(half)


class Replicates(NamedTuple):
    """Whether replicates agree: the tolerance of the regulation for replicates of 100, else a dispersion test."""

    agree: bool
    rule: str
    range_percent: float
    allowed_percent: float | None
    p_value: float | None


def replicates_agree(
    germinated: Sequence[int],
    sown: Sequence[int],
    tolerances: Sequence[tuple[float, float, int, float]],
    *,
    draws: int = 10_000,
) -> Replicates:
    """Compare replicates of one lot.

    Args:
        germinated, sown: counts by replicate.
        tolerances: rows of the regulation (higher average, lower average, number of replicates, largest range).

    The tolerance is for two or four replicates of 100; others get a permutation test of the same chance in each
    (5 %), which a few seeds cannot fail.
    """
    good, total = (np.asarray(values, float) for values in _counts(germinated, sown))
    if good.size < 2:
        raise InputError("replicates need two counts or more", found=list(germinated))
    percent = 100 * good / total
    spread = float(percent.max() - percent.min())
    if (total == 100).all() and good.size in (2, 4):
        average = np.floor(percent.mean() + 0.5)
        for high, low, number, allowed in tolerances:
            if number == good.size and average in (high, low):
                return Replicates(spread <= allowed, "7 CFR 201.55, replicates of 100", spread, allowed, None)
    rate = good.sum() / total.sum()
    # Seeds dealt again to the replicates: how many good ones each gets is hypergeometric.
    dealt = (
        np.random.default_rng(1).multivariate_hypergeometric(total.astype(int), int(good.sum()), draws).astype(float)
    )

    def dispersion(counts: Floats) -> Floats:
        return np.asarray(((counts - total * rate) ** 2 / total).sum(axis=-1))

    beyond = int((dispersion(dealt) >= dispersion(good) - 1e-12).sum())
    p_value = (beyond + 1) / (draws + 1)
    return Replicates(p_value >= 0.05, "permutation test of one rate for all", spread, None, p_value)
