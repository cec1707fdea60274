"""Filling the canonical columns of an evidence row from what was printed."""

from __future__ import annotations

from cropdata.tabular.descriptor import HARDINESS_RANK, Table
from cropdata.tabular.rows import Row
from cropdata.tabular.units import canonical, number_text


def canonical_cells(row: Row, table: Table) -> Row:
    """The cells that the build writes beside the printed ones of `row`.

    Raises ValueError where a printed number cannot be read, InputError where its unit is unknown.
    """
    cells: Row = {}
    for field in table.fields:
        if field.rank_of is not None:
            label = row.get(field.rank_of, "")
            cells[field.name] = str(HARDINESS_RANK[label]) if label in HARDINESS_RANK else ""
        elif field.converted_from is not None:
            text, unit = row.get(field.converted_from, ""), row.get(field.unit_field, "")
            cells[field.name] = number_text(canonical(float(text), unit, field.unit or unit)) if text and unit else ""
    return cells
