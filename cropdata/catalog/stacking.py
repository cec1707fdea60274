"""One layer's rows laid over what lies below it: add, override, hide, and what is said where that cannot be done."""

from __future__ import annotations

from cropdata.catalog.layer_rows import NEUTRAL
from cropdata.catalog.names import folded
from cropdata.errors import LayerError
from cropdata.tabular.rows import Row

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from cropdata.tabular.descriptor import Field

# Figures are alike up to the one decimal in which outputs write them: 15.6 °C names the 60 °F of a print.
_ROUNDING = 0.05


def origin(row: Row) -> str:
    """Where a row comes from, in words: the release, or the layer with file and row."""
    return f"layer {row['layer']} ({row['at']})" if row.get("layer") else "the release"


def _alike(row: Row, other: Row, field: Field) -> bool:
    """Whether two rows say the same in a column: numbers in the rounding in which outputs write them."""
    one, two = row[field.name], other[field.name]
    if field.type == "number" and one and two:
        return abs(float(one) - float(two)) <= _ROUNDING
    return one.casefold() == two.casefold()


def _is_about(row: Row, other: Row, about: Sequence[Field]) -> bool:
    """Whether `row` names `other`: by its row_id, or, without one, by what both speak of."""
    if row["row_id"]:
        return other["row_id"] == row["row_id"]
    return all(_alike(row, other, field) for field in about)


def _in_words(row: Row, about: Sequence[Field]) -> str:
    """What a row speaks of: `temperature 20 °C`."""
    return ", ".join(
        f"{field.converted_from or field.name} {row[field.name] or '(empty)'} {field.unit or ''}".rstrip()
        for field in about
    )


def _each_in_words(rows: Iterable[Row], about: Sequence[Field]) -> str:
    return "; ".join(dict.fromkeys(_in_words(row, about) for row in rows))


def _meant(row: Row, below: list[Row], about: Sequence[Field]) -> list[Row]:
    """The rows below that an override or a hide speaks of.

    A column of `about` that it leaves empty means the only thing that stands there. Raises LayerError where several do.
    """
    if row["row_id"]:
        return [other for other in below if other["row_id"] == row["row_id"]]
    found = below
    for field in about:
        same = [other for other in found if _alike(row, other, field)]
        if not same and not row[field.name]:
            if any(not _alike(found[0], other, field) for other in found):
                raise LayerError(
                    f"{row['where']}, {field.converted_from or field.name}: is empty, and {row['crop_id']} has several rows to "
                    f"{row['action']}: {_each_in_words(found, (field,))}; write which is meant, in a row for each"
                )
            same = found
        found = same
    return found


def stack_rows(
    rows: list[Row], layer_rows: Iterable[Row], about: Sequence[Field], *, earlier: Iterable[Row] = ()
) -> list[Row]:
    """A crop's `rows` of an evidence table with one layer's rows laid over them.

    An override or a hide with a row_id replaces or removes that row; one without it replaces or removes every row below
    that agrees in the columns `about` (`Table.about`), and no other. `earlier` are the rows of the layers below, hidden
    ones included, to tell who was there first. An override carries in `in_place_of` the sources of what it replaced.
    """
    below = list(rows)
    added: list[Row] = []
    done = list(earlier)
    for row in layer_rows:
        if row["action"] == "add":
            first = next((other for other in (*below, *added) if row["row_id"] and other["row_id"] == row["row_id"]), None)  # fmt: skip
            if first is not None:
                raise LayerError(
                    f"{row['where']}: row_id {row['row_id']!r} exists already; use action override to replace it (it stands in {origin(first)})"
                )
            added.append(row)
        else:
            meant = _meant(row, below, about)
            if not meant:
                raise LayerError(f"{row['where']}: {_nothing_there(row, below, [*done, *added], about)}")
            silent = {
                field.name: meant[0][field.name] for field in about if NEUTRAL in field.enum and not row[field.name]
            }
            row = row | silent
            gone = set(map(id, meant))
            below = [other for other in below if id(other) not in gone]
            if row["action"] == "override":
                added.append(row | {"in_place_of": sources_of(meant)})
        done.append(row)
    return below + added


def sources_of(rows: Iterable[Row]) -> str:
    """The sources of rows that are replaced, and of what these had replaced; a layer's with the layer before it."""
    names = (
        other.get("in_place_of") or (f"{other['layer']}/" if other.get("layer") else "") + other["source_id"]
        for other in rows
    )
    return " ".join(dict.fromkeys(names))


def _nothing_there(row: Row, below: list[Row], done: list[Row], about: Sequence[Field]) -> str:
    """Why there is nothing to override or hide, and what to do."""
    spoken = row["row_id"] or ", ".join(filter(None, [row["crop_id"], _in_words(row, about)]))
    what = f"nothing to {row['action']} for {spoken}"
    for other in reversed(done):
        if other["action"] == "add" or not _is_about(row, other, about):
            continue
        if other["layer"] == row["layer"] and other["action"] == row["action"] == "override":
            return f"{what}: {other['at']} has overridden it already; one row overrides, further ones of yours add"
        verb = "hidden" if other["action"] == "hide" else "overridden"
        return f"{what}: {origin(other)} has {verb} it already; delete one of the two{', or use action add' if row['action'] == 'override' else ''}"
    if row["row_id"]:
        return f"{what}: the release has no such row (any more); look at the crop again with cropdata why"
    if below:
        return f"{what}: what stands there is {_each_in_words(below, about)}; write one of these, or use action add to state another"
    return (
        f"{what}: it has no row of its own there; to state a figure use action add. "
        "If the row was in an earlier edition, the release may have moved, look at it again"
    )


def stack_crops(rows: dict[str, Row], layer_rows: Iterable[Row]) -> None:
    """A layer's crops.csv laid over the crops `rows`, in place, parents before their varieties wherever they stand."""
    waiting = list(layer_rows)
    while waiting:
        ready = [row for row in waiting if not row["parent_id"] or row["parent_id"] in rows] or waiting
        for row in ready:
            _stack_crop(rows, row)
        done = set(map(id, ready))
        waiting = [row for row in waiting if id(row) not in done]


def _stack_crop(rows: dict[str, Row], row: Row) -> None:
    """One crop; a variety takes from its parent what it is not told."""
    crop_id, below = row["crop_id"], rows.get(row["crop_id"])
    if row["action"] == "add" and below is not None:
        hint = "give one of the two another crop_id" if below.get("layer") else "use action override to change it"
        raise LayerError(f"{row['where']}: crop {crop_id!r} exists already; {hint} (it stands in {origin(below)})")
    if row["action"] != "add" and below is None:
        raise LayerError(f"{row['where']}: no crop {crop_id!r} to {row['action']} in the release or the layers below")
    if row["action"] == "hide":
        del rows[crop_id]
        return
    if below is not None:
        row["parent_id"] = row["parent_id"] or below["parent_id"]
        row["name"] = row["name"] or below["name"]
    taken = below or rows.get(row["parent_id"], {})
    for column in ("scientific_name", "family", "group", "life_cycle"):
        row[column] = row[column] or taken.get(column, "")
    row["name"] = row["name"] or crop_id.replace("-", " ").capitalize()
    row["status"] = row["status"] or (below or {}).get("status") or "active"  # a variety is not retired with its parent
    row["replaced_by"] = row["replaced_by"] or (below or {}).get("replaced_by", "")
    rows[crop_id] = row


def stack_names(rows: list[Row], layer_rows: Iterable[Row]) -> list[Row]:
    """Names with a layer's laid over them: `add` lets a name mean one crop more, `override` that crop alone, `hide`
    takes it from the crop.
    """
    names = list(rows)
    for row in layer_rows:
        name = folded(row["name"])
        same = [other for other in names if folded(other["name"]) == name]
        if row["action"] == "hide" and not any(other["crop_id"] == row["crop_id"] for other in same):
            raise LayerError(f"{row['where']}: nothing to hide: {row['name']!r} is no name of {row['crop_id']}")
        if row["action"] == "override":
            names = [other for other in names if folded(other["name"]) != name]
        elif row["action"] == "hide":
            names = [other for other in names if folded(other["name"]) != name or other["crop_id"] != row["crop_id"]]
        if row["action"] != "hide":
            names.append(row)
    return names
