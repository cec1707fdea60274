"""Filling the canonical columns of an evidence row from what was printed."""

from __future__ import annotations

from cropdata.tabular.descriptor import Table
from cropdata.tabular.rows import Row
from cropdata.tabular.units import canonical, number_text


def _classes(table: Table, column: str) -> tuple[str, ...]:
    """The words of a class in their order, 1 first."""
    field = table.field(column)
    return field.enum if field else ()


def canonical_cells(row: Row, table: Table) -> Row:
    """The cells that the build writes beside the printed ones of `row`.

    Raises ValueError where a printed number cannot be read, InputError where its unit is unknown.
    """
    cells: Row = {}
    for field in table.fields:
        if field.rank_of is not None:
            label, classes = row.get(field.rank_of, ""), _classes(table, field.rank_of)
            cells[field.name] = str(classes.index(label) + 1) if label in classes else ""
        elif field.converted_from is not None:
            text, unit = row.get(field.converted_from, ""), row.get(field.unit_field, "")
            cells[field.name] = number_text(canonical(float(text), unit, field.unit or unit)) if text and unit else ""
    return cells
