"""How fast the array functions are, beside what a user would write instead, in one run.

    python tools/agronomy_speed.py

Unset OPENBLAS_CORETYPE and OPENBLAS_L2_SIZE for it where a machine sets them.
"""

from __future__ import annotations

import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from cropdata.agronomy.emergence import days_at  # noqa: E402
from cropdata.agronomy.frost_record import day_quantiles, last_day  # noqa: E402
from cropdata.agronomy.sowing import seeds_needed_each  # noqa: E402
from cropdata.agronomy.viability import viability_after  # noqa: E402
from cropdata.catalog import open_catalog  # noqa: E402
from cropdata.catalog.emerging import main_table  # noqa: E402


def timed(call: Callable[[], object], times: int = 3) -> float:
    """Least wall time in seconds."""
    best = float("inf")
    for _ in range(times):
        start = time.perf_counter()
        call()
        best = min(best, time.perf_counter() - start)
    return best


def emergence() -> None:
    """Ten million temperatures through the tomato's table, against one plain interpolation."""
    catalog = open_catalog(installed=False)
    table = main_table(catalog, catalog.crop("tomato"))
    assert table is not None
    temps = np.random.default_rng(1).uniform(0, 40, 10_000_000)
    rates = 1 / table.days
    plain = timed(lambda: np.interp(temps, table.temperature_c, rates))
    ours = timed(lambda: days_at(temps, table))
    print(f"emergence, 1e7 temperatures: {ours:.2f} s, one numpy.interp {plain:.2f} s, factor {ours / plain:.1f}")


def frost(stations: int = 10_000, compared: int = 500, years: int = 30) -> None:
    """Last frosts and their 10, 50 and 90 % points for many stations, against a pandas group-by on a part of them."""
    rng = np.random.default_rng(1)
    yearly = (12 * np.cos(2 * np.pi * (np.arange(365) - 200) / 365) + 6).astype("float32")

    def minima(count: int) -> NDArray[np.float32]:
        made: NDArray[np.float32] = yearly + rng.normal(0, 4, (count, years, 365)).astype("float32")
        return made

    def quantiles(data: np.ndarray) -> np.ndarray:
        found: np.ndarray = day_quantiles(last_day(data[..., :205]), [0.1, 0.5, 0.9])
        return found

    part = minima(compared)
    frame = pd.DataFrame({
        "station": np.repeat(np.arange(compared), years * 365), "year": np.tile(np.repeat(np.arange(years), 365), compared),
        "day": np.tile(np.arange(365), compared * years), "minimum": part.ravel(),
    })  # fmt: skip

    def by_pandas() -> object:
        cold = frame[(frame["minimum"] <= 0) & (frame["day"] < 205)]
        return cold.groupby(["station", "year"])["day"].max().groupby("station").quantile(np.array([0.1, 0.5, 0.9]))

    theirs, ours = timed(by_pandas), timed(lambda: quantiles(part))
    assert np.allclose(np.asarray(by_pandas()).reshape(compared, 3), quantiles(part).T)
    start = time.perf_counter()
    for _ in range(stations // 1000):  # by chunks: memory stays a small multiple of one
        quantiles(minima(1000))
    whole = time.perf_counter() - start
    print(
        f"frost, {compared} stations x {years} years: {ours:.2f} s, pandas group-by {theirs:.2f} s, factor {theirs / ours:.0f}; "
        f"{stations} stations (making the data included): {whole:.1f} s"
    )


def packets(count: int = 100_000) -> None:
    """Seeds to sow for a hundred thousand packets with tests of the usual sizes."""
    rng = np.random.default_rng(1)
    sown = rng.choice([10, 20, 25, 50, 100], count)
    germinated = rng.binomial(sown, rng.beta(8, 2, count))
    plants = rng.choice([3, 6, 10, 12, 20, 24, 40, 50, 60, 100], count)
    combinations = len(np.unique(np.stack([plants, germinated, sown]), axis=1).T)
    seconds = timed(lambda: seeds_needed_each(plants, germinated, sown), 1)
    print(f"seeds to sow, {count} packets ({combinations} distinct): {seconds:.2f} s")


def viability(count: int = 1_000_000) -> None:
    """A million lots through the viability equation."""
    rng = np.random.default_rng(1)
    moisture, temp, days = rng.uniform(5, 15, count), rng.uniform(0, 50, count), rng.uniform(0, 3000, count)
    seconds = timed(lambda: viability_after(95, 8.0, 4.5, 0.0329, 0.000478, moisture, temp, days))
    print(f"viability, {count} lots: {seconds:.2f} s")


def lots(count: int = 100_000) -> None:
    """Intervals and indices of a seed library's lots, ten counts each."""
    from cropdata.experiments.germination import indices, interval

    rng = np.random.default_rng(1)
    newly = rng.integers(0, 9, (count, 10))
    sown = np.full(count, 100)
    seconds = timed(lambda: (interval(np.minimum(newly.sum(axis=1), 100), sown), indices(range(1, 11), newly, sown)))
    print(f"germination intervals and indices, {count} lots: {seconds:.2f} s")


def main() -> int:
    """Run all."""
    emergence()
    frost()
    packets()
    viability()
    lots()
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
