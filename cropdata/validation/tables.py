"""Second storey: header, types, required cells, lists, limits, patterns and keys, from the descriptor."""

from __future__ import annotations

import re
from collections.abc import Iterator

from cropdata.tabular.descriptor import Field, Table
from cropdata.tabular.rows import Row
from cropdata.tabular.values import ALLOWED, Value, parse
from cropdata.validation.report import Finding

LAYER_COLUMNS = ("action", "expects_low", "expects_high")


def header_findings(header: list[str], table: Table, file: str, *, layer: bool) -> Iterator[Finding]:
    """Columns that are missing, unknown, twice or, in the release, in another order."""
    names = [field.name for field in table.fields]
    for name in dict.fromkeys(header):
        if header.count(name) > 1:
            yield Finding(file, 1, name, "header-twice", "error", name, None, "the column stands twice", "keep one")
        if name not in names and not (layer and name in LAYER_COLUMNS):
            yield Finding(
                file,
                1,
                name,
                "header-unknown",
                "error",
                name,
                ", ".join(names),
                "no such column",
                "compare the spelling",
            )
    if layer:
        return
    missing = [name for name in names if name not in header]
    for name in missing:
        yield Finding(
            file,
            1,
            name,
            "header-missing",
            "error",
            None,
            ", ".join(names),
            "the column is missing",
            "add it, in its place",
        )
    if not missing and header != names and sorted(header) == sorted(names):
        yield Finding(
            file,
            1,
            None,
            "header-order",
            "error",
            ", ".join(header),
            ", ".join(names),
            "columns stand in another order",
            "run the build",
        )


class CellRule:
    """What one column allows; each distinct text is judged once."""

    def __init__(self, field: Field) -> None:
        self.field = field
        self._pattern = re.compile(field.pattern) if field.pattern else None
        self._enum = frozenset(field.enum)
        self._judged: dict[str, tuple[str, str, str] | None] = {}

    def judge(self, text: str) -> tuple[str, str, str] | None:
        """None when the text is allowed, else (rule, allowed, message)."""
        if text not in self._judged:
            self._judged[text] = self._verdict(text)
        return self._judged[text]

    def _verdict(self, text: str) -> tuple[str, str, str] | None:
        field = self.field
        if text == "":
            return ("cell-required", "a value", "the cell is empty") if field.required else None
        if text != text.strip():
            return "cell-blanks", "no blanks at the ends", "has blanks at its ends"
        if "\n" in text or "\r" in text:
            return "cell-line-break", "one line", "holds a line break"
        try:
            value = parse(text, field.type)
        except ValueError:
            return "cell-type", ALLOWED.get(field.type, field.type), f"is no {field.type}"
        if self._enum and text not in self._enum:
            return "cell-enum", ", ".join(field.enum), "is not in the list"
        if self._pattern and not self._pattern.fullmatch(text):
            return "cell-pattern", field.pattern or "", "has another form"
        return self._limits(value)

    def _limits(self, value: Value) -> tuple[str, str, str] | None:
        field = self.field
        if not isinstance(value, (int, float)) or isinstance(value, bool):
            return None
        low, high, above = field.minimum, field.maximum, field.exclusive_minimum
        if (
            (low is not None and value < low)
            or (high is not None and value > high)
            or (above is not None and value <= above)
        ):
            bottom = f"above {above}" if above is not None else f"{low}"
            return "cell-limits", f"{bottom} to {high}", "is outside the limits"
        return None


def cell_findings(rows: list[tuple[int, Row]], table: Table, file: str, *, layer: bool) -> Iterator[Finding]:
    """Findings of every cell. In a layer, columns that may be left out may be empty too."""
    for field in table.fields:
        if layer and (field.written_by_build or field.name in ("row_id", "printed", "source_id", "locator", "basis")):
            field = field._replace(required=False)
        if layer and field.enum and "unstated" in field.enum:
            field = field._replace(required=False)
        rule = CellRule(field)
        for number, row in rows:
            text = row.get(field.name, "")
            if layer and row.get("action") == "hide" and text == "":
                continue
            verdict = rule.judge(text)
            if verdict is not None:
                name, allowed, message = verdict
                yield Finding(file, number, field.name, name, "error", text, allowed, message, None)


def key_findings(rows: list[tuple[int, Row]], table: Table, file: str) -> Iterator[Finding]:
    """Rows that share a primary or unique key, and keys with an empty part."""
    keys = [table.primary_key, *table.unique_keys, *((field.name,) for field in table.fields if field.unique)]
    for key in dict.fromkeys(tuple(key) for key in keys if key):
        first: dict[tuple[str, ...], int] = {}
        for number, row in rows:
            values = tuple(row.get(name, "") for name in key)
            if not all(values) and key != table.primary_key:
                continue  # the standard leaves rows with an empty part out of unique keys
            if values in first:
                yield Finding(file, number, ", ".join(key), "key-twice", "error", ", ".join(values), "each key once",
                              f"the key stands in row {first[values]} already", "delete one row or correct its key")  # fmt: skip
            first.setdefault(values, number)
