"""A grower's layer: a folder of rows laid over the release.

A layer is data only: nothing in it is executed. It holds `layer.yaml` (title, author, made_for, schema) and any
of the package's CSV files with as many of their columns as the grower needs, plus `action` (add, override,
hide) and, for an override, `expects_low` and `expects_high`.
"""

from __future__ import annotations

import csv
import os
import re
from typing import NamedTuple

from cropdata.errors import CropdataError, InputError, LayerError, why_unreadable
from cropdata.tabular.canonical import canonical_cells
from cropdata.tabular.descriptor import SCHEMA_NUMBER, Descriptor, Table
from cropdata.tabular.location import DESCRIPTOR
from cropdata.tabular.rows import Row
from cropdata.tabular.settings import read_settings
from cropdata.tabular.values import ALLOWED, parse

LAYER_FILE = "layer.yaml"
ACTIONS = ("add", "override", "hide")
LAYER_COLUMNS = ("action", "expects_low", "expects_high")
LARGEST_FILE = 100_000_000  # bytes of one table that a layer opens; the check reads more, chunk by chunk
LAYERED = ("crops", "crop_names", "sources", "containers", "media")


class Layer(NamedTuple):
    """One layer as read: its name, who made it, and its rows by table (with `action`, `file` and `line`)."""

    name: str
    folder: str
    title: str
    author: str
    made_for: str
    rows: dict[str, list[Row]]


def _settings(folder: str) -> dict[str, str]:
    path = os.path.join(folder, LAYER_FILE)
    if not os.path.isfile(path):
        raise LayerError(f"{folder}: no {LAYER_FILE} there; a layer needs one with title, author, made_for, schema")
    try:
        settings = read_settings(path)
    except InputError as error:
        raise LayerError(str(error)) from error
    if not isinstance(settings, dict):
        raise LayerError(f"{path}: expected lines such as `title: My notes`")
    known = ("title", "author", "made_for", "schema")
    unknown = [str(key) for key in settings if key not in (*known, "exceptions")]  # those are for the check
    if unknown:
        raise LayerError(f"{path}: unknown setting {', '.join(unknown)}; allowed: {', '.join(known)}, exceptions")
    if not settings.get("title"):
        raise LayerError(f"{path}: `title` is missing: give the layer a name")
    if settings.get("schema", SCHEMA_NUMBER) != SCHEMA_NUMBER:
        raise LayerError(f"{path}: schema {settings['schema']!r}; this version of cropdata reads {SCHEMA_NUMBER}")
    return {key: str(settings.get(key, "")) for key in known}


def _csv_files(folder: str) -> list[str]:
    found = []
    for place in (folder, *(os.path.join(folder, name) for name in ("reference", "evidence"))):
        if os.path.isdir(place):
            found += [os.path.join(place, name) for name in sorted(os.listdir(place)) if name.endswith(".csv")]
    return found


def _check_row(row: Row, table: Table, where: str) -> None:
    """The least that must hold before a row can be laid over the release."""
    if row.get("action", "") not in ACTIONS:
        raise LayerError(f"{where}, action: found {row.get('action')!r}; allowed: {', '.join(ACTIONS)}")
    for column in ("expects_low", "expects_high"):
        if row.get(column) and row["action"] != "override":
            raise LayerError(f"{where}, {column}: only a row with action override expects an old value")
    for name, text in row.items():
        field = table.field(name)
        kind = field.type if field else "number" if name in LAYER_COLUMNS[1:] else None
        if kind is None or text == "":
            continue
        try:
            parse(text, kind)
        except ValueError:
            raise LayerError(f"{where}, {name}: found {text!r}; allowed: {ALLOWED.get(kind, kind)}") from None
        if field and field.enum and text not in field.enum:
            raise LayerError(f"{where}, {name}: found {text!r}; allowed: {', '.join(field.enum)}")
    low, high = row.get("low"), row.get("high")
    if low and high and float(low) > float(high):
        raise LayerError(f"{where}: low {low} is above high {high}; swap them")
    unit = table.field("unit")
    if row["action"] != "hide" and unit and unit.required and not row.get("unit"):
        raise LayerError(f"{where}, unit: missing; allowed: {', '.join(unit.enum)}")


def _read_table(path: str, table: Table, layer: str) -> list[Row]:
    try:
        if (size := os.path.getsize(path)) > LARGEST_FILE:
            raise LayerError(
                f"{path}: has {size // 1_000_000} MB; a layer's table is opened up to {LARGEST_FILE // 1_000_000} MB; "
                "look what the file really is (cropdata check tells)"
            )
        with open(path, encoding="utf-8-sig", newline="") as stream:
            lines = list(csv.reader(stream, strict=True))
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise LayerError(f"{path}: {why_unreadable(error)}") from error
    if not lines:
        return []
    header = lines[0]
    known = {field.name for field in table.fields} | set(LAYER_COLUMNS)
    for name in header:
        if name not in known:
            hint = "; the file is parted by semicolons, save it with commas" if len(header) == 1 and ";" in name else ""
            raise LayerError(f"{path}, row 1: unknown column {name!r}; allowed: {', '.join(sorted(known))}{hint}")
    rows = []
    for number, cells in enumerate(lines[1:], start=2):
        if not any(cells) or cells[0].startswith("#"):
            continue
        where = f"{path}, row {number}"
        if len(cells) != len(header):
            raise LayerError(f"{where}: {len(cells)} cells, the header has {len(header)}")
        row = dict(zip(header, (cell.strip() for cell in cells), strict=True))
        row["action"] = row.get("action") or "add"
        _check_row(row, table, where)
        rows.append(_completed(row, table, layer, where, number))
    return rows


def _completed(row: Row, table: Table, layer: str, where: str, number: int) -> Row:
    """The row with the columns that a layer may leave out."""
    full = {field.name: row.get(field.name, "") for field in table.fields} | {
        "layer": layer, "action": row["action"], "where": where,
        "expects_low": row.get("expects_low", ""), "expects_high": row.get("expects_high", ""),
    }  # fmt: skip
    if not table.is_evidence:
        return full
    if not full["crop_id"]:
        raise LayerError(f"{where}, crop_id: missing: which crop does the row speak of?")
    full["source_id"] = full["source_id"] or layer
    full["locator"] = full["locator"] or f"{os.path.basename(table.path)} row {number}"
    full["basis"] = full["basis"] or "published"
    if not full["printed"]:
        shown = [full.get(name, "") for name in ("low", "high") if full.get(name)]
        full["printed"] = " ".join(["-".join(dict.fromkeys(shown)), full.get("unit", "")]).strip()
    for field in table.fields:
        # A column that a layer may not know yet: take its neutral word where the schema has one.
        if field.required and field.enum and not full[field.name] and "unstated" in field.enum:
            full[field.name] = "unstated"
    try:
        full.update(canonical_cells(full, table))
    except (CropdataError, ValueError) as error:
        raise LayerError(f"{where}: {error}") from error
    return full


def read_layer(folder: str | os.PathLike[str], descriptor: Descriptor) -> Layer:
    """Read and check a layer folder. Raises LayerError naming file, row, column, what was found and is allowed."""
    place = os.fspath(folder)
    if not os.path.isdir(place):
        raise LayerError(f"{place}: no such folder")
    if os.path.isfile(os.path.join(place, DESCRIPTOR)):
        raise LayerError(f"{place}: this is a data package, not a layer; open it with cropdata.open(path)")
    settings = _settings(place)
    name = re.sub(r"[^a-z0-9]+", "_", settings["title"].casefold()).strip("_") or "layer"
    tables = {os.path.basename(table.path): table for table in descriptor.tables.values()
              if table.is_evidence or table.name in LAYERED}  # fmt: skip
    rows: dict[str, list[Row]] = {}
    for path in _csv_files(place):
        table = tables.get(os.path.basename(path))
        if table is None:
            raise LayerError(f"{path}: no table of that name; allowed: {', '.join(sorted(tables))}")
        rows.setdefault(table.name, []).extend(_read_table(path, table, name))
    rows.setdefault("sources", []).insert(0, _own_source(name, settings))
    return Layer(name, place, settings["title"], settings["author"], settings["made_for"], rows)


def _own_source(name: str, settings: dict[str, str]) -> Row:
    return {
        "source_id": name, "title": settings["title"], "authors": settings["author"], "publisher": "", "year": "",
        "url": "", "kind": "other", "lineage": name, "grade": "c", "licence_note": "the grower's own",
        "note": "a local layer", "layer": name, "action": "add", "where": LAYER_FILE,
    }  # fmt: skip


def stack_rows(rows: list[Row], layer_rows: list[Row], *, key: str, same: tuple[str, ...]) -> list[Row]:
    """`rows` with one layer's rows laid over them.

    `key` is the column that names a row. An override or a hide with that key replaces or removes that row; one
    without it replaces or removes every row below that agrees in the columns `same`.
    """
    below = list(rows)
    added: list[Row] = []
    for row in layer_rows:
        if row["action"] == "add":
            if row.get(key) and any(other[key] == row[key] for other in below):
                raise LayerError(
                    f"{row['where']}: {key} {row[key]!r} exists already; use action override to replace it"
                )
            added.append(row)
            continue
        if row.get(key):
            kept = [other for other in below if other[key] != row[key]]
        else:
            kept = [other for other in below if any(other[name] != row[name] for name in same)]
        if len(kept) == len(below):
            what = row.get(key) or ", ".join(row[name] for name in same)
            raise LayerError(
                f"{row['where']}: nothing to {row['action']} for {what}; the release may have moved, look at it again"
            )
        below = kept
        if row["action"] == "override":
            added.append(row)
    return below + added
