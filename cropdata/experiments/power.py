"""What a trial of so many seeds or trays could show, and how many the next one needs: by simulation of the test itself.

Simulated trials of two methods go through the same scores and the same dealing as a real one: seeds that never come
are the latest of all, trays share their fate, means of trays are dealt. The spread among seeds comes from the
evidence (open germination records: rules `emergence_first`, `emergence_last`), never from the trial, which would
promise more the luckier it was.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from cropdata.errors import InputError
from cropdata.experiments.permutation import Floats, Labels, count_deals, drawn_deals, every_deal, lowest_p

POWER, LEVEL = 0.8, 0.05
# Standard deviation as a share of the middle day: between seeds (0.74 and 1.44 of the middle day at 5 and 95 %), and
# between trays (assumed, no source).
SEED_SPREAD = float(np.mean([np.log(1 / 0.74), np.log(1.44)]) / 1.6449)
TRAY_SPREAD = 0.10
MOST_NEEDED = 1000  # seeds or trays a method up to which is searched
_MOST_DEALS = 13_000  # all ways are tried up to here: eight against eight, twelve rounds of a pair
_MOST_THINGS, _DRAWS = 80, 2000  # and so many ways for so many seeds or trays


class Waiting(NamedTuple):
    """How seeds come: the middle day of those that come, the share that come, days between looks, and the spread
    among seeds and among trays as shares of the middle day.
    """

    middle: float
    share: float = 1.0
    look: float = 1.0
    seed_spread: float = SEED_SPREAD
    tray_spread: float = TRAY_SPREAD


class Layout(NamedTuple):
    """Two methods as they are dealt, one entry for each thing dealt (tray, or seed dealt by itself).

    `groups`: 0 or 1; `rounds`: within which it is dealt; `seeds` in it; `trays`: whose fate it shares, -1 for none.
    """

    groups: Labels
    rounds: Labels
    seeds: Labels
    trays: Labels


def singly(one: int, other: int | None = None) -> Layout:
    """So many seeds of each method, dealt one by one."""
    groups = np.repeat([0, 1], [one, one if other is None else other])
    return Layout(groups, np.zeros_like(groups), np.ones_like(groups), np.full_like(groups, -1))


def in_trays(number: int, seeds: int, *, rounds: bool = False) -> Layout:
    """So many trays of each method with so many seeds each, dealt freely or one of each method a round."""
    groups = np.tile([0, 1], number)
    turn = np.repeat(np.arange(number), 2)
    return Layout(groups, turn if rounds else np.zeros_like(turn), np.full_like(groups, seeds), np.arange(groups.size))


def shared_trays(number: int, seeds: int) -> Layout:
    """So many trays, each with so many seeds of both methods, dealt within the tray."""
    tray = np.repeat(np.arange(number), 2 * seeds)
    return Layout(np.tile(np.repeat([0, 1], seeds), number), tray, np.ones_like(tray), tray)


def _checked(waiting: Waiting) -> None:
    if not (math.isfinite(waiting.middle) and waiting.middle > 0):
        raise InputError("the middle day lies above 0", found=waiting.middle)
    if not (0 <= waiting.share <= 1):
        raise InputError("a share lies between 0 and 1", found=waiting.share)
    if not (math.isfinite(waiting.look) and waiting.look > 0):
        raise InputError("the days between looks lie above 0", found=waiting.look)
    if not all(math.isfinite(spread) and spread >= 0 for spread in (waiting.seed_spread, waiting.tray_spread)):
        raise InputError("a spread is 0 or more", found=(waiting.seed_spread, waiting.tray_spread))


class _Trials:
    """Simulated trials of one layout without a difference; `found` adds one and tests."""

    def __init__(self, waiting: Waiting, layout: Layout, seed: int) -> None:
        _checked(waiting)
        order = np.lexsort((layout.groups, layout.rounds))
        self.layout = Layout(*(part[order] for part in layout))
        self.look = waiting.look
        self.deals = count_deals(layout.groups, layout.rounds)
        per_seed = np.repeat(np.arange(order.size), self.layout.seeds)
        number = int(np.clip(250_000 / per_seed.size, 200, 2500))
        self.by_deals = self.deals <= _MOST_DEALS or order.size <= _MOST_THINGS
        if self.by_deals:
            number = int(np.clip(8_000_000 / min(self.deals, _MOST_DEALS), 1000, number))
        rng = np.random.default_rng(seed)
        days = waiting.middle * np.exp(waiting.seed_spread * rng.standard_normal((number, per_seed.size)))
        tray = self.layout.trays[per_seed]
        if (tray >= 0).any():
            effects = waiting.tray_spread * waiting.middle * rng.standard_normal((number, int(tray.max()) + 2))
            effects[:, -1] = 0.0
            days += effects[:, tray]
        self.days, self.never = days, rng.random(days.shape) >= waiting.share
        self.later = self.layout.groups[per_seed]
        self.starts = np.concatenate([[0], np.cumsum(self.layout.seeds)[:-1]])
        # A day more than this parts the methods wholly.
        self.apart = float(np.ptp(days)) + 2 * waiting.look

    def _means(self, difference: float) -> Floats:
        """Mean rank of each thing dealt; ties share theirs, and those that never came are the latest ties."""
        looks = np.ceil((self.days + difference * self.later) / self.look)
        least = looks.min()
        places = (looks - least).astype(np.intp)
        last = int(places.max()) + 1
        places[self.never] = last
        flat = places + (last + 1) * np.arange(len(places))[:, None]
        counts = np.bincount(flat.ravel(), minlength=len(places) * (last + 1))
        below = counts.reshape(len(places), -1).cumsum(axis=1).ravel()
        ranks = (below - (counts - 1) / 2)[flat]
        means: Floats = np.add.reduceat(ranks, self.starts, axis=1) / self.layout.seeds
        return means

    def power(self, difference: float, level: float) -> float:
        """Share of the trials in which the difference is found."""
        means = self._means(difference)
        if self.by_deals:
            return float((self._p_of_deals(means) <= level + 1e-12).mean())
        return float(self._by_t(means, level).mean())

    @functools.cached_property
    def _weights(self) -> Floats:
        """What gives the difference of the methods' means, for each way of dealing: shape (things, ways)."""
        groups, rounds = self.layout.groups, self.layout.rounds
        if self.deals > _MOST_DEALS:
            rows = np.concatenate(list(drawn_deals(groups, rounds, _DRAWS, 1)))
        else:
            rows = every_deal(groups, rounds)
            if lowest_p(groups, rounds) > 1.5 / self.deals:
                rows = rows[rows[:, 0] == 0]  # the mirrored half is as far apart
        weights: Floats = np.where(rows == 1, 1 / groups.sum(), -1 / (groups == 0).sum()).astype(np.float32).T
        return weights

    def _p_of_deals(self, means: Floats) -> Floats:
        groups = self.layout.groups
        ranks = (means - means.mean(axis=1, keepdims=True)).astype(np.float32)
        seen = np.abs(ranks @ np.where(groups == 1, 1 / groups.sum(), -1 / (groups == 0).sum()).astype(np.float32))
        least = seen - 1e-4 * np.maximum(1, seen)  # ranks of few seeds differ by more, or are equal
        p_values = np.empty(len(means))
        step = max(1, 500_000 // self._weights.shape[1])
        for start in range(0, len(means), step):
            part = slice(start, start + step)
            p_values[part] = (np.abs(ranks[part] @ self._weights) >= least[part, None]).mean(axis=1)
        return p_values

    def _by_t(self, means: Floats, level: float) -> NDArray[np.bool_]:
        """For many seeds or trays: the t test of the ranks within rounds, close to the dealing of so many."""
        from scipy.stats import t

        rounds = np.unique(self.layout.rounds, return_inverse=True)[1].reshape(-1)
        share = np.bincount(rounds, self.layout.groups) / np.bincount(rounds)
        both = (share > 0) & (share < 1)
        kept = both[rounds]
        inside = np.unique(rounds[kept], return_inverse=True)[1].reshape(-1)
        method = self.layout.groups[kept] - share[rounds][kept]
        ranks = means[:, kept]
        member = np.eye(int(inside.max()) + 1)[inside]
        ranks = ranks - (ranks @ member / member.sum(axis=0))[:, inside]
        weight = float((method**2).sum())
        slope = ranks @ method / weight
        free = kept.sum() - both.sum() - 1
        rest = np.maximum((ranks**2).sum(axis=1) - slope**2 * weight, 0.0)
        found: NDArray[np.bool_] = np.abs(slope) * np.sqrt(weight) >= t.ppf(1 - level / 2, free) * np.sqrt(
            rest / free
        ) + 1e-12 * len(inside)
        return found


def power_at(difference: float, waiting: Waiting, layout: Layout, *, level: float = LEVEL, seed: int = 1) -> float:
    """Power of the test to find that one method comes so many days later than the other.

    By 200 to 2500 simulated trials (fewer the larger they are): standard error 0.03 at most, mostly below 0.01. All
    ways of dealing are tried up to 13 000 (eight trays against eight, twelve rounds of a pair), 2000 of them up to 80
    trays or seeds in both, and above that the t test of the ranks stands in. 0 where no outcome could reach the level.
    Raises InputError for figures that are none.
    """
    if not (math.isfinite(difference) and difference >= 0):
        raise InputError("a difference in days is 0 or more", found=difference)
    _checked(waiting)
    if lowest_p(layout.groups, layout.rounds) > level:
        return 0.0
    return _Trials(waiting, layout, seed).power(difference, level)


def detectable(waiting: Waiting, layout: Layout, *, level: float = LEVEL, power: float = POWER, seed: int = 1) -> float:
    """Smallest difference in days that is found with the stated power.

    `inf` where no outcome could reach the level, or where too few come to show any difference in days.
    """
    _checked(waiting)
    if lowest_p(layout.groups, layout.rounds) > level:
        return math.inf
    trials = _Trials(waiting, layout, seed)
    low, high = 0.0, trials.apart
    if trials.power(high, level) < power:
        return math.inf
    while high - low > 0.02 * high + 0.02:
        # Most answers lie in the lower part of the range.
        middle = low + (high - low) * (0.25 if low == 0 else 0.5)
        low, high = (low, middle) if trials.power(middle, level) >= power else (middle, high)
    return high


def number_needed(
    difference: float, waiting: Waiting, arrangement: Callable[[int], Layout] = singly, *, level: float = LEVEL,
    power: float = POWER, most: int = MOST_NEEDED, seed: int = 1,
) -> float:  # fmt: skip
    """Least number (seeds or trays a method, as `arrangement` lays them out) that finds a difference with the power.

    A whole number, or `inf` for more than `most`. Beyond a hundred it is searched to 2 %. Raises InputError for a
    difference that is not above 0.
    """
    from scipy.special import ndtri

    if not (math.isfinite(difference) and difference > 0):
        raise InputError("a difference worth finding lies above 0 days", found=difference)
    _checked(waiting)
    number = next((n for n in range(1, most + 1) if lowest_p(*arrangement(n)[:2]) <= level), None)
    if number is None:
        return math.inf
    low = number - 1
    edge = -float(ndtri(level / 2))
    while (found := power_at(difference, waiting, arrangement(number), level=level, seed=seed)) < power:
        # Power grows as the normal curve of effect times root of the number: the next guess, kept within bounds.
        effect = max((float(ndtri(min(max(found, 1e-3), 0.999))) + edge) / math.sqrt(number), 1e-6)
        guess = ((edge + float(ndtri(power))) / effect) ** 2
        if number == most or (number > 60 and guess > 10 * most):
            return math.inf
        low, number = number, int(min(most, max(number + 1, min(math.ceil(1.05 * guess), 4 * number))))
    high = number
    while high - low > 1 + high // 100:
        middle = (low + high) // 2
        enough = power_at(difference, waiting, arrangement(middle), level=level, seed=seed) >= power
        low, high = (low, middle) if enough else (middle, high)
    return high
