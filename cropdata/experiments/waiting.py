"""Waiting times known only to lie between two looks.

The share that has come by a day is estimated by nonparametric maximum likelihood for interval-censored data
(Turnbull 1976, Journal of the Royal Statistical Society B 38:290, from memory), here by its self-consistent
iteration. A seed that never came is known to be later than its last look.
"""

from __future__ import annotations

import itertools
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


class Curve(NamedTuple):
    """Share come by day: it rises somewhere in each stretch (`left`, `right`] by `mass`; the last may be open."""

    left: Floats
    right: Floats
    mass: Floats

    def at(self, day: float) -> tuple[float, float]:
        """Least and most of the share come by a day."""
        return float(self.mass[self.right <= day].sum()), float(self.mass[self.left < day].sum())

    def day_of(self, share: float) -> float | None:
        """Middle of the stretch in which the share is reached; None where it never is."""
        total = np.cumsum(self.mass)
        index = int(np.argmax(total >= share - 1e-9)) if (total >= share - 1e-9).any() else -1
        if index < 0 or not np.isfinite(self.right[index]):
            return None
        return float((self.left[index] + self.right[index]) / 2)


def turnbull(left: ArrayLike, right: ArrayLike, *, iterations: int = 5000, tolerance: float = 1e-10) -> Curve:
    """The curve of maximum likelihood through intervals (left, right]; right is `inf` for "not yet".

    Equal ends mean an exactly known time. Shape of both: (n,).
    """
    # Equal intervals are reckoned once, with their number.
    pairs, number = np.unique(np.column_stack([left, right]).astype(float), axis=0, return_counts=True)
    low, high = pairs.T
    exact = low == high
    points = sorted(
        {(value, 1) for value in low[~exact]} | {(value, 0) for value in high} | {(value, -1) for value in low[exact]}
    )
    stretches = [(one[0], other[0]) for one, other in itertools.pairwise(points) if one[1] in (1, -1) and other[1] == 0]
    starts, ends = np.array([s for s, _ in stretches]), np.array([e for _, e in stretches])
    inside = (starts >= low[:, None]) & (ends <= high[:, None])
    # A known day at the open left end of an interval does not lie in it: a look comes before what follows it.
    point = starts == ends
    inside &= ~(point & (starts == low[:, None]) & ~exact[:, None])
    mass = np.full(len(stretches), 1 / len(stretches))
    for _ in range(iterations):
        chance = inside * mass
        new = number @ (chance / chance.sum(axis=1, keepdims=True)) / number.sum()
        if np.abs(new - mass).max() < tolerance:
            mass = new
            break
        mass = new
    kept = mass > 1e-6
    return Curve(starts[kept], ends[kept], mass[kept] / mass[kept].sum())


def median_interval(left: ArrayLike, right: ArrayLike, confidence: float = 0.95) -> tuple[float, float]:
    """Interval of the median day over all seeds, from the ordered looks by the binomial: covers at least its level.

    `inf` as upper end where too few came to bound it; 0 as lower end where the seeds are too few.
    """
    from scipy.stats import binom

    low, high = np.sort(np.asarray(left, float)), np.sort(np.asarray(right, float))
    n = low.size
    rank = int(binom.ppf((1 - confidence) / 2, n, 0.5))  # P(X < rank) <= tail
    while rank > 0 and binom.cdf(rank - 1, n, 0.5) > (1 - confidence) / 2:
        rank -= 1
    if rank == 0:
        return 0.0, float("inf")
    return float(low[rank - 1]), float(high[n - rank])


def scores(left: ArrayLike, right: ArrayLike) -> Floats:
    """Rank-like score of each seed: how many came surely before it less how many surely after it (Gehan's way).

    Equal known days are ties: each stands in both counts, which cancel.
    """
    low, high = np.asarray(left, float), np.asarray(right, float)
    before = np.searchsorted(np.sort(high), low, side="right")
    after = low.size - np.searchsorted(np.sort(low), high, side="left")
    result: Floats = before - after.astype(float)
    return result


def bands(
    left: ArrayLike, right: ArrayLike, days: ArrayLike, *, trays: ArrayLike | None = None, level: float = 0.9,
    draws: int = 400, seed: int = 1,
) -> tuple[Floats, Floats] | None:  # fmt: skip
    """Pointwise bands of the share come by each day; None under eight that came.

    By drawing again: the trays (number of each seed's), where there are two or more, since seeds of one tray share its
    fate; else the seeds. Few trays make the bands too narrow.
    """
    low, high = np.asarray(left, float), np.asarray(right, float)
    if np.isfinite(high).sum() < 8:
        return None
    rng = np.random.default_rng(seed)
    label = np.arange(low.size) if trays is None else np.unique(np.asarray(trays), return_inverse=True)[1].reshape(-1)
    if label.max() == 0:
        label = np.arange(low.size)
    members = [np.flatnonzero(label == number) for number in range(int(label.max()) + 1)]
    found = []
    for _ in range(draws):
        chosen = np.concatenate([members[number] for number in rng.integers(0, len(members), len(members))])
        curve = turnbull(low[chosen], high[chosen], iterations=200, tolerance=1e-5)
        found.append([sum(curve.at(day)) / 2 for day in np.asarray(days, float)])
    lower, upper = np.quantile(np.array(found), [(1 - level) / 2, (1 + level) / 2], axis=0)
    return lower, upper
