"""Filling the canonical columns of an evidence row from what was printed."""

from __future__ import annotations

from cropdata.tabular.descriptor import Field, Table
from cropdata.tabular.rows import Row
from cropdata.tabular.units import canonical, measure_alike, number_text


def _classes(table: Table, column: str) -> tuple[str, ...]:
    """The words of a class in their order, 1 first."""
    field = table.field(column)
    return field.enum if field else ()


def _is_for(field: Field, unit: str, table: Table) -> bool:
    """Whether a column takes figures of that unit. Where several columns are filled from one printed one (grams,
    millimetres …), each takes the units that fit it; a column that is the only one takes all, and a wrong one is an error.
    """
    if measure_alike(unit, field.unit or unit):
        return True
    return sum(other.converted_from == field.converted_from for other in table.fields) == 1


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
            fits = text and unit and _is_for(field, unit, table)
            cells[field.name] = number_text(canonical(float(text), unit, field.unit or unit)) if fits else ""
    return cells
