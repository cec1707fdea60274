"""A layer's containers and mixes laid over those below it, and what is refused in them."""

from __future__ import annotations

from cropdata.catalog.stacking import origin
from cropdata.errors import InputError, LayerError
from cropdata.tabular.canonical import canonical_cells

TYPE_CHECKING = False
if TYPE_CHECKING:
    from cropdata.tabular.descriptor import Table
    from cropdata.tabular.rows import Row

# Figures that belong together, the unit last: a row that gives one of them takes none of the others from below.
_TOGETHER = (
    ("volume_low", "volume_high", "volume_unit"), ("plastic_low", "plastic_high", "plastic_unit"), ("life_low", "life_high"),
    ("price_low", "price_high", "currency"), ("depth", "tray_length", "tray_width", "length_unit"), ("amount", "amount_unit"),
)  # fmt: skip
_TOLD_ELSEWHERE = frozenset({"source_id", "locator", "basis", "printed", "note"})


def stacked_materials(rows: list[Row], layer_rows: list[Row], table: Table, layer: str) -> list[Row]:
    """A layer's containers or mixes laid over `rows`, converted columns filled, its own name as source where none is given.

    Raises LayerError where a row adds what exists, overrides or hides what does not, or gives figures that cannot be.
    """
    key = table.primary_key
    of = {tuple(row[name] for name in key): row for row in rows}
    spoken: dict[tuple[str, ...], Row] = {}
    for row in layer_rows:
        where, named = row["where"], tuple(row[name] for name in key)
        if not all(named):
            raise LayerError(f"{where}: {' and '.join(key)} must be given")
        if row["action"] == "add" and named in of:
            mend = "delete one of the two rows" if named in spoken else "use action override to replace it"
            raise LayerError(f"{where}: {', '.join(named)} exists already; {mend} (it stands in {origin(of[named])})")
        first = spoken.get(named)
        if first is not None and row["action"] != "add":
            verb = {"hide": "hides", "override": "overrides", "add": "adds"}[first["action"]]
            raise LayerError(
                f"{where}: nothing to {row['action']} for {', '.join(named)}: {first['at']} {verb} it already; write what you know of it into one row"
            )
        spoken[named] = row
        if row["action"] != "add" and named not in of:
            import difflib

            near = difflib.get_close_matches(named[0], {name[0] for name in of}, n=2)
            raise LayerError(
                f"{where}: nothing to {row['action']} for {', '.join(named)}: neither the release nor a layer below has it (any more); "
                + (f"did you mean {' or '.join(near)}? Or " if near else "")
                + ("delete the row" if row["action"] == "hide" else "use action add and give the whole of it")
            )
        below = of.pop(named, {})
        if row["action"] == "hide":
            continue
        own = _completed(row, below, table, layer)
        try:
            own.update(canonical_cells(own, table))
        except (ValueError, InputError) as error:
            raise LayerError(f"{where}: {error}") from error
        _test(own, table, where)
        if table.name == "media" and row["action"] == "add" and not (row["parts"] or row["amount"] or row["printed"]):
            raise LayerError(
                f"{where}, parts: missing; allowed: parts by volume, such as 2, or an amount with its unit; "
                "where a source gives no number, its words under printed"
            )
        of[named] = own | {"layer": layer, "at": row["at"], "where": where}
    laid = list(of.values())
    for recipe_id in dict.fromkeys(row["recipe_id"] for row in layer_rows) if table.name == "media" else ():
        if recipe := [row for row in laid if row["recipe_id"] == recipe_id]:
            _settle_recipe(recipe, [row for row in layer_rows if row["recipe_id"] == recipe_id], table)
    return laid


def _settle_recipe(recipe: list[Row], own: list[Row], table: Table) -> None:
    """One recipe has one name and one use, told in one of its rows at least, and something in it. `own`: the layer's rows.

    Raises LayerError, naming the layer's row, where it has not.
    """
    for column in ("recipe_name", "use"):
        told = next((row for row in recipe if row[column]), None)
        field = table.field(column)
        if told is None and field and field.enum:
            raise LayerError(f"{own[0]['where']}, {column}: missing; allowed: {', '.join(field.enum)}; the first row of a mix says it for all")  # fmt: skip
        for row in recipe:
            row[column] = row[column] or (told[column] if told else row["recipe_id"])
            if told and row[column] != told[column]:
                mine = row if row.get("where") in {each["where"] for each in own} else told
                other = told if mine is row else row
                raise LayerError(
                    f"{mine['where']}, {column}: found {mine[column]!r}, and {other[column]!r} in {origin(other)} for the same mix {row['recipe_id']}; "
                    "write the same in both, leave the cell empty, or give your mix a recipe_id of its own"
                )
    parts = [float(row["parts"]) for row in recipe if row["parts"]]
    if parts and not any(parts):
        blamed = next((row for row in reversed(own) if row["parts"]), own[-1])
        raise LayerError(f"{blamed['where']}, parts: found 0; allowed: in one row of a mix at least more than 0, or {blamed['recipe_id']} holds nothing")  # fmt: skip


def _completed(row: Row, below: Row, table: Table, layer: str) -> Row:
    """The layer's row with what it leaves out taken from the row below; what is not printed there is not said to be."""
    given = [field.name for field in table.fields if row.get(field.name) and field.name not in table.primary_key]
    own_group = {name for group in _TOGETHER if any(name in given for name in group) for name in group}
    own = {
        field.name: row.get(field.name) or ("" if field.name in own_group else below.get(field.name, "")) for field in table.fields
    }  # fmt: skip
    own["source_id"], own["basis"] = row["source_id"] or layer, row["basis"] or "published"
    if own["source_id"] != below.get("source_id"):
        said = "; ".join(f"{name.replace('_', ' ')} {row[name]}" for name in given if name not in _TOLD_ELSEWHERE)
        own["locator"], own["printed"] = row["locator"] or row["at"], row["printed"] or said
        if below:
            own["note"] = "; ".join(
                filter(None, [row["note"], f"the rest as in {below['source_id']}, {below['locator']}"])
            )
    if table.name == "containers":
        own["name"] = own["name"] or own["container_id"]
    return own


def _test(row: Row, table: Table, where: str) -> None:
    """Raises LayerError where the completed row lacks a unit, has its ends swapped or a figure out of bounds."""
    for *figures, unit in _TOGETHER:
        if unit.endswith(("_unit", "currency")) and any(row.get(name) for name in figures) and not row[unit]:
            field = table.field(unit)
            raise LayerError(
                f"{where}, {unit}: missing; allowed: {', '.join(field.enum if field else ()) or 'three letters such as USD'}"
            )
    for field in table.fields:
        text = row[field.name]
        if not text or field.type not in ("number", "integer"):
            continue
        low, high = field.minimum, field.maximum
        if not (low is None or float(text) >= low) or not (high is None or float(text) <= high):
            allowed = f"{low or 0:g} or more" if high is None else f"{low or 0:g} to {high:g}"
            raise LayerError(f"{where}, {field.name}: found {text!r}; allowed: {allowed}")
        other = field.name.replace("_low", "_high")
        if other != field.name and row.get(other) and float(text) > float(row[other]):
            raise LayerError(f"{where}: {field.name} {text} is above {other} {row[other]}; swap them")
