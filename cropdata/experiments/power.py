"""What so many seeds could show, and how many the next trial needs.

Power is reckoned for the rank test of two methods. The spread among seeds comes from the evidence (open germination
records: rules `emergence_first`, `emergence_last`), never from the trial itself, which would promise more the
luckier it was.
"""

from __future__ import annotations

import math

import numpy as np

from cropdata.experiments.permutation import smallest_p

POWER, LEVEL = 0.8, 0.05
_RANK_EFFICIENCY = 3 / math.pi  # of the rank test against the t test, normal shape
_SIMULATIONS = 2000
MOST = 1_000_000


def _normal_needed(difference: float, spread: float, level: float, power: float) -> float:
    from scipy.special import ndtri

    return float(2 * ((ndtri(1 - level / 2) + ndtri(power)) * spread / difference) ** 2 / _RANK_EFFICIENCY)


def number_needed(
    difference: float, spread: float, *, share: float = 1.0, level: float = LEVEL, power: float = POWER
) -> int:
    """Seeds (or trays) a method so that a difference is found with the stated power; at least as many as can reach
    the level at all. `share` is the share that emerges: the others tell nothing of days.
    """
    least = 2
    while smallest_p(least) > level:
        least += 1
    wanted = max(_normal_needed(difference, spread, level, power), least)
    return min(math.ceil(wanted / max(share, 1e-6)), MOST)


def power_at(difference: float, spread: float, number: int, *, level: float = LEVEL, seed: int = 1) -> float:
    """Power of the rank test with `number` a method, by simulation of normal waiting times (exact null for few)."""
    from scipy.stats import mannwhitneyu

    if number < 2 or smallest_p(number) > level:
        return 0.0
    rng = np.random.default_rng(seed)
    one = rng.normal(0, spread, (_SIMULATIONS, number))
    other = rng.normal(difference, spread, (_SIMULATIONS, number))
    p = mannwhitneyu(one, other, axis=1, method="exact" if number <= 20 else "asymptotic").pvalue
    return float((p <= level + 1e-12).mean())


def detectable(spread: float, number: int, *, level: float = LEVEL, power: float = POWER) -> float:
    """Smallest difference in days that so many a method find with the stated power; `inf` if no outcome could."""
    if number < 2 or smallest_p(number) > level:
        return float("inf")
    low, high = 0.0, spread
    while power_at(high, spread, number, level=level) < power:
        high *= 2
    for _ in range(12):
        middle = (low + high) / 2
        low, high = (low, middle) if power_at(middle, spread, number, level=level) >= power else (middle, high)
    return high
