"""What can be mended without a thought: form, never a value.

Byte-order mark, line ends, blanks at the ends of a cell, Unicode form; in the release the order of rows; in a grower's
file, semicolons and the decimal commas that come with them, where they can mean nothing else. Everything that is
changed is named cell by cell (a changed blank cannot be seen in a plain difference); each file is replaced whole.
"""

from __future__ import annotations

import csv
import io
import os
import re
import unicodedata
from collections.abc import Iterator
from typing import NamedTuple

from cropdata.tabular.descriptor import Table, read_descriptor
from cropdata.tabular.location import DESCRIPTOR, shipped_package
from cropdata.tabular.rows import write_whole
from cropdata.validation.files import shape_of
from cropdata.validation.report import rows_named
from cropdata.validation.trust import is_outside

LARGEST = 100_000_000
_DECIMAL_COMMA = re.compile(r"(-?[0-9]+),([0-9]{1,2}|[0-9]{4,})")


class Mended(NamedTuple):
    """One file: its path, what was changed in words, its new text; `text` is None where it had to be left alone."""

    path: str
    changes: tuple[str, ...]
    text: str | None


def mend(path: str, *, write: bool = True) -> list[Mended]:
    """Mend a package, a layer folder or a CSV file. Returns the files changed and those left alone, with reasons.

    Nothing is written before every file has been read, nor at all with `write` off.
    """
    mended = [
        result for file, table, release in _files(path) if (result := _mend_file(file, table, release)) is not None
    ]
    for result in mended if write else ():
        if result.text is not None:
            write_whole(result.path, result.text)
    return mended


def _files(path: str) -> Iterator[tuple[str, Table | None, bool]]:
    """CSV files below `path` with their table, and whether they are of a package."""
    if os.path.basename(path) in (DESCRIPTOR, "layer.yaml"):
        path = os.path.dirname(path) or "."
    if os.path.isfile(os.path.join(path, DESCRIPTOR)):
        for table in read_descriptor(path).tables.values():
            if not table.is_derived and not is_outside(table.path):
                yield os.path.join(path, table.path), table, True
        return
    tables = {os.path.basename(table.path): table for table in read_descriptor(shipped_package()).tables.values()}
    if not os.path.isdir(path):
        yield path, tables.get(os.path.basename(path)), False
        return
    for place, _, names in sorted(os.walk(path)):
        for name in sorted(names):
            if name in tables:
                yield os.path.join(place, name), tables[name], False


def _mend_file(path: str, table: Table | None, release: bool) -> Mended | None:
    shape = shape_of(path, path, release=False)
    if not shape.header:
        return Mended(path, tuple(item.message for item in shape.findings), None)
    if os.path.getsize(path) > LARGEST:
        return Mended(path, (f"is larger than {LARGEST // 1_000_000} MB",), None)
    with open(path, encoding="utf-8", newline="") as stream:
        before = stream.read()
    changes = ["the byte-order mark is taken away"] if before.startswith("\ufeff") else []
    if "\r" in before:
        changes.append("line ends become LF")
    elif not before.endswith("\n"):
        changes.append("the last row gets its line end")
    parted = shape.delimiter != "," and not release
    if parted:
        changes.append("cells are parted by commas")
    numbers = (
        {field.name for field in table.fields if field.type in ("number", "integer")} if table and parted else set()
    )
    try:
        records = list(_records(before.removeprefix("\ufeff"), shape.delimiter))
    except csv.Error as error:
        return Mended(path, (f"cannot be parted into cells: {error}",), None)
    lines = [
        _mended_line(number, raw, cells, shape.header, numbers, parted, changes)
        for number, (raw, cells) in enumerate(records, 1)
    ]
    if release and table is not None:
        lines = _in_order(lines, shape.header, table, changes)
    after = "".join(f"{line}\n" for line in lines)
    return Mended(path, tuple(changes), after) if after != before else None


def _records(text: str, delimiter: str) -> Iterator[tuple[str, list[str]]]:
    """Each row as it stands, without its line end, and its cells."""
    read: list[str] = []

    def lines() -> Iterator[str]:
        for line in io.StringIO(text, newline=""):
            read.append(line)
            yield line

    for cells in csv.reader(lines(), delimiter=delimiter, strict=True):
        yield "".join(read).rstrip("\r\n"), cells
        read.clear()


def _mended_line(
    number: int, raw: str, cells: list[str], header: list[str], numbers: set[str], parted: bool, changes: list[str]
) -> str:
    """The row with its cells mended; a row in which nothing changes stays as it was written."""
    if raw.startswith("#"):
        return raw
    mended = []
    for place, cell in enumerate(cells):
        name = header[place] if place < len(header) else f"cell {place + 1}"
        text = unicodedata.normalize("NFC", cell).strip()
        if name in numbers and (comma := _DECIMAL_COMMA.fullmatch(text)):
            text = f"{comma[1]}.{comma[2]}"
        if text != cell:
            changes.append(f"row {number}, {name}: {cell!a} becomes {text!a}")
        mended.append(text)
    if mended == cells and not parted:
        return raw
    stream = io.StringIO()
    csv.writer(stream, lineterminator="\r\n").writerow(mended)  # it quotes a cell for the signs of its line end
    return stream.getvalue().removesuffix("\r\n")


def _in_order(lines: list[str], header: list[str], table: Table, changes: list[str]) -> list[str]:
    """Rows in the order of the table's key. A file with ragged rows keeps its order: a key cannot be told there."""
    rows = list(csv.reader(lines[1:], strict=True))
    names = [name for name in table.primary_key if name in header]
    if len(names) < len(table.primary_key) or any(len(row) != len(header) for row in rows):
        return lines
    places = [header.index(name) for name in names]
    order = sorted(range(len(rows)), key=lambda at: [rows[at][place] for place in places])
    moved = [at + 2 for at, new in enumerate(order) if at != new]
    if moved:
        changes.append(f"rows are sorted by {', '.join(names)}: {rows_named(moved)}")
    return [lines[0], *(lines[1 + at] for at in order)]
