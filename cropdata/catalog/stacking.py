"""One layer's rows laid over what lies below it: add, override, hide, and what is said where that cannot be done."""

from __future__ import annotations

from cropdata.catalog.names import folded
from cropdata.errors import LayerError
from cropdata.tabular.rows import Row

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


def origin(row: Row) -> str:
    """Where a row comes from, in words: the release, or the layer with file and row."""
    return f"layer {row['layer']} ({row['at']})" if row.get("layer") else "the release"


def _is_about(row: Row, other: Row, key: str, same: Sequence[str]) -> bool:
    """Whether `row` names `other`: by its key, or, without one, by what both are about."""
    return other[key] == row[key] if row.get(key) else all(other[name] == row[name] for name in same)


def stack_rows(rows: list[Row], layer_rows: Iterable[Row], *, key: str, same: tuple[str, ...], earlier: Iterable[Row] = ()) -> list[Row]:  # fmt: skip
    """`rows` with one layer's rows laid over them.

    `key` is the column that names a row. An override or a hide with that key replaces or removes that row; one
    without it replaces or removes every row below that agrees in the columns `same`. `earlier` are the rows of the
    layers below, hidden ones included, to tell who was there first.
    """
    below = list(rows)
    added: list[Row] = []
    done = list(earlier)
    for row in layer_rows:
        if row["action"] == "add":
            first = next((other for other in (*below, *added) if row.get(key) and other[key] == row[key]), None)
            if first is not None:
                raise LayerError(
                    f"{row['where']}: {key} {row[key]!r} exists already; use action override to replace it (it stands in {origin(first)})"
                )
            added.append(row)
        else:
            kept = [other for other in below if not _is_about(row, other, key, same)]
            if len(kept) == len(below):
                raise LayerError(f"{row['where']}: {_nothing_there(row, [*done, *added], key, same)}")
            below = kept
            if row["action"] == "override":
                added.append(row)
        done.append(row)
    return below + added


def _nothing_there(row: Row, done: list[Row], key: str, same: tuple[str, ...]) -> str:
    """Why there is nothing to override or hide, and what to do."""
    what = f"nothing to {row['action']} for {row.get(key) or ', '.join(row[name] for name in same)}"
    for other in reversed(done):
        if other["action"] == "add" or not _is_about(row, other, "row_id" if other.get(key) else key, same):
            continue
        if other["layer"] == row["layer"] and other["action"] == row["action"] == "override":
            return f"{what}: {other['at']} has overridden it already; one row overrides, further ones of yours add"
        verb = "hidden" if other["action"] == "hide" else "overridden"
        return f"{what}: {origin(other)} has {verb} it already; delete one of the two{', or use action add' if row['action'] == 'override' else ''}"
    if row.get(key):
        return f"{what}: the release has no such row (any more); look at the crop again with cropdata why"
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
    for column in ("scientific_name", "family", "group", "life_cycle", "status"):
        row[column] = row[column] or taken.get(column, "")
    row["name"] = row["name"] or crop_id.replace("-", " ").capitalize()
    row["status"] = row["status"] or "active"
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
