"""Frames that a planner hands in: a pandera schema built from the descriptor, and the check of a frame with it.

pandera's own reading of a Table Schema is not used: it reads blank booleans as true, fails nullable integers and
anchors patterns wrongly. One schema source: the descriptor.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from cropdata.errors import InputError
from cropdata.tabular.descriptor import Descriptor, Field, Table, read_descriptor
from cropdata.tabular.location import shipped_package
from cropdata.validation.report import Finding, Report, ordered

if TYPE_CHECKING:
    import pandas as pd
    import pandera.pandas as pa

_DTYPES = {"number": "float64", "integer": "Int64", "boolean": "boolean"}


def _checks(field: Field) -> list[Any]:
    import pandera.pandas as pa

    checks = []
    if field.enum:
        checks.append(pa.Check.isin(list(field.enum), name="enum"))
    if field.pattern:
        checks.append(pa.Check.str_matches(re.compile(rf"\A(?:{field.pattern})\Z").pattern, name="pattern"))
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


def check_frame(frame: pd.DataFrame, table: str | None) -> Report:
    """Findings of a frame; `row` counts as a spreadsheet would (the first data row is 2)."""
    import pandera.errors

    if table is None:
        raise InputError("which table is the frame of?", hint='say check(frame, table="sowing_depth")')
    schema = schema_for(table)
    places = {label: number for number, label in enumerate(frame.index, start=2)}
    try:
        schema.validate(frame, lazy=True)
    except pandera.errors.SchemaErrors as errors:
        findings = []
        for case in errors.failure_cases.to_dict("records"):
            row = places.get(case["index"]) if case["index"] is not None else None
            column = str(case["column"]) if case["column"] is not None else None
            findings.append(Finding(table, row, column, f"frame-{case['check']}".split("(")[0], "error", str(case["failure_case"]), None,
                                    f"fails {case['check']}", None))  # fmt: skip
        return Report(ordered(findings), 1, len(frame))
    return Report((), 1, len(frame))
