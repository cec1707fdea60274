"""Frames that a planner hands in: as texts for our own check, and as a pandera schema for checks of the planner's.

pandera's own reading of a Table Schema is not used: it reads blank booleans as true, fails nullable integers and
anchors patterns wrongly. One schema source: the descriptor.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from cropdata.errors import InputError
from cropdata.tabular.descriptor import Descriptor, Field, Table, read_descriptor
from cropdata.tabular.location import shipped_package
from cropdata.validation.files import Chunk

if TYPE_CHECKING:
    import pandas as pd
    import pandera.pandas as pa

_DTYPES = {"number": "float64", "integer": "Int64", "boolean": "boolean"}


def _text(value: object) -> str:
    """A cell as a CSV of the package would hold it: no exponent, no trailing zeros, true and false in small letters."""
    import numpy as np

    if isinstance(value, (bool, np.bool_)):
        return "true" if value else "false"
    if isinstance(value, (float, np.floating)):
        return np.format_float_positional(value, trim="-") if np.isfinite(value) else str(value)
    return str(value)


def texts_of(frame: pd.DataFrame) -> Chunk:
    """The frame's cells as texts, missing ones empty; the first row is 2, as in a spreadsheet with a header."""
    cells: dict[str, list[str]] = {}
    for name in frame.columns:
        column = frame[name]
        missing = column.isna()
        cells[str(name)] = [
            "" if gone else _text(value) for value, gone in zip(column.tolist(), missing.tolist(), strict=True)
        ]
    return Chunk(list(range(2, len(frame) + 2)), cells)


def _checks(field: Field) -> list[Any]:
    import pandera.pandas as pa

    checks = []
    if field.enum:
        checks.append(pa.Check.isin(list(field.enum), name="enum"))
    if field.pattern:
        checks.append(pa.Check.str_matches(rf"\A(?:{field.pattern})\Z", name="pattern"))
    if field.minimum is not None:
        checks.append(pa.Check.ge(field.minimum, name="minimum"))
    if field.maximum is not None:
        checks.append(pa.Check.le(field.maximum, name="maximum"))
    if field.exclusive_minimum is not None:
        checks.append(pa.Check.gt(field.exclusive_minimum, name="exclusiveMinimum"))
    return checks


def schema_for(table: str, descriptor: Descriptor | None = None) -> pa.DataFrameSchema:
    """A pandera schema for frames as `Catalog.table` gives them. Raises InputError for an unknown table."""
    import pandera.pandas as pa

    tables = (descriptor or read_descriptor(shipped_package())).tables
    if table not in tables:
        raise InputError(f"no table is called {table!r}", found=table, allowed=", ".join(tables))
    found: Table = tables[table]
    columns = {
        field.name: pa.Column(
            _DTYPES.get(field.type),
            checks=_checks(field),
            nullable=not field.required,
            unique=field.unique,
            required=True,
        )
        for field in found.fields
    }
    return pa.DataFrameSchema(columns, unique=list(found.primary_key) or None, name=table, strict=True)
