"""Days to emergence of a catalog's crop: which printed table, how sure, how far the seedlings spread."""

from __future__ import annotations

import datetime
import math

import numpy as np
from numpy.typing import ArrayLike

from cropdata.agronomy.emergence import (
    EmergenceTable,
    accumulate,
    bound_at,
    days_at,
    days_under,
    emergence_table,
    outside_at,
    percent_at,
    practical_minimum,
    rate_at,
    thermal_days,
)
from cropdata.catalog.answers import layers_behind
from cropdata.catalog.catalog import Catalog
from cropdata.catalog.crop import Crop
from cropdata.catalog.emergence_points import lineage_cells, points_of
from cropdata.catalog.records import Estimate
from cropdata.tabular.rows import Row

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Mapping

    from cropdata.catalog.emergence_points import Cells

# Two temperatures in °C are the same: conversion from °F leaves less.
_SAME_C = 0.005


def lineage_tables(catalog: Catalog, rows: list[Row]) -> dict[str, EmergenceTable]:
    """The printed tables of two points or more, one for each lineage."""
    return _tables(catalog, lineage_cells(catalog, rows))


def _tables(catalog: Catalog, cells: Cells) -> dict[str, EmergenceTable]:
    return {
        lineage: emergence_table(*zip(*points_of(catalog, at), strict=True))
        for lineage, at in cells.items()
        if len(at) >= 2
    }


def _ratio(catalog: Catalog, rule_id: str) -> float:
    return float(catalog.rule(rule_id)["low"])


def _scalar_or_array(values: np.ndarray, scalar: bool) -> float | np.ndarray:
    return float(values) if scalar else values


def _seedling_points(catalog: Catalog, crop: Crop) -> tuple[list[float], list[float]] | None:
    rows = sorted(catalog.seedling_rows(crop), key=lambda row: float(row["temperature_c"]))
    by_temperature: dict[float, float] = {}
    for row in rows:
        by_temperature.setdefault(
            float(row["temperature_c"]), float(row["percent"]) if row["percent"] else float("nan")
        )
    return (list(by_temperature), list(by_temperature.values())) if len(by_temperature) >= 2 else None


def _percent(catalog: Catalog, crop: Crop, asked: np.ndarray) -> np.ndarray:
    points = _seedling_points(catalog, crop)
    return np.full(asked.shape, np.nan) if points is None else percent_at(asked, *points)


def estimate_emergence(catalog: Catalog, crop: Crop, soil_temp_c: ArrayLike) -> Estimate | None:
    """See `Crop.days_to_emergence`.

    The expected days come from the table with most printed temperatures. `low` and `high` span the tables of
    all lineages there, with a single temperature that a layer adds, and at least the error found when one lineage predicts another (rules
    `emergence_error_low`, `emergence_error_high`). `first` and `last` use the pooled spread among seeds (rules
    `emergence_first`, `emergence_last`), measured on open germination records of other kinds.
    """
    asked = np.asarray(soil_temp_c, dtype=float)
    scalar = asked.ndim == 0
    rows = catalog.emergence_rows(crop)
    cells = lineage_cells(catalog, rows)
    tables = _tables(catalog, cells)
    if tables:
        single = [
            at for at in cells.values() if len(at) == 1 and all(row.get("layer") for row in next(iter(at.values())))
        ]
        alone = [
            np.where(_is_at(asked, points_of(catalog, at)[0][0]), points_of(catalog, at)[0][1], np.nan) for at in single
        ]
        low, expected, high, outside = _from_tables(catalog, tables, alone, asked)
        used = _used(rows, [*(cells[lineage] for lineage in tables), *single], _main(tables), asked)
        sources = tuple(sorted({row["source_id"] for row in used}))
        basis, behind = "table", layers_behind(used)
    elif constants := _constants(catalog, crop, "emergence"):
        low, expected, high, outside = _from_constants(catalog, constants, asked)
        sources, basis, behind = (constants["source_id"],), "thermal time", layers_behind([constants])
    elif crop.emergence_range is not None:
        low, expected, high, outside = _from_range(catalog, crop, asked)
        sources, basis = crop.emergence_range.sources, "range"
        behind = crop.emergence_range.layer, crop.emergence_range.layer_rows
    else:
        return None
    return Estimate(
        _scalar_or_array(low, scalar), _scalar_or_array(expected, scalar), _scalar_or_array(high, scalar),
        first=_scalar_or_array(expected * _ratio(catalog, "emergence_first"), scalar),
        last=_scalar_or_array(high * _ratio(catalog, "emergence_last"), scalar),
        percent_normal=_scalar_or_array(_percent(catalog, crop, asked), scalar),
        basis=basis, sources=sources, layer=behind[0], layer_rows=behind[1],
        extrapolated=bool(outside) if scalar else outside,
    )  # fmt: skip


def _main(tables: Mapping[str, EmergenceTable]) -> EmergenceTable:
    """The table with most printed temperatures."""
    return max(tables.values(), key=lambda table: table.temperature_c.size)


def _is_at(asked: np.ndarray, temp: float) -> np.ndarray:
    return np.abs(asked - temp) < _SAME_C


def _used(rows: list[Row], cells: list[dict[float, list[Row]]], main: EmergenceTable, asked: np.ndarray) -> list[Row]:
    """The rows that the answer rests on: in each table the printed temperatures next to those asked; outside what any
    table spans the nearest of the main one.
    """
    wanted = asked[np.isfinite(asked)].ravel()
    used: set[int] = set()
    for at in cells:
        temps = np.array(list(at))
        inside = wanted[(wanted > temps[0] - _SAME_C) & (wanted < temps[-1] + _SAME_C)]
        if not inside.size and temps.tolist() == main.temperature_c.tolist():
            inside = wanted if wanted.size else temps
        before, after = np.searchsorted(temps, inside, "right") - 1, np.searchsorted(temps, inside, "left")
        for place in np.unique(np.clip([before, after], 0, temps.size - 1)):
            used.update(map(id, at[float(temps[place])]))
    return [row for row in rows if id(row) in used]


def _from_tables(
    catalog: Catalog, tables: Mapping[str, EmergenceTable], alone: list[np.ndarray], asked: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """From whole tables, and from the days of temperatures that stand `alone`, NaN elsewhere."""
    main = _main(tables)
    expected = days_at(asked, main)
    all_days = np.stack([*(days_at(asked, table) for table in tables.values()), *alone])
    with np.errstate(invalid="ignore"):
        low = np.fmin(np.fmin.reduce(all_days), expected * _ratio(catalog, "emergence_error_low"))
        high = np.fmax(np.fmax.reduce(all_days), expected * _ratio(catalog, "emergence_error_high"))
    bound = bound_at(asked, main)
    bounded = ~np.isnan(bound)
    return np.where(bounded, bound, low), expected, np.where(bounded, np.inf, high), outside_at(asked, main)


def _constants(catalog: Catalog, crop: Crop, event: str) -> Row | None:
    """The best row of thermal time with a base and a time for that event; a recalled one only where nothing is printed."""
    rows = [
        row
        for row in catalog.thermal_rows(crop)
        if row["event"] == event and row["thermal_time_c_days"] and row["base_low_c"]
    ]
    if crop.emergence_range is not None and event == "emergence":
        rows = [row for row in rows if row["basis"] == "published" or crop.emergence_range.basis != "published"]
    return (
        min(rows, key=lambda row: (row["basis"] != "published", row["percentile"] != "50", row["row_id"]))
        if rows
        else None
    )


def _from_constants(
    catalog: Catalog, row: Row, asked: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Thermal time: from the base to the optimum; level over a flat optimum; up to the ceiling or the usual warm end
    where no optimum is printed.
    """
    base = (float(row["base_low_c"]) + float(row["base_high_c"] or row["base_low_c"])) / 2
    level = float(row["optimum_low_c"]) if row["optimum_low_c"] else np.inf
    top = row["optimum_high_c"] or row["ceiling_c"]
    highest = float(top) if top else float(catalog.rule("plain_range_span")["high"])
    expected = thermal_days(np.minimum(asked, level), base, float(row["thermal_time_c_days"]))
    expected = np.where(np.isinf(expected) | (asked > highest), np.nan, expected)
    error_low, error_high = _ratio(catalog, "emergence_error_low"), _ratio(catalog, "emergence_error_high")
    return expected * error_low, expected, expected * error_high, np.isnan(expected)


def estimate_radicle(catalog: Catalog, crop: Crop, temp_c: ArrayLike) -> Estimate | None:
    """See `Crop.days_to_radicle`."""
    row = _constants(catalog, crop, "germination")
    if row is None:
        return None
    asked = np.asarray(temp_c, dtype=float)
    scalar = asked.ndim == 0
    low, expected, high, outside = _from_constants(catalog, row, asked)
    layer, layer_rows = layers_behind([row])
    return Estimate(
        _scalar_or_array(low, scalar), _scalar_or_array(expected, scalar), _scalar_or_array(high, scalar),
        first=_scalar_or_array(expected * _ratio(catalog, "emergence_first"), scalar),
        last=_scalar_or_array(high * _ratio(catalog, "emergence_last"), scalar),
        percent_normal=_scalar_or_array(np.full(asked.shape, np.nan), scalar),
        basis="thermal time", sources=(row["source_id"],), extrapolated=bool(outside) if scalar else outside,
        layer=layer, layer_rows=layer_rows,
    )  # fmt: skip


def main_table(catalog: Catalog, crop: Crop) -> EmergenceTable | None:
    """The table with most printed temperatures, or None."""
    tables = lineage_tables(catalog, catalog.emergence_rows(crop))
    return _main(tables) if tables else None


def estimate_under(catalog: Catalog, crop: Crop, hourly_temp_c: ArrayLike) -> tuple[float, float, float] | None:
    """Least, expected and most days when the day of `hourly_temp_c` repeats; see `Crop.days_to_emergence_under`."""
    table = main_table(catalog, crop)
    if table is None:
        return None
    fewest, most = (float(value) for value in days_under(hourly_temp_c, table))
    expected = fewest if math.isclose(fewest, most) else float("nan")
    return fewest * _ratio(catalog, "emergence_error_low"), expected, most * _ratio(catalog, "emergence_error_high")


def practical_minimum_of(catalog: Catalog, crop: Crop) -> float | None:
    """See `Crop.practical_minimum_c`."""
    table = main_table(catalog, crop)
    points = _seedling_points(catalog, crop)
    return practical_minimum(table, *points) if table is not None and points is not None else None


def emergence_dates(
    catalog: Catalog, crop: Crop, sown: datetime.date, daily_temp_c: ArrayLike
) -> tuple[datetime.date | None, datetime.date | None] | None:
    """See `Crop.emergence_date`."""
    table = main_table(catalog, crop)
    if table is None:
        return None
    temps = np.asarray(daily_temp_c, float)
    dates = []
    for rate, error in zip(
        reversed(rate_at(temps, table)), ("emergence_error_low", "emergence_error_high"), strict=True
    ):
        day = int(accumulate(temps, np.nan_to_num(rate) / _ratio(catalog, error)))
        known = day >= 0 and not np.isnan(rate[: day + 1]).any()  # a day that nobody tested is not one without growth
        dates.append(sown + datetime.timedelta(days=day + 1) if known else None)
    return dates[0], dates[1]


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
