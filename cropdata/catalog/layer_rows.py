"""What must hold in one row of a layer, by itself, before it can be laid over the release."""

from __future__ import annotations

from cropdata.errors import LayerError
from cropdata.tabular.descriptor import Field, Table
from cropdata.tabular.rows import Row
from cropdata.tabular.values import ALLOWED, parse

ACTIONS = ("add", "override", "hide")
LAYER_COLUMNS = ("action", "expects_low", "expects_high")


def check_row(row: Row, table: Table, where: str) -> None:
    """The least that must hold before a row can be laid over the release."""
    if row.get("action", "") not in ACTIONS:
        raise LayerError(f"{where}, action: found {row.get('action')!r}; allowed: {', '.join(ACTIONS)}")
    for column in ("expects_low", "expects_high"):
        if row.get(column) and row["action"] != "override":
            raise LayerError(f"{where}, {column}: only a row with action override expects an old value")
        if row.get(column) and not table.is_evidence:
            raise LayerError(
                f"{where}, {column}: {table.name} holds no figure of a crop to expect; leave the cell empty"
            )
    for name, text in row.items():
        field = table.field(name)
        kind = field.type if field else "number" if name in LAYER_COLUMNS[1:] else None
        if kind is None or text == "":
            continue
        try:
            parse(text, kind)
        except ValueError:
            raise LayerError(f"{where}, {name}: found {text[:60]!r}; allowed: {ALLOWED.get(kind, kind)}") from None
        if field and field.enum and text not in field.enum:
            raise LayerError(f"{where}, {name}: found {text[:60]!r}; allowed: {', '.join(field.enum)}")
        if field and kind in ("number", "integer"):
            _check_limits(field, text, where)
    low, high = row.get("low"), row.get("high")
    if low and high and float(low) > float(high):
        raise LayerError(f"{where}: low {low} is above high {high}; swap them")
    unit = table.field("unit")
    if row["action"] != "hide" and unit and unit.required and not row.get("unit"):
        raise LayerError(f"{where}, unit: missing; allowed: {', '.join(unit.enum)}")


def check_figures(row: Row, table: Table, where: str) -> None:
    """Figures are there, and within what the column can hold, in its own unit."""
    printed = [  # where even the unit may be left out, a row may say in words what it has to say
        field.converted_from for field in table.fields
        if (table.trait or table.field("low")) and field.converted_from and (unit := table.field(field.unit_field)) and unit.required
    ]  # fmt: skip
    if printed and not any(row[name] for name in printed):
        raise LayerError(f"{where}, {printed[0]}: the row states no figure; fill in {' or '.join(dict.fromkeys(printed))}, "
                         "or write action hide to take away what lies below")  # fmt: skip
    for field in table.fields:
        if field.converted_from and row[field.name]:
            _check_limits(field, row[field.name], where)


def _check_limits(field: Field, text: str, where: str) -> None:
    if not field.holds(float(text)):
        found = f"{text[:60]} {field.unit or ''}".rstrip()
        raise LayerError(f"{where}, {field.converted_from or field.name}: found {found}; allowed: {field.limits}")
