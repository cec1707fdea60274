"""Days to emergence of a catalog's crop: which printed table, how sure, how far the seedlings spread."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from cropdata.agronomy.emergence import (
    EmergenceTable,
    bound_at,
    days_at,
    emergence_table,
    outside_at,
    percent_at,
)
from cropdata.catalog.catalog import Catalog
from cropdata.catalog.crop import Crop
from cropdata.catalog.emergence_points import lineage_points
from cropdata.catalog.records import Estimate
from cropdata.tabular.rows import Row


def lineage_tables(catalog: Catalog, rows: list[Row]) -> dict[str, EmergenceTable]:
    """The printed tables of two points or more, one for each lineage."""
    return {
        lineage: emergence_table(*zip(*points, strict=True))
        for lineage, points in lineage_points(catalog, rows).items()
        if len(points) >= 2
    }


def _ratio(catalog: Catalog, rule_id: str) -> float:
    return float(catalog.rule(rule_id)["low"])


def _scalar_or_array(values: np.ndarray, scalar: bool) -> float | np.ndarray:
    return float(values) if scalar else values


def _percent(catalog: Catalog, crop: Crop, asked: np.ndarray) -> np.ndarray:
    rows = sorted(catalog.seedling_rows(crop), key=lambda row: float(row["temperature_c"]))
    by_temperature: dict[float, float] = {}
    for row in rows:
        by_temperature.setdefault(
            float(row["temperature_c"]), float(row["percent"]) if row["percent"] else float("nan")
        )
    if len(by_temperature) < 2:
        return np.full(asked.shape, np.nan)
    return percent_at(asked, list(by_temperature), list(by_temperature.values()))


def estimate_emergence(catalog: Catalog, crop: Crop, soil_temp_c: ArrayLike) -> Estimate | None:
    """See `Crop.days_to_emergence`.

    The expected days come from the table with most printed temperatures. `low` and `high` span the tables of
    all lineages there, and at least the error found when one lineage predicts another (rules
    `emergence_error_low`, `emergence_error_high`). `first` and `last` use the pooled spread among seeds (rules
    `emergence_first`, `emergence_last`), measured on open germination records of other kinds.
    """
    asked = np.asarray(soil_temp_c, dtype=float)
    scalar = asked.ndim == 0
    rows = catalog.emergence_rows(crop)
    tables = lineage_tables(catalog, rows)
    if tables:
        low, expected, high, outside = _from_tables(catalog, list(tables.values()), asked)
        sources = tuple(sorted({row["source_id"] for row in rows}))
        basis = "table"
    elif crop.emergence_range is not None:
        low, expected, high, outside = _from_range(catalog, crop, asked)
        sources, basis = crop.emergence_range.sources, "range"
    else:
        return None
    return Estimate(
        _scalar_or_array(low, scalar), _scalar_or_array(expected, scalar), _scalar_or_array(high, scalar),
        first=_scalar_or_array(expected * _ratio(catalog, "emergence_first"), scalar),
        last=_scalar_or_array(high * _ratio(catalog, "emergence_last"), scalar),
        percent_normal=_scalar_or_array(_percent(catalog, crop, asked), scalar),
        basis=basis, sources=sources,
        extrapolated=bool(outside) if scalar else outside,
    )  # fmt: skip


def _from_tables(
    catalog: Catalog, tables: list[EmergenceTable], asked: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    main = max(tables, key=lambda table: table.temperature_c.size)
    expected = days_at(asked, main)
    all_days = np.stack([days_at(asked, table) for table in tables])
    with np.errstate(invalid="ignore"):
        low = np.fmin(np.fmin.reduce(all_days), expected * _ratio(catalog, "emergence_error_low"))
        high = np.fmax(np.fmax.reduce(all_days), expected * _ratio(catalog, "emergence_error_high"))
    bound = bound_at(asked, main)
    bounded = ~np.isnan(bound)
    return np.where(bounded, bound, low), expected, np.where(bounded, np.inf, high), outside_at(asked, main)


def _from_range(
    catalog: Catalog, crop: Crop, asked: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """A plain range holds at the temperatures at which the crop germinates, or at the usual ones if unknown."""
    plain, limits = crop.emergence_range, crop.germination_temperature
    assert plain is not None
    usual = catalog.rule("plain_range_span")
    bottom = top = None
    if limits is not None:
        bottom = limits.minimum if limits.minimum is not None else limits.optimum_low
        top = limits.maximum if limits.maximum is not None else limits.optimum_high
    bottom = float(usual["low"]) if bottom is None else bottom
    top = float(usual["high"]) if top is None else top
    outside = ~((asked >= bottom) & (asked <= top))

    def where(days: float) -> np.ndarray:
        return np.where(outside, np.nan, days)

    return where(plain.low), where((plain.low + plain.high) / 2), where(plain.high), outside
