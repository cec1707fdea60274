"""How often the intervals cover, the tests cry wolf and the power is kept, by simulation, for trials of few seeds.

    python tools/trial_simulation.py

Waiting times are lognormal about 8 days with the spread among seeds of the evidence; 85 % emerge; looked at every
day. Trays that differ: their days by a tenth of the middle day, their share as if each had its own lot of eight seeds
(beta; both assumed). All figures come from the functions that a trial uses; only the drawn permutations are fewer (500).
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
from cropdata.experiments.power import (  # noqa: E402
    LEVEL,
    SEED_SPREAD,
    TRAY_SPREAD,
    Layout,
    Waiting,
    detectable,
    in_trays,
    power_at,
    singly,
)  # fmt: skip
from cropdata.experiments.waiting import median_interval, scores  # noqa: E402

MIDDLE, SHARE, TRIALS = 8.0, 0.85, 1000
TRAY_SEEDS = 8.0  # how alike trays are in the share: as if each had its own lot of so many seeds (assumed)
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


def share_covered(
    seeds: int, trays: int, rng: np.random.Generator, *, method: str = "exact", differ: bool = True
) -> float:
    """How often the 95 % interval of a share holds the truth, for so many seeds in all, dealt over trays."""
    chances = (
        rng.beta(SHARE * TRAY_SEEDS, (1 - SHARE) * TRAY_SEEDS, (20_000, trays))
        if differ
        else np.full((20_000, trays), SHARE)
    )
    low, high = interval(rng.binomial(seeds // trays, chances).sum(axis=1), seeds // trays * trays, method=method)
    return float(((np.asarray(low) <= SHARE) & (np.asarray(high) >= SHARE)).mean())


def middle_covered(seeds: int, effect: float, rng: np.random.Generator) -> float:
    """How often the 95 % interval of the middle day holds the truth, for so many seeds in one tray."""
    from scipy.special import ndtri

    # The middle day of all sown is the day by which half have come: 0.5 / 0.85 of those that come.
    truth = MIDDLE * np.exp(SEED_SPREAD * ndtri(0.5 / SHARE))
    ends = [median_interval(*waits(rng, seeds, effect=effect)) for _ in range(TRIALS)]
    return float(np.mean([low <= truth <= high for low, high in ends]))


def print_coverage() -> None:
    """Intervals of one method."""
    rng = np.random.default_rng(2027)
    print(
        "seeds | exact share | Wilson share | exact, 4 trays that differ | exact, 1 of them | middle day | middle day, 1 of them"
    )
    for seeds in (3, 5, 10, 20, 40):
        figures = (
            share_covered(seeds, 1, rng, differ=False), share_covered(seeds, 1, rng, method="wilson", differ=False),
            share_covered(seeds, 4, rng) if seeds >= 4 else None, share_covered(seeds, 1, rng),
            middle_covered(seeds, 0.0, rng), middle_covered(seeds, TRAY_SPREAD, rng),
        )  # fmt: skip
        print(" | ".join([f"{seeds:5}", *("–" if figure is None else f"{figure:.3f}" for figure in figures)]))


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


def print_detectable() -> None:
    """The difference in days that is found four times in five."""
    print("\ndealt | found in four trials of five, days")
    waiting = Waiting(MIDDLE, SHARE)
    for number in (5, 10, 20, 40, 80):
        print(f"{number} seeds, singly | {detectable(waiting, singly(number)):.1f}")
    for in_rounds in (False, True):
        for number in (4, 5, 6, 8, 12):
            words = f"{number} {'rounds of trays' if in_rounds else 'trays'} of 8 seeds"
            print(f"{words} | {detectable(waiting, in_trays(number, 8, rounds=in_rounds)):.1f}")


def main() -> int:
    """Print the tables."""
    print_coverage()
    print_false_alarms()
    print_power()
    print_detectable()
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
