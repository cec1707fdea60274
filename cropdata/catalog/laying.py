"""What must hold between the layers and the release, seen to before the first look-up."""

from __future__ import annotations

from cropdata.catalog.catalog import Catalog
from cropdata.catalog.layers import MATERIALS, Layer
from cropdata.catalog.names import folded
from cropdata.catalog.records import GerminationTemperature
from cropdata.catalog.stacking import origin
from cropdata.errors import LayerError, UnknownCropError
from cropdata.tabular.rows import Row
from cropdata.tabular.units import canonical, convert, figure

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Mapping

# Figures are taken for equal up to the rounding in which people and outputs write them.
_ROUNDING = 0.006


def check_layers(catalog: Catalog) -> None:
    """Raise LayerError, naming file, row and how to mend it, where a layer does not fit what lies below it."""
    for layer, crops in zip(catalog.layers, catalog.crops_by_height(), strict=True):
        _check_edition(layer, catalog.version)
        _check_crops(catalog, layer, crops)
        hidden = {row["crop_id"] for row in layer.rows.get("crops", []) if row["action"] == "hide"}
        for name, rows in layer.rows.items():
            for row in rows if name not in ("crops", "sources", *MATERIALS) else ():
                if not (row["action"] == "hide" and row["crop_id"] in hidden):  # said twice, and no harm
                    _check_crop_id(catalog, row, crops)
            if name in catalog.descriptor.tables and catalog.descriptor.tables[name].is_evidence:
                for crop_id in sorted({row["crop_id"] for row in rows}):
                    catalog.stacked(name, crop_id)
    catalog.names()
    _check_ids_are_no_names(catalog)
    for name in MATERIALS:
        catalog.reference_rows(name)
    _check_expected(catalog)


def notes_on(layers: tuple[Layer, ...], version: str) -> tuple[str, ...]:
    """What a user should know of layers that can be opened, but were made for a later edition."""
    return tuple(
        f"{layer.label()}: made for edition {layer.made_for} of the data, later than this {version}: "
        "crops or rows that it counts on may be missing; update cropdata"
        for layer in layers if layer.made_for and _parts(layer.made_for) > _parts(version)
    )  # fmt: skip


def check_title(layer: Layer, below: list[Layer]) -> None:
    """Raise LayerError where answers could not tell the layer from one below it."""
    for other in below:
        if other.name == layer.name:
            raise LayerError(
                f"two layers would be called {layer.name} in answers: {other.label()} and {layer.label()}; "
                "give each its own title, in letters or digits, as answers name the layer they come from"
            )


def _parts(edition: str) -> tuple[int, ...]:
    numbers = [int(part) for part in edition.split(".")]
    return tuple([*numbers, 0, 0][:3])


def _check_edition(layer: Layer, version: str) -> None:
    if not layer.made_for or _parts(layer.made_for)[0] == _parts(version)[0]:
        return
    older = _parts(layer.made_for) < _parts(version)
    raise LayerError(
        f"{layer.label()}: made for edition {layer.made_for} of the data, this is {version}. Where the first number differs, "
        + (f"crops or columns have gone or mean something else: look through the layer, then write made_for: {version} into its layer.yaml"
           if older else "it may count on crops and columns that are not there yet: update cropdata")
    )  # fmt: skip


def _check_crops(catalog: Catalog, layer: Layer, crops: Mapping[str, Row]) -> None:
    """The layer's own crops and varieties: parents that are there, in use, of the same species, and no ring of them.

    `crops`: those of the release and the layers up to this one; what a layer above hides or adds is told there.
    """
    for row in layer.rows.get("crops", []):
        if row["action"] == "hide":
            for other in crops.values():
                if other["parent_id"] == row["crop_id"]:
                    raise LayerError(f"{row['where']}: {row['crop_id']} cannot be hidden: {other['crop_id']} is a type of it; hide that first")  # fmt: skip
            continue
        parent_id = row["parent_id"]
        if not parent_id:
            missing = [name for name in ("scientific_name", "family", "group") if not row[name]]
            if missing:
                raise LayerError(f"{row['where']}: {row['crop_id']} has no parent_id, and {', '.join(missing)} missing; a variety names its parent, such as tomato; a kind of its own needs all three")  # fmt: skip
            continue
        if parent_id not in crops:
            raise LayerError(f"{row['where']}, parent_id: {_no_crop(catalog, parent_id)}")
        if crops[parent_id]["status"] == "retired":
            raise LayerError(
                f"{row['where']}, parent_id: {parent_id} is retired; use {crops[parent_id]['replaced_by']}"
            )
        line = [row["crop_id"]]
        while parent_id:
            if parent_id in line:
                raise LayerError(f"{row['where']}, parent_id: {' is a type of '.join([*line, parent_id])}: the ring has no end")  # fmt: skip
            line.append(parent_id)
            parent_id = crops[parent_id]["parent_id"] if parent_id in crops else ""
        if not _one_species(row, crops[line[1]]):
            raise LayerError(
                f"{row['where']}, scientific_name: {row['scientific_name']} cannot inherit from {line[1]}, {crops[line[1]]['scientific_name']}: "
                "figures are inherited within one species only; leave the scientific name empty, or leave parent_id empty"
            )
    changed = {row["crop_id"]: row for row in layer.rows.get("crops", []) if row["action"] == "override"}
    for other in crops.values() if changed else ():
        row = changed.get(other["parent_id"], other)
        if not _one_species(other, row):
            raise LayerError(
                f"{row['where']}, scientific_name: {row['scientific_name']} is not the species of {other['crop_id']}, {other['scientific_name']}, "
                "which inherits from it; leave the scientific name empty, or change both crops"
            )


def _check_ids_are_no_names(catalog: Catalog) -> None:
    """An id means its own crop whatever else is called so: a layer's crop may not take the name of another one."""
    own = {
        folded(row["crop_id"].replace("-", " ")): row
        for layer in catalog.layers for row in layer.rows.get("crops", []) if row["action"] == "add"
    }  # fmt: skip
    for name in catalog.name_rows() if own else ():
        row = own.get(folded(name["name"]))
        if row is not None and name["crop_id"] != row["crop_id"] and name["crop_id"] in catalog.crop_rows():
            raise LayerError(
                f"{row['where']}, crop_id: {row['crop_id']} is a name of {name['crop_id']} already, and would no longer mean it; "
                f"give your crop an id of its own, such as {row['crop_id']}-mine"
            )


def _one_species(one: Row, other: Row) -> bool:
    return one["scientific_name"].split()[:2] == other["scientific_name"].split()[:2]


def _check_crop_id(catalog: Catalog, row: Row, crops: Mapping[str, Row]) -> None:
    found = crops.get(row["crop_id"])
    if found is None:
        raise LayerError(f"{row['where']}, crop_id: {_no_crop(catalog, row['crop_id'])}")
    if found["status"] == "retired":
        raise LayerError(f"{row['where']}, crop_id: {row['crop_id']} is retired; use {found['replaced_by']}")


def _no_crop(catalog: Catalog, text: str) -> str:
    """What to say of an id that is none: the one that was meant, who hides it, or how to add it."""
    told = [row for layer in catalog.layers for row in layer.rows.get("crops", []) if row["crop_id"] == text]
    if hiding := [row for row in told if row["action"] == "hide"]:
        return f"crop {text!r} is hidden by {origin(hiding[0])}"
    if told:
        return f"crop {text!r} is added by {origin(told[0])}, which lies above; name that layer first"
    try:
        hint = f"{text} is {catalog.crop(text).id} here: write that id"
    except UnknownCropError as error:
        hint = f"did you mean {' or '.join(error.suggestions[:3])}? Or " if error.suggestions else ""
        hint += "add it to the layer's crops.csv"
    return f"no crop {text!r} in the release or the layers; {hint}"


def _check_expected(catalog: Catalog) -> None:
    """An override may say which figure it means to replace; a release that moved since then is noticed."""
    for height, layer in enumerate(catalog.layers):
        expecting = [
            (name, row) for name, rows in layer.rows.items() for row in rows
            if row.get("expects_low") or row.get("expects_high")
        ]  # fmt: skip
        if not expecting:
            continue
        below = Catalog(catalog.folder, [(lower.folder, lower.origin) for lower in catalog.layers[:height]])
        for name, row in expecting:
            _expect(below, name, row)


def _is_meant(expected: float, found: float) -> bool:
    """Whether the figure is the one expected, exactly or as `show` writes it: 13 for 12.7."""
    return abs(found - expected) <= _ROUNDING * max(1.0, abs(found)) or f"{expected:g}" == figure(found)


def _expect(below: Catalog, table: str, row: Row) -> None:
    unit = row.get("unit", "")
    low, high, who = _replaced(below, table, row)
    for end, found in (("low", low), ("high", high)):
        expected = row[f"expects_{end}"]
        if not expected or (found is not None and _is_meant(float(expected), found)):
            continue
        now = "nothing" if found is None else f"{found:g} {unit}".strip()
        raise LayerError(
            f"{row['where']}, expects_{end}: meant to replace {expected} {unit}".rstrip()
            + f", but {who} says {now}; look at the new figure (cropdata why {row['crop_id']} {table}), "
            + (f"then write expects_{end} {found:g} to keep your own, or delete the row to take the new one"
               if found is not None else "then change the row to action add, or delete it")
        )  # fmt: skip


def _replaced(below: Catalog, table: str, row: Row) -> tuple[float | None, float | None, str]:
    """The figure that an override replaces, in the row's own unit, and who says it: the named row's, else the answer."""
    unit, described = row.get("unit", ""), below.descriptor.tables[table]
    if row["crop_id"] not in below.crop_rows():
        return None, None, "what lies below"
    if row["row_id"]:
        rows = [other for other in below.stacked(table, row["crop_id"]) if other["row_id"] == row["row_id"]]
        if not rows or described.field("low") is None:
            return None, None, f"row {row['row_id']}"
        ends = [
            canonical(float(rows[0][end]), rows[0].get("unit") or unit, unit) if rows[0][end] and unit else None
            for end in ("low", "high")
        ]  # fmt: skip
        return ends[0], ends[1], f"row {row['row_id']} of {origin(rows[0])}"
    if described.trait is None:
        raise LayerError(f"{row['where']}, expects_low: {table} has no single answer to expect; name the row that is replaced by its row_id, or, where it is a layer's and has none, leave expects_low and expects_high empty")  # fmt: skip
    answer = below.crop(row["crop_id"]).trait(table)
    if answer is None:
        return None, None, "what lies below"
    who = f"{'the release' if answer.layer == 'release' else f'layer {answer.layer}'} below"
    if isinstance(answer, GerminationTemperature):
        ends = [None if end is None else convert(end, "°C", unit or "°C") for end in (answer.minimum, answer.maximum)]
        return ends[0], ends[1], who
    shown = answer.to(unit) if unit else answer
    return shown.low, shown.high, who
