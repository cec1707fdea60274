"""How often the intervals cover and the tests cry wolf, by simulation, for trials of few seeds.

    python tools/trial_simulation.py

Waiting times are lognormal about 8 days with the spread among seeds of the evidence; 85 % emerge; looked at every
day. Tray effects are normal with a standard deviation of a tenth of the middle day. No method differs from another.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from cropdata.experiments.germination import interval  # noqa: E402
from cropdata.experiments.permutation import permutation_test  # noqa: E402
from cropdata.experiments.power import LEVEL, SEED_SPREAD, Waiting, detectable, in_trays, singly  # noqa: E402
from cropdata.experiments.waiting import median_interval, scores  # noqa: E402

MIDDLE, SHARE, TRAY, TRIALS = 8.0, 0.85, 0.8, 1000
TRAY_SEEDS = 8.0  # how alike trays are in the share: as if each had its own lot of so many seeds (assumed)


def waits(rng: np.random.Generator, seeds: int, shift: float) -> tuple[np.ndarray, np.ndarray]:
    """Intervals between looks for so many seeds."""
    days = MIDDLE * np.exp(rng.normal(0, SEED_SPREAD, seeds)) + shift
    right = np.where(rng.random(seeds) < SHARE, np.ceil(days), np.inf)
    return np.where(np.isfinite(right), right - 1, 21.0), right


def false_alarms(seeds: int, trays: int, tray_effect: float, rng: np.random.Generator) -> float:
    """Share of trials of two equal methods that are called different at 5 %: seeds dealt, or from two trays on, trays."""
    found = 0
    for trial in range(TRIALS):
        spans = [waits(rng, max(1, seeds // trays), rng.normal(0, tray_effect)) for _ in range(2 * trays)]
        left, right = (np.concatenate(ends) for ends in zip(*spans, strict=True))
        values, labels = scores(left, right), np.repeat([0, 1], left.size // 2)
        if trays > 1:
            values, labels = values.reshape(2 * trays, -1).mean(1), np.repeat([0, 1], trays)
        found += permutation_test(values, labels, draws=500, seed=trial)[0] <= LEVEL
    return found / TRIALS


def covered_in_trays(seeds: int, trays: int, rng: np.random.Generator) -> float:
    """How often the exact interval of a share holds, where trays differ: the chance to emerge is beta about it."""
    total, held = seeds * trays, 0
    for _ in range(TRIALS):
        chances = rng.beta(SHARE * TRAY_SEEDS, (1 - SHARE) * TRAY_SEEDS, trays)
        low, high = interval(int(np.sum(rng.binomial(seeds, chances))), total)
        held += int(float(low) <= SHARE <= float(high))
    return held / TRIALS


def coverage(seeds: int, rng: np.random.Generator) -> tuple[float, float, float]:
    """Share of trials whose 95 % interval holds the truth: exact and Wilson for the share, and the middle day."""
    counts = rng.binomial(seeds, SHARE, 20_000)
    rates = []
    for method in ("exact", "wilson"):
        low, high = interval(counts, seeds, method=method)
        rates.append(float(((np.asarray(low) <= SHARE) & (np.asarray(high) >= SHARE)).mean()))
    # The middle day of all sown is the day by which half have come: 0.5 / 0.85 of those that come.
    from scipy.special import ndtri

    truth = MIDDLE * np.exp(SEED_SPREAD * ndtri(0.5 / SHARE))
    held = 0
    for _ in range(TRIALS):
        low_day, high_day = median_interval(*waits(rng, seeds, 0.0))
        held += low_day <= truth <= high_day
    return rates[0], rates[1], held / TRIALS


def main() -> int:
    """Print the tables."""
    rng = np.random.default_rng(2027)
    print("95 % intervals hold the truth:")
    print("seeds a method | exact share | the same, in 4 trays that differ | Wilson share | middle day")
    for seeds in (3, 5, 10, 20, 40):
        exact, wilson, middle = coverage(seeds, rng)
        trays = f"{covered_in_trays(seeds // 4, 4, rng):.3f}" if seeds >= 4 else "–"
        print(f"{seeds:14} | {exact:11.3f} | {trays:>32} | {wilson:12.3f} | {middle:10.3f}")
    print("\ntwo equal methods called different at 5 %:")
    print("seeds a method | seeds dealt, trays alike | seeds dealt, two trays that differ | four trays a method dealt")
    for seeds in (3, 5, 10, 20):
        plain, confounded = false_alarms(seeds, 1, 0.0, rng), false_alarms(seeds, 1, TRAY, rng)
        trays = f"{false_alarms(seeds, 4, TRAY, rng):.3f}" if seeds >= 4 else "–"
        print(f"{seeds:14} | {plain:24.3f} | {confounded:34.3f} | {trays:>25}")
    print(f"\ndifference in days found in four trials of five (middle day {MIDDLE:g}, {SHARE:.0%} come):")
    waiting = Waiting(MIDDLE, SHARE)
    for seeds in (5, 10, 20, 40, 80):
        print(f"{seeds:4} seeds dealt singly     {detectable(waiting, singly(seeds)):.1f}")
    for number in (4, 6, 8, 12):
        print(f"{number:4} trays of 8, dealt       {detectable(waiting, in_trays(number, 8)):.1f}")
    for number in (5, 6, 8, 12):
        print(f"{number:4} rounds of trays of 8    {detectable(waiting, in_trays(number, 8, rounds=True)):.1f}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
