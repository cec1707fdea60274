"""Which curve to draw through a printed table of days to emergence: leave one temperature out, predict it, compare.

    python tools/curve_choice.py

Three curves are compared on every table of the release: the rate (1/days) straight between points, the rate by
a shape-preserving cubic (scipy's PCHIP), and the days straight between points. The error is the absolute
logarithm of predicted over printed days, so that a factor counts alike at 3 and at 30 days. A point is predicted
only where both neighbours were tested and something came up at them; points beside "none" are told apart.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from cropdata.catalog import open_catalog  # noqa: E402
from cropdata.catalog.emerging import lineage_tables  # noqa: E402

Predict = Callable[[np.ndarray, np.ndarray, float], float]


def rate_straight(temps: np.ndarray, days: np.ndarray, at: float) -> float:
    """The rule of the package."""
    return float(1 / np.interp(at, temps, 1 / days))


def rate_cubic(temps: np.ndarray, days: np.ndarray, at: float) -> float:
    """Shape-preserving cubic through the rates."""
    from scipy.interpolate import PchipInterpolator

    return float(1 / PchipInterpolator(temps, 1 / days)(at))


def days_straight(temps: np.ndarray, days: np.ndarray, at: float) -> float:
    """Straight through the days; nothing where a neighbour is without emergence."""
    return float(np.interp(at, temps, days))


CURVES: dict[str, Predict] = {
    "rate, straight": rate_straight,
    "rate, shape-preserving cubic": rate_cubic,
    "days, straight": days_straight,
}


def errors(beside_none: bool) -> dict[str, list[float]]:
    """Absolute log errors by curve, for inner points, or for points whose cooler neighbour had no emergence."""
    catalog = open_catalog(installed=False)
    found: dict[str, list[float]] = {name: [] for name in CURVES}
    for crop_id in catalog:
        rows = catalog.used_rows("emergence_by_temperature", crop_id)
        for table in lineage_tables(catalog, rows).values():
            temps, days = table.temperature_c, table.days
            for index in range(1, temps.size - 1):
                left, right = days[index - 1], days[index + 1]
                if not np.isfinite(days[index]) or not np.isfinite(right) or np.isfinite(left) == beside_none:
                    continue
                kept = np.arange(temps.size) != index
                for name, predict in CURVES.items():
                    with np.errstate(divide="ignore", invalid="ignore"):
                        predicted = predict(temps[kept], days[kept], temps[index])
                    if np.isfinite(predicted) and predicted > 0:
                        found[name].append(abs(float(np.log(predicted / days[index]))))
    return found


def main() -> int:
    """Print the table."""
    for title, beside_none in (("inner points", False), ("points just above a temperature without emergence", True)):
        print(f"{title}:")
        for name, values in errors(beside_none).items():
            if values:
                factors = np.exp(np.quantile(values, [0.5, 0.9]))
                print(
                    f"  {name:30} {len(values):4} points, median factor {factors[0]:.2f}, 90 % within {factors[1]:.2f}"
                )
            else:
                print(f"  {name:30} no prediction")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
