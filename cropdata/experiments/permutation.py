"""Tests that hold for few seeds: every way of dealing out the labels, or many of them."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
MOST_EXACT = 100_000
DRAWS = 20_000


def between(values: Floats, groups: NDArray[np.intp], number: int) -> Floats:
    """How far the groups' means lie apart: sum of n (mean - overall mean)², for each row of group labels."""
    total = np.zeros(groups.shape[0])
    overall = values.mean()
    for group in range(number):
        member = groups == group
        count = member.sum(axis=1)
        total += count * ((member * values).sum(axis=1) / count - overall) ** 2
    return total


def ways(sizes: Sequence[int]) -> int:
    """In how many ways things can be dealt into groups of these sizes."""
    result, left = 1, sum(sizes)
    for size in sizes:
        result *= math.comb(left, size)
        left -= size
    return result


def _deals(places: list[int], sizes: Sequence[int]) -> Iterator[list[tuple[int, int]]]:
    """Every way of dealing places into groups of these sizes, as pairs (place, group)."""
    if len(sizes) == 1:
        yield [(place, 0) for place in places]
        return
    *rest, last = sizes
    for chosen in itertools.combinations(places, last):
        taken = set(chosen)
        for deal in _deals([place for place in places if place not in taken], rest):
            yield [*deal, *((place, len(sizes) - 1) for place in chosen)]


def _labels(
    groups: NDArray[np.intp], rounds: NDArray[np.intp], number: int, seed: int
) -> tuple[NDArray[np.intp], bool]:
    """Rows of dealt labels, within rounds, and whether they are all there are."""
    blocks = [np.flatnonzero(rounds == block) for block in np.unique(rounds)]
    sizes = [[int((groups[block] == group).sum()) for group in range(number)] for block in blocks]
    count = math.prod(ways(size) for size in sizes)
    if count <= MOST_EXACT:
        dealt = [list(_deals(block.tolist(), size)) for block, size in zip(blocks, sizes, strict=True)]
        rows = np.empty((count, groups.size), dtype=np.intp)
        for row, parts in enumerate(itertools.product(*dealt)):
            for part in parts:
                for place, group in part:
                    rows[row, place] = group
        return rows, True
    rng = np.random.default_rng(seed)
    rows = np.tile(groups, (DRAWS, 1))
    for block in blocks:
        rows[:, block] = rng.permuted(rows[:, block], axis=1)
    return rows, False


def permutation_test(
    values: Floats, groups: NDArray[np.intp], rounds: NDArray[np.intp] | None = None, *,
    statistic: Callable[[Floats, NDArray[np.intp], int], Floats] = between, seed: int = 1,
) -> tuple[float, bool]:  # fmt: skip
    """Chance, if labels did not matter, of groups as far apart as these: (p, exact).

    Args:
        values: one for each thing dealt (seed or tray), shape (n,).
        groups: label of each, 0 to number - 1.
        rounds: things are dealt within their round only.

    Exact up to 100 000 ways of dealing, else 20 000 draws with the seen one counted in.
    """
    number = int(groups.max()) + 1
    within = np.zeros(groups.size, dtype=np.intp) if rounds is None else rounds
    rows, exact = _labels(groups, within, number, seed)
    seen = float(statistic(values, groups[None, :], number)[0])
    beyond = int((statistic(values, rows, number) >= seen - 1e-9 * max(1.0, abs(seen))).sum())
    return (beyond / rows.shape[0] if exact else (beyond + 1) / (rows.shape[0] + 1)), exact


def smallest_p(per_group: int, other: int | None = None) -> float:
    """The smallest two-sided p that so many against so many can ever reach: 2 over the ways of dealing them."""
    other = per_group if other is None else other
    return min(1.0, 2 / math.comb(per_group + other, per_group)) if per_group and other else 1.0


def least_units(level: float, *, in_rounds: bool) -> int:
    """Least number of units a method with which a pair can reach a level at all: dealt freely, or one in each round."""
    number = 2
    while (2.0 ** (1 - number) if in_rounds else smallest_p(number)) > level:
        number += 1
    return number


def holm(p_values: Sequence[float]) -> list[float]:
    """p-values corrected for several comparisons (Holm 1979, from memory): order kept, none above 1."""
    order = sorted(range(len(p_values)), key=lambda index: p_values[index])
    corrected = [0.0] * len(p_values)
    running = 0.0
    for rank, index in enumerate(order):
        running = max(running, min(1.0, (len(p_values) - rank) * p_values[index]))
        corrected[index] = running
    return corrected
