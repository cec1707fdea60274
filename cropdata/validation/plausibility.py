"""Fourth storey: whether the figures of a row can be true together."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from cropdata.errors import CropdataError
from cropdata.tabular.canonical import canonical_cells
from cropdata.tabular.descriptor import Table
from cropdata.tabular.rows import Row
from cropdata.validation.report import Finding

RULES = ("low-above-high", "temperature-order")
_ORDERED = (
    ("low", "high"),
    ("temperature_low", "temperature_high"),
    ("minimum", "maximum"),
    ("optimum_low", "optimum_high"),
)
_TEMPERATURES = ("minimum", "optimum_low", "optimum", "optimum_high", "maximum")


def _number(row: Row, name: str) -> float | None:
    try:
        return float(row[name]) if row.get(name) else None
    except ValueError:
        return None


def order_findings(rows: list[tuple[int, Row]], table: Table, file: str) -> Iterator[Finding]:
    """Low above high; temperatures out of order."""
    pairs = [pair for pair in _ORDERED if table.field(pair[0]) and table.field(pair[1])]
    for number, row in rows:
        for low_name, high_name in pairs:
            low, high = _number(row, low_name), _number(row, high_name)
            if low is not None and high is not None and low > high:
                yield Finding(file, number, low_name, "low-above-high", "error", f"{low:g} and {high:g}", f"{low_name} at most {high_name}",
                              "the lower end is above the upper one", "swap the two, or look at the source again")  # fmt: skip
        if table.name == "germination_temperature":
            values = [(name, value) for name in _TEMPERATURES if (value := _number(row, name)) is not None]
            for (one, below), (other, above) in itertools.pairwise(values):
                if below > above and (one, other) not in pairs:
                    yield Finding(file, number, one, "temperature-order", "error", f"{one} {below:g}, {other} {above:g}",
                                  "minimum, best range and maximum in rising order", "temperatures are out of order", None)  # fmt: skip


def canonical_findings(rows: list[tuple[int, Row]], table: Table, file: str) -> Iterator[Finding]:
    """Canonical cells that are not the printed figure converted: the guard against inches taken for millimetres."""
    for number, row in rows:
        try:
            cells = canonical_cells(row, table)
        except (CropdataError, ValueError, KeyError):
            continue  # the typed pass reports the cell itself
        for name, text in cells.items():
            if name in row and row[name] != text:
                yield Finding(file, number, name, "not-as-printed", "error", row[name], text or "empty",
                              "is not the printed figure converted", "python tools/build.py writes this column; edit the printed one")  # fmt: skip
