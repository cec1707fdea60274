"""Tests that hold for few seeds: every way of dealing out the labels, or many of them."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Labels = NDArray[np.intp]
MOST_EXACT = 100_000
DRAWS = 20_000
_CHUNK = 4_000_000  # labels held at once while drawing


def between(values: Floats, groups: Labels, number: int) -> Floats:
    """How far the groups' means lie apart: sum of n (mean - overall mean)², for each row of group labels."""
    total = np.zeros(groups.shape[0])
    overall = values.mean()
    for group in range(number):
        member = groups == group
        count = member.sum(axis=1)
        total += count * ((member @ values) / count - overall) ** 2
    return total


def ways(sizes: Sequence[int]) -> int:
    """In how many ways things can be dealt into groups of these sizes."""
    result, left = 1, sum(sizes)
    for size in sizes:
        result *= math.comb(left, size)
        left -= size
    return result


def _blocks(groups: Labels, rounds: Labels | None) -> tuple[list[Labels], list[list[int]]]:
    """Places of each round, and how many of each group stand in it."""
    inside = np.zeros(groups.size, dtype=np.intp) if rounds is None else rounds
    blocks = [np.flatnonzero(inside == block) for block in np.unique(inside)]
    number = int(groups.max()) + 1
    return blocks, [np.bincount(groups[block], minlength=number).tolist() for block in blocks]


def count_deals(groups: Labels, rounds: Labels | None = None) -> int:
    """In how many ways the labels can be dealt within their rounds."""
    return math.prod(ways(sizes) for sizes in _blocks(groups, rounds)[1])


def _deals(sizes: Sequence[int]) -> Labels:
    """Every way of dealing places into groups of these sizes, one row each."""
    if len(sizes) == 1:
        return np.zeros((1, sizes[0]), dtype=np.intp)
    rest, total = _deals(sizes[:-1]), sum(sizes)
    if sizes[-1] == 0:
        return rest
    chosen = np.array(list(itertools.combinations(range(total), sizes[-1])), dtype=np.intp).reshape(-1, sizes[-1])
    taken = np.zeros((len(chosen), total), dtype=bool)
    np.put_along_axis(taken, chosen, True, axis=1)
    rows = np.full((len(chosen), len(rest), total), len(sizes) - 1, dtype=np.intp)
    rows[np.broadcast_to(~taken[:, None, :], rows.shape)] = np.broadcast_to(rest, (len(chosen), *rest.shape)).ravel()
    return rows.reshape(-1, total)


def every_deal(groups: Labels, rounds: Labels | None = None) -> Labels:
    """Every way of dealing the labels within their rounds, one row each; see `count_deals` for how many."""
    blocks, sizes = _blocks(groups, rounds)
    rows = np.empty((count_deals(groups, rounds), groups.size), dtype=np.intp)
    index, stride = np.arange(len(rows)), 1
    for block, size in zip(blocks, sizes, strict=True):
        dealt = _deals(size)
        rows[:, block] = dealt[(index // stride) % len(dealt)]
        stride *= len(dealt)
    return rows


def drawn_deals(groups: Labels, rounds: Labels | None, draws: int, seed: int) -> Iterator[Labels]:
    """Rows of labels dealt at random within their rounds, some at a time."""
    rng = np.random.default_rng(seed)
    blocks, _ = _blocks(groups, rounds)
    size = max(1, _CHUNK // groups.size)
    for start in range(0, draws, size):
        rows = np.tile(groups, (min(size, draws - start), 1))
        for block in blocks:
            rows[:, block] = rng.permuted(rows[:, block], axis=1)
        yield rows


def permutation_test(
    values: Floats, groups: Labels, rounds: Labels | None = None, *, draws: int = DRAWS, seed: int = 1
) -> tuple[float, bool]:
    """Chance, if labels did not matter, of groups as far apart as these: (p, exact).

    Args:
        values: one for each thing dealt (seed or tray), shape (n,).
        groups: label of each.
        rounds: things are dealt within their round only.
        draws: ways drawn where there are too many to try all.

    Exact up to 100 000 ways of dealing, else by random draws with the seen one counted in.
    """
    labels = np.unique(groups, return_inverse=True)[1].reshape(-1).astype(np.intp)
    number = int(labels.max()) + 1
    seen = float(between(values, labels[None, :], number)[0])
    least = seen - 1e-9 * max(1.0, abs(seen))
    if count_deals(labels, rounds) <= MOST_EXACT:
        return float((between(values, every_deal(labels, rounds), number) >= least).mean()), True
    beyond = sum(
        int((between(values, rows, number) >= least).sum()) for rows in drawn_deals(labels, rounds, draws, seed)
    )
    return (beyond + 1) / (draws + 1), False


def lowest_p(groups: Labels, rounds: Labels | None = None) -> float:
    """The smallest p that two groups could ever reach, however the values fell.

    One over the ways of dealing; two over them where each round holds as many of one as of the other, since then
    every deal has its mirror, as far apart.
    """
    count = count_deals(groups, rounds)
    even = all(len(sizes) == 2 and sizes[0] == sizes[1] for sizes in _blocks(groups, rounds)[1])
    return min(1.0, max((2 if even else 1) / count, 0.0 if count <= MOST_EXACT else 1 / (DRAWS + 1)))


def least_units(level: float, *, in_rounds: bool) -> int:
    """Least number of units a method with which a pair can reach a level at all: dealt freely, or one in each round."""
    number = 2
    while (2.0 ** (1 - number) if in_rounds else 2 / ways([number, number])) > level:
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
