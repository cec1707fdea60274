"""How many seeds to sow.

With a known rate the number of seedlings is binomial. With a test of k of n the rate is uncertain: it is
carried through as Beta(k + 1/2, n - k + 1/2) (Jeffreys' prior; Brown, Cai and DasGupta 2001, Statistical
Science 16:101, from memory), so that the number of seedlings is beta-binomial. Both are exact, no simulation.
"""

from __future__ import annotations

import math
from functools import lru_cache

from cropdata.errors import InputError, NoUsableEstimate

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy as np
    from numpy.typing import ArrayLike, NDArray

Germination = float | tuple[int, int]
LARGEST = 1_000_000


def _posterior(germination: Germination) -> tuple[float, float] | float:
    """A rate, or the two parameters of the Beta distribution after a test."""
    if isinstance(germination, (tuple, list)):
        germinated, sown = germination if len(germination) == 2 else (math.nan, math.nan)
        if not 0 <= germinated <= sown < math.inf or sown < 1 or germinated % 1 or sown % 1:
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


_NODES = 128


def _chance_of_at_least(plants: int, seeds: int, after: tuple[float, float] | float, field: float = 1.0) -> float:
    """Chance that `seeds` give at least `plants` seedlings, `field` of which come through."""
    if seeds < plants:
        return 0.0
    if isinstance(after, float):
        from scipy.special import betainc

        rate = after * field
        return 1.0 if rate == 1 else float(betainc(plants, seeds - plants + 1, rate))
    a, b = after
    if field == 1:
        import numpy as np
        from scipy.special import betaln, gammaln

        count = np.arange(plants)
        log = gammaln(seeds + 1) - gammaln(count + 1) - gammaln(seeds - count + 1)
        log += betaln(count + a, seeds - count + b) - betaln(a, b)
        return max(0.0, 1.0 - float(np.exp(log).sum()))
    from scipy.special import betainc

    rates, weights = _nodes(a, b)
    return float((weights * betainc(plants, seeds - plants + 1, rates * field)).sum())


@lru_cache(maxsize=1024)
def _nodes(a: float, b: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Rates and weights that stand for the Beta posterior: Gauss-Jacobi quadrature, exact for polynomials of degree
    255, that is 255 seeds, and to many digits beyond.
    """
    from scipy.special import roots_sh_jacobi

    rates, weights = roots_sh_jacobi(_NODES, a + b - 1, a)
    return rates, weights / weights.sum()


def _checked(plants: int, confidence: float, field: float) -> int:
    if isinstance(plants, bool) or not 0 <= plants < math.inf or plants % 1:
        raise InputError("the number of plants is a whole number, 0 or more", found=plants)
    if not 0 < confidence < 1:
        raise InputError("confidence lies between 0 and 1", found=confidence, hint="write 0.9 for 90 %")
    if not 0 < field <= 1:
        raise InputError("the share that comes through lies above 0 and up to 1", found=field)
    return int(plants)


def seeds_needed(
    plants: int, germination: Germination, confidence: float = 0.9, *, field: float = 1.0, most: int = LARGEST
) -> int:
    """The least number of seeds that gives at least `plants` seedlings with the stated confidence.

    Args:
        plants: seedlings wanted, 0 or more.
        germination: a rate in (0, 1], or (germinated, sown) of a test.
        confidence: in (0, 1).
        field: share of germinating seeds that come through outside or under cover, in (0, 1].
        most: cap; more than this is no usable answer.

    Exact: binomial for a rate, beta-binomial for a test. Raises InputError for values out of range,
    NoUsableEstimate when none germinated or the cap is passed.
    """
    wanted = _checked(plants, confidence, field)
    after = _posterior(germination)
    if wanted == 0:
        return 0
    return _least_number(wanted, lambda seeds: _chance_of_at_least(wanted, seeds, after, field), confidence, most)


def cells_needed(
    plants: int, germination: Germination, seeds_per_cell: int, confidence: float = 0.9, *, field: float = 1.0,
    held: float = 1.0, most: int = LARGEST,
) -> int:  # fmt: skip
    """The least number of cells so that at least `plants` of them hold a plant with the stated confidence.

    A cell with several seeds holds one when any of them comes through; the others are thinned. `field` is lost seed by
    seed, before thinning. `held`, in (0, 1], is the share of cells that still give their one plant after it: a block that
    crumbles, or a thinned cell whose seedling dies, loses all its seeds at once. A cell gives a plant with chance
    held * (1 - (1 - rate * field) ** seeds_per_cell). Other arguments and errors as of `seeds_needed`, to which it is
    equal at one seed a cell.
    """
    wanted = _checked(plants, confidence, field)
    _checked(plants, confidence, held)
    if int(seeds_per_cell) != seeds_per_cell or seeds_per_cell < 1:
        raise InputError("seeds per cell is a whole number, 1 or more", found=seeds_per_cell)
    after = _posterior(germination)
    if wanted == 0:
        return 0

    def filled(rate: NDArray[np.float64] | float) -> NDArray[np.float64] | float:
        return held * (1.0 - (1.0 - rate * field) ** int(seeds_per_cell))

    def chance(cells: int) -> float:
        from scipy.special import betainc

        if cells < wanted:
            return 0.0
        if isinstance(after, float):
            return _chance_of_at_least(wanted, cells, float(filled(after)))
        rates, weights = _nodes(*after)
        return float((weights * betainc(wanted, cells - wanted + 1, filled(rates))).sum())

    return _least_number(wanted, chance, confidence, most)


def _least_number(wanted: int, chance: Callable[[int], float], confidence: float, most: int) -> int:
    """The least number whose chance reaches the confidence: doubled until it does, then halved between."""
    low, high = wanted - 1, wanted
    while chance(high) < confidence:
        low, high = high, high * 2
        if high > 2 * most:
            break
    while high - low > 1 and high <= 2 * most:
        middle = (low + high) // 2
        if chance(middle) >= confidence:
            high = middle
        else:
            low = middle
    if high > most:
        raise NoUsableEstimate(
            f"more than {most} seeds would be needed for {wanted} plants; the seed is too poor to say a number"
        )
    return high


def seeds_needed_each(
    plants: ArrayLike, germinated: ArrayLike, sown: ArrayLike, confidence: float = 0.9, *, field: float = 1.0
) -> NDArray[np.int64]:
    """`seeds_needed` for many packets: each distinct combination is worked out once.

    Args: whole numbers, broadcast against each other. Returns their shape; -1 where no usable number can be named
    (none germinated, or more than the cap). Raises InputError for what is no whole number.
    """
    import numpy as np

    given = [np.asarray(values, float) for values in (plants, germinated, sown)]
    if not all((np.isfinite(values) & (values % 1 == 0)).all() for values in given):
        raise InputError("plants and seeds are counted in whole numbers", found=(plants, germinated, sown))
    columns = np.broadcast_arrays(*(values.astype(np.int64) for values in given))
    shape = columns[0].shape
    distinct, inverse = np.unique(np.stack([column.ravel() for column in columns]), axis=1, return_inverse=True)

    def one(wanted: int, good: int, tested: int) -> int:
        try:
            return seeds_needed(wanted, (good, tested), confidence, field=field)
        except NoUsableEstimate:
            return -1

    answers = np.array([one(int(w), int(g), int(t)) for w, g, t in distinct.T], dtype=np.int64)
    return answers[inverse.ravel()].reshape(shape)


def seeds_per_cell(share: float, germination: Germination, *, most: int = 20) -> int:
    """Least number of seeds a cell so that at least `share` of the cells hold a seedling.

    Raises InputError for a share outside (0, 1), NoUsableEstimate when more than `most` a cell would be needed.
    """
    if not 0 < share < 1:
        raise InputError("the share of filled cells lies between 0 and 1", found=share, hint="write 0.95 for 95 %")
    for seeds in range(1, most + 1):
        if cells_filled(germination, seeds) >= share:
            return seeds
    raise NoUsableEstimate(
        f"more than {most} seeds a cell would be needed; get better seed, or germinate it in a towel first"
    )


def thinned_per_cell(germination: Germination, seeds_per_cell: int) -> float:
    """Seedlings beyond the first in an average cell: what is thinned away."""
    after = _posterior(germination)
    rate = after if isinstance(after, float) else after[0] / (after[0] + after[1])
    return seeds_per_cell * rate - cells_filled(germination, seeds_per_cell)


def cells_filled(germination: Germination, seeds_per_cell: int) -> float:
    """Share of cells with at least one seedling at so many seeds a cell; a test is averaged over its posterior."""
    if not 1 <= seeds_per_cell < math.inf or seeds_per_cell % 1:
        raise InputError("seeds per cell is a whole number, 1 or more", found=seeds_per_cell)
    after = _posterior(germination)
    if isinstance(after, float):
        return 1.0 - (1.0 - after) ** int(seeds_per_cell)
    a, b = after
    log_empty = (
        math.lgamma(b + seeds_per_cell) - math.lgamma(b) + math.lgamma(a + b) - math.lgamma(a + b + seeds_per_cell)
    )
    return 1.0 - math.exp(log_empty)
