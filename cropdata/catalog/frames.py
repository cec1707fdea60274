"""Tables of the package as pandas frames, typed by the descriptor."""

from __future__ import annotations

import pandas as pd

from cropdata.tabular.descriptor import Table
from cropdata.tabular.rows import Row


def frame_of(table: Table, rows: list[Row], *, with_layer: bool) -> pd.DataFrame:
    """A new frame: text, float64, Int64 or boolean by the descriptor; an empty cell is missing."""
    columns: dict[str, object] = {}
    for field in table.fields:
        texts = [row.get(field.name, "") or None for row in rows]
        if field.type == "number":
            columns[field.name] = pd.array([float(text) if text else float("nan") for text in texts], dtype="float64")
        elif field.type == "integer":
            columns[field.name] = pd.array([int(text) if text else pd.NA for text in texts], dtype="Int64")
        elif field.type == "boolean":
            columns[field.name] = pd.array([text == "true" if text else pd.NA for text in texts], dtype="boolean")
        else:
            columns[field.name] = pd.Series(texts, dtype="object")
    if with_layer:
        columns["layer"] = pd.Series([row.get("layer", "release") for row in rows], dtype="object")
        columns["layer_row"] = pd.Series([row.get("at") for row in rows], dtype="object")
    return pd.DataFrame(columns)
