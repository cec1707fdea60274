"""How many seeds to sow.

With a known rate the number of seedlings is binomial. With a test of k of n the rate is uncertain: it is
carried through as Beta(k + 1/2, n - k + 1/2) (Jeffreys' prior; Brown, Cai and DasGupta 2001, Statistical
Science 16:101, from memory), so that the number of seedlings is beta-binomial. Both are exact, no simulation.
"""

from __future__ import annotations

import math

from cropdata.errors import InputError, NoUsableEstimate

Germination = float | tuple[int, int]
LARGEST = 1_000_000


def _posterior(germination: Germination) -> tuple[float, float] | float:
    """A rate, or the two parameters of the Beta distribution after a test."""
    if isinstance(germination, (tuple, list)):
        germinated, sown = germination
        if int(germinated) != germinated or int(sown) != sown or not 0 <= germinated <= sown or sown < 1:
            raise InputError(
                "a test is (germinated, sown)",
                found=germination,
                allowed="whole numbers, germinated at most sown",
            )
        if germinated == 0:
            raise NoUsableEstimate(
                f"none of {sown} germinated: no number of seeds can be named; ask first about dormancy, light, chill and warmth, "
                "then test again or get new seed"
            )
        return germinated + 0.5, sown - germinated + 0.5
    rate = float(germination)
    if not 0 < rate <= 1:
        raise InputError("a germination rate lies above 0 and up to 1", found=germination, hint="write 0.8 for 80 %")
    return rate


def _chance_of_at_least(plants: int, seeds: int, after: tuple[float, float] | float) -> float:
    """Chance that `seeds` give at least `plants` seedlings."""
    if seeds < plants:
        return 0.0
    if isinstance(after, float):
        from scipy.special import betainc

        return 1.0 if after == 1 else float(betainc(plants, seeds - plants + 1, after))
    import numpy as np
    from scipy.special import betaln, gammaln

    a, b = after
    count = np.arange(plants)
    log = (
        gammaln(seeds + 1)
        - gammaln(count + 1)
        - gammaln(seeds - count + 1)
        + betaln(count + a, seeds - count + b)
        - betaln(a, b)
    )
    return max(0.0, 1.0 - float(np.exp(log).sum()))


def seeds_needed(plants: int, germination: Germination, confidence: float = 0.9, *, most: int = LARGEST) -> int:
    """The least number of seeds that gives at least `plants` seedlings with the stated confidence.

    Args:
        plants: seedlings wanted, 0 or more.
        germination: a rate in (0, 1], or (germinated, sown) of a test.
        confidence: in (0, 1).
        most: cap; more than this is no usable answer.

    Raises InputError for values out of range, NoUsableEstimate when none germinated or the cap is passed.
    """
    if isinstance(plants, bool) or int(plants) != plants or plants < 0:
        raise InputError("the number of plants is a whole number, 0 or more", found=plants)
    if not 0 < confidence < 1:
        raise InputError("confidence lies between 0 and 1", found=confidence, hint="write 0.9 for 90 %")
    after = _posterior(germination)
    plants = int(plants)
    if plants == 0:
        return 0
    low, high = plants - 1, plants
    while _chance_of_at_least(plants, high, after) < confidence:
        low, high = high, high * 2
        if high > 2 * most:
            raise NoUsableEstimate(
                f"more than {most} seeds would be needed for {plants} plants; the seed is too poor to say a number"
            )
    while high - low > 1:
        middle = (low + high) // 2
        if _chance_of_at_least(plants, middle, after) >= confidence:
            high = middle
        else:
            low = middle
    if high > most:
        raise NoUsableEstimate(
            f"more than {most} seeds would be needed for {plants} plants; the seed is too poor to say a number"
        )
    return high


def cells_filled(germination: Germination, seeds_per_cell: int) -> float:
    """Share of cells with at least one seedling at so many seeds a cell; a test is averaged over its posterior."""
    if int(seeds_per_cell) != seeds_per_cell or seeds_per_cell < 1:
        raise InputError("seeds per cell is a whole number, 1 or more", found=seeds_per_cell)
    after = _posterior(germination)
    if isinstance(after, float):
        return 1.0 - (1.0 - after) ** int(seeds_per_cell)
    a, b = after
    log_empty = (
        math.lgamma(b + seeds_per_cell) - math.lgamma(b) + math.lgamma(a + b) - math.lgamma(a + b + seeds_per_cell)
    )
    return 1.0 - math.exp(log_empty)
