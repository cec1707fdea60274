"""What must hold in one row of a layer, by itself, before it can be laid over the release."""

from __future__ import annotations

import re

from cropdata.errors import LayerError
from cropdata.tabular.descriptor import Field, Table
from cropdata.tabular.rows import Row
from cropdata.tabular.values import ALLOWED, form_words, parse

ACTIONS = ("add", "override", "hide")
LAYER_COLUMNS = ("action", "expects_low", "expects_high")
NEUTRAL = "unstated"  # the word of a list that says that a source is silent
# The outcome that a figure in the column tells by itself, and that tells of such a figure.
OUTCOME_OF = {"days": "emerged", "percent": "counted"}
# What a layer's row of evidence means where it does not say: a grower counts seedlings, and plants in rows.
_MEANT = {
    "emergence_by_temperature": {"event": "emergence"}, "emergence_spread": {"event": "emergence"},
    "spacing_in_row": {"arrangement": "row"}, "spacing_between_rows": {"arrangement": "row"},
}  # fmt: skip
_FILLED = ("row_id", "source_id", "locator", "basis", "printed")


def needed_fields(table: Table) -> tuple[Field, ...]:
    """The columns that a layer's row must fill beside its key, as nothing else can: neither the build, nor the layer's own
    name and place, nor a word that says that it is unknown. Of containers, the method; of other reference none, as
    what a mix lacks shows in the whole recipe. Which rows need them: `needs`.
    """
    if table.name == "containers":
        return tuple(field for field in table.fields if field.name == "method_id")
    if not table.is_evidence:
        return ()
    meant = ("crop_id", *_FILLED, *_MEANT.get(table.name, ()))
    return tuple(
        field for field in table.fields
        if field.required and not field.written_by_build and field.name not in meant and NEUTRAL not in field.enum
    )  # fmt: skip


def needs(action: str, table: Table) -> bool:
    """Whether a row of that action must fill the needed columns: evidence unless it hides; a container only where it is new."""
    return action != "hide" if table.is_evidence else action in ("", "add")


def lacks(row: Row, field: Field) -> bool:
    """Whether a row leaves a needed column empty that its figure does not fill: days say that seedlings emerged."""
    if row.get(field.name):
        return False
    return field.name != "outcome" or not any(row.get(name) for name, word in OUTCOME_OF.items() if word in field.enum)


def fill(row: Row, table: Table) -> None:
    """Write into a layer's row of evidence, in place, what it means without saying so.

    An override or a hide that leaves `counted_from` empty means what stands below: `stacking` knows it.
    """
    for field in table.fields:
        if row[field.name] or not field.required:
            continue
        if field in table.about and NEUTRAL in field.enum and row["action"] != "add":
            continue
        if NEUTRAL in field.enum:
            row[field.name] = NEUTRAL
        elif field.name == "outcome":
            row[field.name] = next((word for name, word in OUTCOME_OF.items() if word in field.enum and row[name]), "")
        else:
            row[field.name] = _MEANT.get(table.name, {}).get(field.name, "")


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
        if field and field.pattern and not re.fullmatch(field.pattern, text):
            raise LayerError(f"{where}, {name}: found {text[:60]!r}; allowed: {form_words(field.pattern)}")
        if field and kind in ("number", "integer"):
            _check_limits(field, text, where)
    low, high = row.get("low"), row.get("high")
    if low and high and float(low) > float(high):
        raise LayerError(f"{where}: low {low} is above high {high}; swap them")
    for field in needed_fields(table) if needs(row["action"], table) else ():
        if lacks(row, field):
            raise LayerError(f"{where}, {field.name}: missing; allowed: {allowed_in(field)}")


def allowed_in(field: Field) -> str:
    """What a cell of the column may hold, in words."""
    if field.enum:
        return ", ".join(field.enum)
    kind = ALLOWED.get(field.type, field.type)
    return kind if field.minimum is field.maximum is field.exclusive_minimum else f"{kind}, {field.limits}"


def check_figures(row: Row, table: Table, where: str) -> None:
    """Figures are there, and within what the column can hold, in its own unit."""
    printed = [  # where even the unit may be left out, a row may say in words what it has to say
        field.converted_from for field in table.fields
        if (table.trait or table.field("low")) and field.converted_from and (unit := table.field(field.unit_field)) and unit.required
    ]  # fmt: skip
    if printed and not any(row[name] for name in printed):
        raise LayerError(f"{where}, {printed[0]}: the row states no figure; fill in {' or '.join(dict.fromkeys(printed))}, "
                         "or write action hide to take away what lies below")  # fmt: skip
    for figure, word in OUTCOME_OF.items():
        if row.get("outcome") and figure in row and (row["outcome"] == word) != bool(row[figure]):
            raise LayerError(f"{where}, {figure}: found {row[figure] or 'nothing'} beside the outcome {row['outcome']}; "
                             f"allowed: a figure where the outcome is {word}, and only there")  # fmt: skip
    for field in table.fields:
        if field.converted_from and row[field.name]:
            _check_limits(field, row[field.name], where)


def _check_limits(field: Field, text: str, where: str) -> None:
    if not field.holds(float(text)):
        found = f"{text[:60]} {field.unit or ''}".rstrip()
        raise LayerError(f"{where}, {field.converted_from or field.name}: found {found}; allowed: {field.limits}")
