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
from cropdata.experiments.trial import SEED_SPREAD  # noqa: E402
from cropdata.experiments.waiting import median_interval, scores  # noqa: E402

MIDDLE, SHARE, TRAY, TRIALS = 8.0, 0.85, 0.8, 1000


def waits(rng: np.random.Generator, seeds: int, shift: float) -> tuple[np.ndarray, np.ndarray]:
    """Intervals between looks for so many seeds."""
    days = MIDDLE * np.exp(rng.normal(0, SEED_SPREAD, seeds)) + shift
    right = np.where(rng.random(seeds) < SHARE, np.ceil(days), np.inf)
    return np.where(np.isfinite(right), right - 1, 21.0), right


def false_alarms(seeds: int, trays: int, tray_effect: float, rng: np.random.Generator) -> float:
    """Share of trials of two equal methods that are called different at 5 %."""
    found = 0
    for _ in range(TRIALS):
        left, right, method, tray = [], [], [], []
        for which in (0, 1):
            for number in range(trays):
                low, high = waits(rng, max(1, seeds // trays), rng.normal(0, tray_effect))
                left.append(low)
                right.append(high)
                method += [which] * low.size
                tray += [which * trays + number] * low.size
        values = scores(np.concatenate(left), np.concatenate(right))
        labels, places = np.array(method), np.array(tray)
        if trays > 1:
            values = np.array([values[places == place].mean() for place in range(2 * trays)])
            labels = np.array([place // trays for place in range(2 * trays)])
        found += (
            permutation_test(values, labels)[0] <= 0.05 if labels.size <= 18 else _drawn(values, labels, rng) <= 0.05
        )
    return found / TRIALS


def _drawn(values: np.ndarray, labels: np.ndarray, rng: np.random.Generator, draws: int = 500) -> float:
    """The same test with fewer draws, for speed."""
    rows = rng.permuted(np.tile(labels, (draws, 1)), axis=1)
    seen = abs(values[labels == 0].mean() - values[labels == 1].mean())
    means = np.abs(
        ((rows == 0) * values).sum(1) / (labels == 0).sum() - ((rows == 1) * values).sum(1) / (labels == 1).sum()
    )
    return float(((means >= seen - 1e-9).sum() + 1) / (draws + 1))


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
    """Print the table."""
    rng = np.random.default_rng(2027)
    print(
        "seeds a method | exact share | Wilson share | middle day | false alarms: seeds, no tray effect | seeds, tray effect | 4 trays, tray effect"
    )
    for seeds in (3, 5, 10, 20):
        exact, wilson, middle = coverage(seeds, rng)
        plain, confounded = false_alarms(seeds, 1, 0.0, rng), false_alarms(seeds, 1, TRAY, rng)
        trays = f"{false_alarms(seeds, 4, TRAY, rng):.3f}" if seeds >= 4 else "–"
        print(
            f"{seeds:14} | {exact:11.3f} | {wilson:12.3f} | {middle:10.3f} | {plain:35.3f} | {confounded:18.3f} | {trays:>20}"
        )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
