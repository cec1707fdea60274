"""How often the intervals cover, the tests cry wolf and the power is kept, by simulation, for trials of few seeds.

    python tools/trial_simulation.py

Waiting times are lognormal about 8 days with the spread among seeds of the evidence; 85 % emerge; looked at every
day. Trays that differ: their days by a tenth of the middle day, their share by ten points (beta; both assumed). All
figures come from the functions that a trial uses; only the drawn permutations are fewer (500).
"""

from __future__ import annotations

import itertools
import sys
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from cropdata.experiments.germination import interval  # noqa: E402
from cropdata.experiments.permutation import holm, permutation_test  # noqa: E402
from cropdata.experiments.power import SEED_SPREAD, TRAY_SPREAD, Layout, Waiting, in_trays, power_at, singly  # noqa: E402
from cropdata.experiments.waiting import median_interval, scores  # noqa: E402

MIDDLE, SHARE, SHARE_SPREAD, TRIALS, LEVEL = 8.0, 0.85, 0.10, 1000, 0.05
Floats = np.ndarray


def waits(
    rng: np.random.Generator, seeds: int, *, later: float = 0.0, effect: float = 0.0, share: float = SHARE
) -> tuple[Floats, Floats]:
    """Intervals between looks for the seeds of one tray."""
    days = MIDDLE * np.exp(rng.normal(0, SEED_SPREAD, seeds)) + later + effect * MIDDLE * rng.normal()
    right = np.where(rng.random(seeds) < share, np.ceil(days), np.inf)
    return np.where(np.isfinite(right), right - 1, 30.0), right


def found(
    rng: np.random.Generator, later: tuple[float, ...], trays: int, seeds: int, effect: float, *, in_rounds: bool
) -> tuple[bool, bool]:
    """One trial of as many methods as `later` has days: (all alike refused, some pair called different after Holm).

    Trays are dealt where a method has several, else seeds.
    """
    rows = [
        (method, tray, waits(rng, seeds, later=day, effect=effect))
        for tray in range(trays)
        for method, day in enumerate(later)
    ]

    def p_of(chosen: tuple[int, ...]) -> float:
        kept = [row for row in rows if row[0] in chosen]
        values = scores(*(np.concatenate([row[2][end] for row in kept]) for end in (0, 1)))
        labels, rounds = np.array([row[0] for row in kept]), np.array([row[1] for row in kept])
        if trays > 1:
            values = values.reshape(len(kept), seeds).mean(axis=1)
        else:
            labels, rounds = np.repeat(labels, seeds), np.repeat(rounds, seeds)
        return permutation_test(values, labels, rounds if in_rounds else None, draws=500)[0]

    pairs = [p_of(pair) for pair in itertools.combinations(range(len(later)), 2)]
    overall = pairs[0] if len(pairs) == 1 else p_of(tuple(range(len(later))))
    return overall <= LEVEL, min(holm(pairs)) <= LEVEL


def rate(
    later: tuple[float, ...], trays: int, seeds: int, effect: float, *, in_rounds: bool = False, seed: int = 1
) -> tuple[float, float]:
    """Share of trials in which (all alike is refused, some pair is called different)."""
    rng = np.random.default_rng(seed)
    all_, some = np.mean([found(rng, later, trays, seeds, effect, in_rounds=in_rounds) for _ in range(TRIALS)], axis=0)
    return float(all_), float(some)


def coverage(seeds: int, rng: np.random.Generator) -> tuple[float, float, float, float, float]:
    """Share of trials whose 95 % interval holds the truth: exact and Wilson for the share with trays alike, exact with a
    tray of its own share, the middle day with trays alike, and with a tray of its own days.
    """
    counts = rng.binomial(seeds, SHARE, 20_000)
    between = SHARE * (1 - SHARE) / SHARE_SPREAD**2 - 1
    unlike = rng.binomial(seeds, rng.beta(SHARE * between, (1 - SHARE) * between, 20_000))
    rates = []
    for which, method in ((counts, "exact"), (counts, "wilson"), (unlike, "exact")):
        low, high = interval(which, seeds, method=method)
        rates.append(float(((np.asarray(low) <= SHARE) & (np.asarray(high) >= SHARE)).mean()))
    # The middle day of all sown is the day by which half have come: 0.5 / 0.85 of those that come.
    from scipy.special import ndtri

    truth = MIDDLE * np.exp(SEED_SPREAD * ndtri(0.5 / SHARE))
    for effect in (0.0, TRAY_SPREAD):
        ends = [median_interval(*waits(rng, seeds, effect=effect)) for _ in range(TRIALS)]
        rates.append(float(np.mean([low <= truth <= high for low, high in ends])))
    return rates[0], rates[1], rates[2], rates[3], rates[4]


def print_coverage() -> None:
    """Intervals of one method in one tray."""
    rng = np.random.default_rng(2027)
    print("seeds | exact share | Wilson share | exact share, trays differ | middle day | middle day, trays differ")
    for seeds in (3, 5, 10, 20, 40):
        exact, wilson, unlike, middle, moved = coverage(seeds, rng)
        print(f"{seeds:5} | {exact:11.3f} | {wilson:12.3f} | {unlike:25.3f} | {middle:10.3f} | {moved:.3f}")


def print_false_alarms() -> None:
    """Methods that do not differ."""
    print("\nmethods, trays, seeds a tray | dealt | trays | all alike refused | some pair called different")
    alike: tuple[tuple[int, int, int, float, bool], ...] = (
        (2, 1, 5, 0.0, False), (2, 1, 10, 0.0, False), (2, 1, 20, 0.0, False), (3, 1, 10, 0.0, False), (3, 1, 20, 0.0, False),
        (2, 1, 5, TRAY_SPREAD, False), (2, 1, 10, TRAY_SPREAD, False), (2, 1, 20, TRAY_SPREAD, False), (3, 1, 20, TRAY_SPREAD, False),
        (2, 4, 5, TRAY_SPREAD, False), (2, 6, 8, TRAY_SPREAD, True), (3, 5, 8, TRAY_SPREAD, False), (3, 7, 8, TRAY_SPREAD, True),
    )  # fmt: skip
    for methods, trays, seeds, effect, in_rounds in alike:
        all_, some = rate((0.0,) * methods, trays, seeds, effect, in_rounds=in_rounds)
        dealt = "seeds" if trays == 1 else "trays in rounds" if in_rounds else "trays"
        print(
            f"{methods}, {trays}, {seeds:2} | {dealt:15} | {'differ' if effect else 'alike':6} | {all_:.3f} | {some:.3f}"
        )


def print_power() -> None:
    """Two methods, two days apart: what `power_at` says, and how often the real test finds it."""
    print("\nlayout, 2 days apart | power_at | found")
    layouts: tuple[tuple[str, Layout, int, int, float, bool], ...] = (
        ("20 seeds each", singly(20), 1, 20, 0.0, False),
        ("40 seeds each", singly(40), 1, 40, 0.0, False),
        ("5 trays of 8 each", in_trays(5, 8), 5, 8, TRAY_SPREAD, False),
        ("8 trays of 8 each", in_trays(8, 8), 8, 8, TRAY_SPREAD, False),
        ("7 rounds of trays of 8", in_trays(7, 8, rounds=True), 7, 8, TRAY_SPREAD, True),
        ("13 rounds of trays of 4", in_trays(13, 4, rounds=True), 13, 4, TRAY_SPREAD, True),
    )
    for words, layout, trays, seeds, effect, in_rounds in layouts:
        said = power_at(2.0, Waiting(MIDDLE, SHARE), layout)
        print(f"{words} | {said:.3f} | {rate((0.0, 2.0), trays, seeds, effect, in_rounds=in_rounds)[0]:.3f}")


def main() -> int:
    """Print the tables."""
    print_coverage()
    print_false_alarms()
    print_power()
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
