"""A grower's layer: a folder of rows laid over the release.

A layer is data only: nothing in it is executed. It holds `layer.yaml` (title, author, made_for, schema) and any
of the package's CSV files with as many of their columns as the grower needs, plus `action` (add, override,
hide) and, for an override, `expects_low` and `expects_high`. How rows are laid over those below: `stacking`.
"""

from __future__ import annotations

import csv
import os
import re
from typing import NamedTuple, TextIO

from cropdata.catalog.layer_rows import LAYER_COLUMNS, check_figures, check_row, fill
from cropdata.catalog.layer_sources import MEMORY, described, is_memory
from cropdata.catalog.names import printable, without_accents
from cropdata.errors import CropdataError, InputError, LayerError, why_unreadable
from cropdata.tabular.canonical import canonical_cells
from cropdata.tabular.descriptor import SCHEMA_NUMBER, Descriptor, Table
from cropdata.tabular.location import DESCRIPTOR, LAYER_FILE
from cropdata.tabular.rows import Row, open_ordinary
from cropdata.tabular.settings import read_settings

LARGEST_FILE = 100_000_000  # bytes of one table that a layer opens; the check reads more, chunk by chunk
MATERIALS = ("containers", "media")
LAYERED = ("crops", "crop_names", "sources", *MATERIALS)
_BELOW = ("reference", "evidence")
_EDITION = re.compile(r"[0-9]{1,6}(?:\.[0-9]{1,6}){0,2}", re.ASCII)


class Layer(NamedTuple):
    """One layer as read: its name, who made it, and its rows by table.

    Beside its cells each row has `layer`, `action`, `at` ("sowing_depth.csv row 2") and `where` (the same with the path).
    `origin` tells what an installed layer was found by; it is empty for a folder that was named.
    """

    name: str
    folder: str
    title: str
    author: str
    made_for: str
    rows: dict[str, list[Row]]
    origin: str = ""

    def label(self) -> str:
        """The layer in words: title, and where it was found."""
        return f"{self.title} ({self.origin or self.folder})"


def _settings(folder: str, *, links: bool) -> dict[str, str]:
    path = os.path.join(folder, LAYER_FILE)
    if not links and os.path.islink(path):
        raise LayerError(f"{path}: is a symbolic link; put the file itself there")
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
    if not printable(str(settings.get("title") or "")):
        raise LayerError(f"{path}: `title` is missing: give the layer a name")
    made_for = settings.get("made_for")
    if made_for is not None and not _EDITION.fullmatch(str(made_for)):
        raise LayerError(
            f"{path}: `made_for`: found {str(made_for)[:60]!r}; allowed: an edition of the data, such as 1.2.0"
        )
    if settings.get("schema", SCHEMA_NUMBER) != SCHEMA_NUMBER:
        raise LayerError(f"{path}: schema {settings['schema']!r}; this version of cropdata reads {SCHEMA_NUMBER}")
    return {key: "" if (value := settings.get(key)) is None else printable(str(value)) for key in known}


def layer_tables(descriptor: Descriptor) -> dict[str, Table]:
    """The tables that a layer may hold, by file name."""
    return {
        os.path.basename(table.path): table for table in descriptor.tables.values()
        if table.is_evidence or table.name in LAYERED
    }  # fmt: skip


def csv_files(folder: str, *, links: bool = False) -> list[str]:
    """The CSV files of a layer: in its folder, and in `reference` and `evidence` below it; no linked folders, unless `links`."""
    found = []
    for place in (folder, *(os.path.join(folder, name) for name in _BELOW)):
        if place != folder and not links and os.path.islink(place):
            raise LayerError(f"{place}: is a symbolic link; put the folder itself there")
        for name in sorted(os.listdir(place)) if os.path.isdir(place) else ():
            path = os.path.join(place, name)
            if name.endswith(".csv"):
                found.append(path)
            elif name.casefold().endswith(".csv"):
                raise LayerError(f"{path}: would not be read; rename it to {name.casefold()}")
            elif place == folder and name not in _BELOW and not name.startswith("."):
                for inner in sorted(next(os.walk(path), ("", [], []))[2]):
                    if inner.casefold().endswith(".csv"):
                        raise LayerError(f"{os.path.join(path, inner)}: would not be read; put it into {folder}, or outside the layer")  # fmt: skip
    return found


def opened(path: str, *, links: bool = False) -> TextIO:
    """A file of a layer as text. A symbolic link could bring in any file there is: only installers (`links`) make them.

    Raises LayerError where it is too large, OSError where it cannot be read or is no ordinary file.
    """
    handle = open_ordinary(path, links=links)
    if (size := os.fstat(handle).st_size) > LARGEST_FILE:
        os.close(handle)
        raise LayerError(
            f"{path}: has {size // 1_000_000} MB; a layer's file is opened up to {LARGEST_FILE // 1_000_000} MB; "
            "look what the file really is (cropdata check tells)"
        )
    return open(handle, encoding="utf-8-sig", newline="")


def _read_table(path: str, table: Table, layer: str, *, links: bool) -> list[Row]:
    try:
        with opened(path, links=links) as stream:
            lines: list[list[str]] = []
            lines.extend(csv.reader(stream, strict=True))
    except (OSError, UnicodeDecodeError) as error:
        raise LayerError(f"{path}: {why_unreadable(error)}") from error
    except csv.Error as error:
        raise LayerError(
            f"{path}, row {len(lines) + 1}: {why_unreadable(error)}; look for an unclosed quote"
        ) from error
    numbered = [
        (number, cells) for number, cells in enumerate(lines, start=1) if any(cells) and not cells[0].startswith("#")
    ]
    if not numbered:
        return []
    (first, header), *records = numbered
    known = {field.name for field in table.fields} | set(LAYER_COLUMNS)
    for name in header:
        if name not in known:
            hint = "; the file is parted by semicolons, save it with commas" if len(header) == 1 and ";" in name else ""
            raise LayerError(f"{path}, row {first}: unknown column {name!r}; allowed: {', '.join(sorted(known))}{hint}")
        if header.count(name) > 1:
            raise LayerError(f"{path}, row {first}: the column {name} stands twice; delete one of the two")
    rows = []
    for number, cells in records:
        where = f"{path}, row {number}"
        if len(cells) != len(header):
            raise LayerError(f"{where}: {len(cells)} cells, the header has {len(header)}")
        row = dict(zip(header, (cell.strip() for cell in cells), strict=True))
        row["action"] = row.get("action") or "add"
        check_row(row, table, where)
        rows.append(_completed(row, table, layer, where, number))
    return rows


def _completed(row: Row, table: Table, layer: str, where: str, number: int) -> Row:
    """The row with the columns that a layer may leave out."""
    at = f"{os.path.basename(table.path)} row {number}"
    full = {field.name: row.get(field.name, "") for field in table.fields} | {
        "layer": layer, "action": row["action"], "where": where, "at": at,
        "expects_low": row.get("expects_low", ""), "expects_high": row.get("expects_high", ""),
    }  # fmt: skip
    if "crop_id" in full and not full["crop_id"]:
        raise LayerError(f"{where}, crop_id: missing: which crop does the row speak of?")
    if table.name == "crop_names" and not full["name"]:
        raise LayerError(f"{where}, name: missing: which name has {full['crop_id']}?")
    if table.name == "sources":
        if not full["source_id"] and not full["title"]:
            raise LayerError(f"{where}, title: missing: what is the source called?")
        return described(full)
    if is_memory(full.get("source_id", "")):
        full["source_id"] = MEMORY
        if "basis" in full:
            full["basis"] = full["basis"] or "from_memory"
    if not table.is_evidence:
        return full
    if table.name == "cautions" and row["action"] != "add":
        raise LayerError(
            f"{where}, action: found {row['action']!r}; allowed: add. Cautions only ever add up; none is taken away"
        )
    full["source_id"] = full["source_id"] or layer
    full["locator"] = full["locator"] or at
    full["basis"] = full["basis"] or "published"
    full["printed"] = full["printed"] or _as_printed(full, table)
    fill(full, table)
    for field in table.fields:
        if field.converted_from and full.get(field.converted_from) and not full.get(field.unit_field):
            allowed = unit.enum if (unit := table.field(field.unit_field)) else ()
            raise LayerError(f"{where}, {field.unit_field}: missing; allowed: {', '.join(allowed)}")
    try:
        full.update(canonical_cells(full, table))
    except (CropdataError, ValueError) as error:
        raise LayerError(f"{where}: {error}") from error
    if row["action"] != "hide":
        check_figures(full, table, where)
    return full


def _as_printed(row: Row, table: Table) -> str:
    """What a grower's own row says, in one text: 2-3 years, or whatever words and figures it holds."""
    shown = [row.get(name, "") for name in ("low", "high") if row.get(name)]
    figure = " ".join(["-".join(dict.fromkeys(shown)), row.get("unit", "")]).strip() if shown else ""
    if table.trait and figure:
        return figure
    unit_of = {field.converted_from: field.unit_field for field in table.fields if field.converted_from}
    left_out = {"row_id", "crop_id", "source_id", "locator", "basis", "printed", "low", "high", "unit", "note"}
    others = [
        f"{field.name.replace('_', ' ')} {row[field.name]} {row.get(unit_of.get(field.name, ''), '')}".rstrip() for field in table.fields
        if row[field.name] and field.name not in {*left_out, *unit_of.values()} and not field.written_by_build
    ]  # fmt: skip
    return "; ".join(filter(None, [figure, *others])) or row["note"]


def read_layer(folder: str | os.PathLike[str], descriptor: Descriptor, origin: str = "") -> Layer:
    """Read and check a layer folder. Raises LayerError naming file, row, column, what was found and is allowed."""
    place = os.fspath(folder)
    if not os.path.isdir(place):
        raise LayerError(f"{place}: no such folder")
    if os.path.isfile(os.path.join(place, DESCRIPTOR)):
        raise LayerError(f"{place}: this is a data package, not a layer; open it with cropdata.open(path)")
    settings = _settings(place, links=bool(origin))
    name = layer_name(settings["title"])
    if name == "release":
        raise LayerError(
            f"{os.path.join(place, LAYER_FILE)}: a layer cannot be called release, as what ships is; give it another title"
        )
    tables = layer_tables(descriptor)
    rows: dict[str, list[Row]] = {}
    for path in csv_files(place, links=bool(origin)):
        table = tables.get(os.path.basename(path))
        if table is None:
            raise LayerError(f"{path}: no table of that name; allowed: {', '.join(sorted(tables))}")
        rows.setdefault(table.name, []).extend(_read_table(path, table, name, links=bool(origin)))
    rows.setdefault("sources", []).insert(0, _own_source(name, settings, os.path.join(place, LAYER_FILE)))
    rows.setdefault("days_to_maturity", []).extend(
        _maturity_of(packet, descriptor.tables["days_to_maturity"]) for packet in rows.get("packets", [])
        if packet["action"] != "hide" and (packet["low"] or packet["high"])
    )  # fmt: skip
    return Layer(name, place, settings["title"], settings["author"], settings["made_for"], rows, origin)


def layer_name(title: str) -> str:
    """The short name that answers carry: small letters, of any script, digits and underscores."""
    return re.sub(r"[\W_]+", "_", without_accents(title.casefold())).strip("_") or "layer"


def _own_source(name: str, settings: dict[str, str], path: str) -> Row:
    return described({
        "source_id": name, "title": settings["title"], "authors": settings["author"], "publisher": "", "year": "",
        "url": "", "kind": "", "lineage": name, "grade": "", "licence_note": "",
        "note": "a local layer", "layer": name, "action": "add", "where": path, "at": LAYER_FILE,
    })  # fmt: skip


def _maturity_of(packet: Row, table: Table) -> Row:
    """The days to maturity that a packet states, as a row of their own table: typed once, answered in both places."""
    shared = {field.name: packet.get(field.name, "") for field in table.fields}
    return packet | shared | {"row_id": "", "action": "add", "expects_low": "", "expects_high": ""}
