"""A trial of methods of starting seed: which came sooner or better, and what so few seeds can show.

Units (bags, trays) are what was dealt out to the methods; seeds of one tray share its fate. With fewer than two units
in any method the test is about these seeds in these trays, and the verdict says that it cannot tell the method from
its tray. A tray that holds seeds of several methods is a round: its seeds are dealt within it.
"""

from __future__ import annotations

import itertools
import math
import os
from collections.abc import Callable
from functools import partial
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from cropdata.errors import InputError
from cropdata.experiments import power
from cropdata.experiments.germination import interval
from cropdata.experiments.permutation import Floats, Labels, holm, lowest_p, permutation_test
from cropdata.experiments.results import Comparison, MethodResult, Pair
from cropdata.experiments.trial_records import Seeds, read_seeds
from cropdata.experiments.verdict import verdict_of
from cropdata.experiments.waiting import median_interval, scores, turnbull

LEAST_TARGET, MOST_TARGET = 0.1, 365.0


def compare(
    records: pd.DataFrame | str | os.PathLike[str], target_days: float = 2.0, *, expected_days: float | None = None
) -> Comparison:
    """Compare methods of starting seed.

    Args:
        records: a DataFrame or the path of a CSV, one row a seed: method, seed, sown, last_absent, first_seen (ISO
            dates; last_absent blank: known absent only at sowing; first_seen blank: not seen by last_absent); optional unit (bag or tray), round, event,
            score (seedling health), cause (of loss), warmth_c. Or one row a tray and look: method, unit, sown, seeds,
            looked, emerged.
        target_days: a difference worth finding, for `seeds_needed` and `units_needed`; 0.1 to 365.
        expected_days: middle day of the crop, for the spread that power uses; the trial's own middle day when None.

    The test deals trays within rounds where every method has two or more, else seeds; exact when it can be.
    `detectable_days` is `inf` when no outcome could reach 5 %; `seeds_needed` and `units_needed` are `inf` for more
    than 1000. Raises InputError for records that cannot be used and for methods that count different events.
    """
    if not LEAST_TARGET <= target_days <= MOST_TARGET:
        raise InputError("a difference worth finding lies above 0", found=target_days,
                         allowed=f"{LEAST_TARGET:g} to {MOST_TARGET:g} days", hint=f"found {target_days:g}")  # fmt: skip
    if expected_days is not None and not (math.isfinite(expected_days) and expected_days > 0):
        raise InputError("the expected days lie above 0", found=expected_days)
    seeds = read_seeds(records)
    if len(seeds.names) < 2:
        raise InputError("a comparison needs two methods or more", found=list(seeds.names))
    horizon = float(np.max(np.where(np.isfinite(seeds.right), seeds.right, seeds.left))) + 1
    left, right, coarse = on_common_looks(seeds)
    # Lost in handling: it will never come, which is not the same as "not yet".
    left, right = np.where(seeds.lost, horizon, left), np.where(seeds.lost, np.inf, right)
    seeds = seeds._replace(left=np.where(seeds.lost, horizon, seeds.left))
    dealing = _dealing(seeds)
    results = tuple(_method(seeds, number) for number in range(len(seeds.names)))
    p_value, exact = dealing.test(scores(left, right), seeds.methods, np.ones(left.size, dtype=bool))
    waiting = _waiting(seeds, expected_days)
    pairs, lowest = _pairs(seeds, results, left, right, dealing, waiting)
    found = [pair.detectable_days for pair in pairs if math.isfinite(pair.detectable_days)]
    level = power.LEVEL / len(pairs)  # pairs are corrected, so each must reach its share of 5 %
    arrangement, seeds_a_unit = _arrangement(seeds, dealing)
    comparison = Comparison(
        results, p_value, exact, dealing.permuted, dealing.rounds is not None, pairs, max(found) if found else math.inf,
        power.number_needed(target_days, waiting, level=level), power.number_needed(target_days, waiting, arrangement, level=level),
        seeds_a_unit, target_days, _confounded(seeds, results), (*seeds.warnings, *coarse), "", min(1.0, lowest * len(pairs)),
    )  # fmt: skip
    return comparison._replace(verdict=verdict_of(comparison))


def on_common_looks(seeds: Seeds) -> tuple[Floats, Floats, tuple[str, ...]]:
    """Looks at unlike intervals are read on the looks of the method that was looked at least often, so that often
    looked at does not mean early: (left, right, what was done).
    """
    left, right = seeds.left, seeds.right
    came = np.isfinite(right)
    widths = {
        number: float(np.median((right - left)[came & (seeds.methods == number)]))
        for number in range(len(seeds.names))
        if (came & (seeds.methods == number)).any()
    }
    if len(widths) < 2 or max(widths.values()) < 1.5 * min(widths.values()):
        return left, right, ()
    coarsest = max(widths, key=lambda number: widths[number])
    mine = seeds.methods == coarsest
    days = np.concatenate([[0.0], left[mine], right[mine]])
    grid = np.unique(days[np.isfinite(days)])
    after = np.append(grid, np.inf)[np.searchsorted(grid, right, side="left")]
    words = (
        f"the methods were looked at at unlike intervals; the test reads all on the looks of {seeds.names[coarsest]}"
    )
    return grid[np.searchsorted(grid, left, side="right") - 1], after, (words,)


# Dealing


class _Dealing(NamedTuple):
    """What is dealt: trays (`units`, number of each seed's) or seeds, within `rounds` (number of each seed's)."""

    permuted: str
    units: Labels | None
    rounds: Labels | None

    def things(
        self, values: Floats, groups: Labels, kept: NDArray[np.bool_]
    ) -> tuple[Floats, Labels, Labels | None, Labels]:
        """Values, groups, rounds and numbers of seeds of the things dealt; `values` and `groups` of the kept seeds."""
        rounds = None if self.rounds is None else self.rounds[kept]
        if self.units is None:
            return values, groups, rounds, np.ones(groups.size, dtype=np.intp)
        _, first, unit, number = np.unique(self.units[kept], return_index=True, return_inverse=True, return_counts=True)
        means = np.bincount(unit.reshape(-1), values) / number
        return means, groups[first], None if rounds is None else rounds[first], number

    def test(self, values: Floats, groups: Labels, kept: NDArray[np.bool_]) -> tuple[float, bool]:
        """The permutation test of the kept seeds: (p, exact)."""
        means, labels, rounds, _ = self.things(values, groups, kept)
        return permutation_test(means, labels, rounds)

    def layout(self, groups: Labels, kept: NDArray[np.bool_]) -> power.Layout:
        """The kept seeds of two methods as power simulates them."""
        _, labels, rounds, number = self.things(np.zeros(groups.size), groups, kept)
        turn = np.zeros_like(labels) if rounds is None else np.unique(rounds, return_inverse=True)[1].reshape(-1)
        trays = np.full_like(labels, -1)
        if self.units is not None:
            trays = np.arange(labels.size)
        elif self.permuted == "seeds within trays":
            trays = turn
        return power.Layout(labels, turn, number, trays)


def _numbered(labels: list[tuple[str, ...]]) -> Labels:
    known = {label: number for number, label in enumerate(dict.fromkeys(labels))}
    return np.array([known[label] for label in labels], dtype=np.intp)


def _shared_units(seeds: Seeds) -> list[str]:
    """Trays that hold seeds of more than one method."""
    holds: dict[str, set[int]] = {}
    for unit, method in zip(seeds.units, seeds.methods, strict=True):
        holds.setdefault(unit, set()).add(int(method))
    return [unit for unit, methods in holds.items() if unit and len(methods) > 1]


def _dealing(seeds: Seeds) -> _Dealing:
    rounds = _numbered([(turn,) for turn in seeds.rounds]) if any(seeds.rounds) else None
    if _shared_units(seeds):
        return _Dealing("seeds within trays", None, _numbered(list(zip(seeds.units, seeds.rounds, strict=True))))
    units = _units(seeds)
    if min(len(np.unique(units[seeds.methods == number])) for number in range(len(seeds.names))) >= 2:
        return _Dealing("trays", units, rounds)
    return _Dealing("these seeds in these trays", None, rounds)


def _units(seeds: Seeds) -> Labels:
    """Number of each seed's tray; seeds of a method without one are together one."""
    return _numbered([(str(method), unit) for method, unit in zip(seeds.methods, seeds.units, strict=True)])


# Methods and pairs


def _method(seeds: Seeds, number: int) -> MethodResult:
    mine = seeds.methods == number
    low, high, units, marks = seeds.left[mine], seeds.right[mine], _units(seeds)[mine], seeds.marks[mine]
    emerged, sown = int(np.isfinite(high).sum()), int(mine.sum())
    share_low, share_high = interval(emerged, sown)
    curve = turnbull(low, high)
    return MethodResult(
        seeds.names[number], len(np.unique(units)), sown, emerged, int(seeds.lost[mine].sum()), emerged / sown, float(share_low), float(share_high),
        curve.day_of(0.5) if 2 * emerged >= sown else None, *median_interval(low, high),
        float(np.nanmean(marks)) if np.isfinite(marks).any() else None, curve, low, high, units,
    )  # fmt: skip


def _pairs(
    seeds: Seeds, results: tuple[MethodResult, ...], left: Floats, right: Floats, dealing: _Dealing, waiting: power.Waiting
) -> tuple[tuple[Pair, ...], float]:  # fmt: skip
    """Every pair, and the smallest p that any of them could have reached."""
    chosen = list(itertools.combinations(range(len(results)), 2))
    lowest, rows = 1.0, []
    known: dict[bytes, float] = {}  # pairs laid out alike can show as much
    for a, b in chosen:
        kept = (seeds.methods == a) | (seeds.methods == b)
        groups = (seeds.methods[kept] == b).astype(np.intp)
        values = scores(left[kept], right[kept])
        means, labels, _, _ = dealing.things(values, groups, kept)
        layout = dealing.layout(groups, kept)
        lowest = min(lowest, lowest_p(layout.groups, layout.rounds))
        order = np.lexsort((layout.seeds, layout.groups, layout.rounds))
        layout = power.Layout(*(part[order] for part in layout))
        key = np.concatenate([layout.rounds, layout.groups, layout.seeds]).tobytes()
        if key not in known:
            known[key] = power.detectable(waiting, layout, level=power.LEVEL / len(chosen))
        lead = float(means[labels == 1].mean() - means[labels == 0].mean())
        rows.append(
            (
                results[a],
                results[b],
                lead,
                dealing.test(values, groups, kept)[0],
                known[key],
                _health(seeds, a, b, dealing),
            )
        )
    corrected = holm([p for *_, p, _, _ in rows])
    healths = iter(holm([health for *_, health in rows if health is not None]))
    return tuple(
        _pair(one, other, lead, p, fixed, far, health, None if health is None else next(healths))
        for (one, other, lead, p, far, health), fixed in zip(rows, corrected, strict=True)
    ), lowest


def _health(seeds: Seeds, a: int, b: int, dealing: _Dealing) -> float | None:
    """p of the health scores of two methods, dealt as the trial was; None where they are too few for any test."""
    kept = ((seeds.methods == a) | (seeds.methods == b)) & np.isfinite(seeds.marks)
    groups = (seeds.methods[kept] == b).astype(np.intp)
    if min(np.bincount(groups, minlength=2)) < 2:
        return None
    _, labels, _, _ = dealing.things(seeds.marks[kept], groups, kept)
    if min(np.bincount(labels, minlength=2)) < 2:
        return None
    return dealing.test(seeds.marks[kept], groups, kept)[0]


def _pair(
    one: MethodResult, other: MethodResult, lead: float, p_value: float, corrected: float, detectable: float, health: float | None,
    health_corrected: float | None,
) -> Pair:  # fmt: skip
    difference = ratio = None
    if one.median_days is not None and other.median_days is not None:
        difference = other.median_days - one.median_days
        ratio = other.median_days / one.median_days if one.median_days > 0 else None
    ahead = None if abs(lead) < 1e-9 else one.method if lead > 0 else other.method
    return Pair(
        one.method, other.method, difference, ratio, other.share - one.share, p_value, corrected, health, health_corrected, ahead, detectable
    )  # fmt: skip


# What the next trial needs, and what else differed


def _waiting(seeds: Seeds, expected_days: float | None) -> power.Waiting:
    """How seeds come, for power: middle day of those that came, share that came, days between looks."""
    came = np.isfinite(seeds.right)
    share = (came.sum() + 0.5) / (came.size + 1)
    if not came.any():
        return power.Waiting(expected_days or 1.0, 0.0)
    middle = expected_days or turnbull(seeds.left[came], seeds.right[came]).day_of(0.5)
    assert middle is not None
    width = float(np.median((seeds.right - seeds.left)[came]))
    return power.Waiting(middle, float(share), min(width, middle))


def _arrangement(seeds: Seeds, dealing: _Dealing) -> tuple[Callable[[int], power.Layout], int]:
    """How the next trial is dealt: as this one, with as many seeds of a method in a tray; and how many those are."""
    if dealing.permuted == "seeds within trays":
        trays = _numbered([(unit,) for unit in seeds.units])
        counts = np.unique(np.column_stack([seeds.methods, trays]), axis=0, return_counts=True)[1]
        number = max(1, round(float(np.median(counts))))
        return partial(power.shared_trays, seeds=number), number
    number = max(1, round(float(np.median(np.bincount(_units(seeds))))))
    in_rounds = dealing.permuted == "trays" and dealing.rounds is not None
    return partial(power.in_trays, seeds=number, rounds=in_rounds), number


def _confounded(seeds: Seeds, results: tuple[MethodResult, ...]) -> tuple[str, ...]:
    """What differs between the methods besides the method."""
    found = []
    shared = _shared_units(seeds)
    if shared:
        some = ", ".join(shared[:5]) + (" …" if len(shared) > 5 else "")
        found.append(
            f"{'tray' if len(shared) == 1 else 'trays'} {some} hold{'s' if len(shared) == 1 else ''} seeds of more than one method, "
            "so seeds are dealt within their tray; trays that are not the same need names of their own, else a method cannot be told from its tray"
        )
    alone = [item.method for item in results if item.units < 2]
    if alone and not shared:
        whole = len(alone) == len(results)
        found.append(
            f"{'each method' if whole else ' and '.join(alone)} stand{'s' if whole or len(alone) == 1 else ' each'} in one tray, so that "
            "its tray (place, warmth, moisture) cannot be told from the method"
        )
    sown = np.array(seeds.sown)
    days = [set(sown[seeds.methods == number]) for number in range(len(results))]
    if any(found_here != days[0] for found_here in days):
        found.append("the methods were sown on different days")
    known = np.isfinite(seeds.warmth)
    warmth = [set(seeds.warmth[known & (seeds.methods == number)]) for number in range(len(results))]
    if any(degrees != warmth[0] for degrees in warmth):
        found.append("the methods stood at different warmth")
    return tuple(found)
