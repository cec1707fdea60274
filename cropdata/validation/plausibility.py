"""Fourth storey, first half: whether the figures of a row can be true by themselves."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import NamedTuple

from cropdata.catalog.layer_rows import OUTCOME_OF
from cropdata.errors import CropdataError
from cropdata.tabular.canonical import canonical_cells
from cropdata.tabular.descriptor import Table
from cropdata.validation.files import Chunk
from cropdata.validation.report import Finding

# Pairs of columns of which the first may not be above the second; besides, any `…_low` and `…_high` of one name.
ORDERED = (
    ("low", "high"),
    ("temperature_low", "temperature_high"),
    ("minimum", "maximum"),
    ("optimum_low", "optimum_high"),
    ("base_low", "base_high"),
    ("first_count_days", "final_count_days"),
    ("days_5", "days_50"),
    ("days_50", "days_95"),
)
# Columns that rise from left to right, in whichever table has them.
_RISING = (
    ("minimum", "optimum_low", "optimum", "optimum_high", "maximum"),
    ("base_low", "base_high", "optimum_low", "optimum_high", "ceiling"),
)


class Fault(NamedTuple):
    """What is wrong with some cells of a row: a finding without its place."""

    column: str
    rule: str
    found: str | None
    allowed: str
    message: str
    hint: str | None = None
    severity: str = "error"


def number_in(text: str | None) -> float | None:
    """The number in a cell, or None where there is none."""
    try:
        return float(text) if text else None
    except ValueError:
        return None


def judged(
    chunk: Chunk, file: str, names: Sequence[str], judge: Callable[[tuple[str, ...]], Iterable[Fault]]
) -> Iterator[Finding]:
    """Findings of every row, each distinct combination of the cells `names` judged once (traps: one engine)."""
    distinct, which = chunk.combined(names)
    bad = {place: faults for place, cells in enumerate(distinct) if (faults := list(judge(cells)))}
    for number, place in zip(chunk.numbers, which, strict=True) if bad else ():
        for fault in bad.get(place, ()):
            column, rule, found, allowed, message, hint, severity = fault
            yield Finding(file, number, column, rule, severity, found, allowed, message, hint)


def order_findings(chunk: Chunk, table: Table, file: str) -> Iterator[Finding]:
    """Low above high; temperatures out of order."""
    named = [(name, f"{name.removesuffix('_low')}_high") for name in chunk.cells if name.endswith("_low")]
    for low_name, high_name in dict.fromkeys([*ORDERED, *named]):
        if low_name in chunk.cells and high_name in chunk.cells:

            def swapped(
                cells: tuple[str, ...], low_name: str = low_name, high_name: str = high_name
            ) -> Iterator[Fault]:
                low, high = number_in(cells[0]), number_in(cells[1])
                if low is not None and high is not None and low > high:
                    yield Fault(low_name, "low-above-high", f"{cells[0]} and {cells[1]}", f"{low_name} at most {high_name}",
                                "the lower end is above the upper one", "swap the two, or look at the source again")  # fmt: skip

            yield from judged(chunk, file, (low_name, high_name), swapped)
    for rising in _RISING:
        names = [name for name in rising if name in chunk.cells]
        if rising[0] in names or rising[-1] in names:
            yield from judged(chunk, file, names, lambda cells, names=names: _out_of_order(cells, names))  # type: ignore[misc]


def _out_of_order(cells: tuple[str, ...], names: Sequence[str]) -> Iterator[Fault]:
    values = [(name, value) for name, text in zip(names, cells, strict=True) if (value := number_in(text)) is not None]
    for (one, below), (other, above) in itertools.pairwise(values):
        if below > above and (one, other) not in ORDERED:
            yield Fault(one, "temperature-order", f"{one} {below:g}, {other} {above:g}", "minimum, best range and maximum in rising order",
                        "temperatures are out of order", "look which of the two is in the wrong column")  # fmt: skip


def canonical_findings(chunk: Chunk, table: Table, file: str) -> Iterator[Finding]:
    """Canonical cells that are not the printed figure converted: the guard against inches taken for millimetres."""
    wanted = [field for field in table.fields if field.written_by_build and field.name in chunk.cells]
    needed = dict.fromkeys(
        name
        for field in wanted
        for name in (field.converted_from, field.unit_field, field.rank_of)
        if name and name in chunk.cells
    )
    names = [*needed, *(field.name for field in wanted)]

    def converted(cells: tuple[str, ...]) -> Iterator[Fault]:
        row = dict(zip(names, cells, strict=True))
        try:
            right = canonical_cells(row, table)
        except (CropdataError, ValueError, KeyError):
            return  # the typed pass reports the cell itself
        for field in wanted:
            if row[field.name] != right[field.name]:
                yield Fault(field.name, "not-as-printed", row[field.name], right[field.name] or "empty", "is not the printed figure converted",
                            "python tools/build.py writes this column; edit the printed one")  # fmt: skip

    if wanted:
        yield from judged(chunk, file, names, converted)


def figure_findings(chunk: Chunk, table: Table, file: str) -> Iterator[Finding]:
    """Rows that say nothing, numbers without a unit, and outcomes that contradict their figure."""
    fields = [field for field in table.fields if field.converted_from in chunk.cells]
    printed = [field.converted_from or "" for field in fields]
    unit_of = {field.converted_from or "": field.unit_field for field in fields}
    if table.field("unit") is not None:  # figures that are kept in the unit of their row, such as leaves or weeks
        unit_of |= {name: "unit" for name in ("low", "high") if name in chunk.cells and name not in unit_of}
    units = [name for name in dict.fromkeys(unit_of.values()) if name in chunk.cells]
    others = [name for name in ("action", "outcome", "days", "percent") if name in chunk.cells]
    names = list(dict.fromkeys([*unit_of, *units, *others]))

    # Where even the unit may be left out, a row may say in words what it has to say.
    figures_wanted = bool(table.trait and printed) and any(
        field.required for field in table.fields if field.name in units
    )

    def faults(cells: tuple[str, ...]) -> Iterator[Fault]:
        row = dict(zip(names, cells, strict=True))
        if row.get("action") == "hide":
            return
        for unit in dict.fromkeys(unit_of.values()):
            numbers = [name for name, its_unit in unit_of.items() if its_unit == unit and row[name]]
            if numbers and not row.get(unit):
                yield Fault(unit, "number-without-unit", None, "a unit beside each number", f"{numbers[0]} has a number and no unit",
                            f"fill the column {unit}")  # fmt: skip
        if figures_wanted and not any(row[name] for name in printed):
            yield Fault(printed[0], "no-figure", None, "at least one figure", "the row states no figure", "fill it in, or delete the row")  # fmt: skip
        for name, having in OUTCOME_OF.items():
            if row.get("outcome") and table.field(name) and (row["outcome"] == having) != bool(row.get(name)):
                yield Fault(name, "outcome-against-figure", f"{row['outcome']}, {row.get(name) or 'empty'}", f"a figure where the outcome is {having}, and only there",
                            "the outcome contradicts the figure", "correct whichever is wrong")  # fmt: skip

    if names:
        yield from judged(chunk, file, names, faults)
