"""A layer as an XLSX workbook: one sheet a table, and the sheet `layer` with the lines of layer.yaml.

Texts are written as texts and their columns formatted so, so that a spreadsheet neither runs a formula, nor drops a
leading zero, nor makes a date of 7-10. A row keeps its number. The way back, without loss: `workbook_in`.
"""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Any

from cropdata.catalog.layer_rows import LAYER_COLUMNS
from cropdata.catalog.layers import csv_files, layer_tables, opened
from cropdata.errors import InputError, LayerError, MissingExtraError, why_unreadable
from cropdata.tabular.descriptor import Descriptor, Table
from cropdata.tabular.location import LAYER_FILE
from cropdata.tabular.values import NOT_IN_XML, parse

SETTINGS = "layer"
LONGEST_CELL = 32_767  # characters: what a spreadsheet holds


def library() -> Any:
    """openpyxl, imported where it is used. Raises MissingExtraError without it."""
    try:
        import openpyxl
    except ImportError:
        raise MissingExtraError("a layer as a spreadsheet", "xlsx") from None
    return openpyxl


def to_workbook(folder: str, file: str, descriptor: Descriptor) -> list[str]:
    """Write the layer in `folder` as the new workbook `file`. Returns the names of its sheets.

    Raises LayerError where the layer cannot be read, InputError where the file is there already or a cell is too long,
    MissingExtraError without openpyxl.
    """
    openpyxl = library()
    if not file.lower().endswith(".xlsx"):
        raise InputError("is no name of a workbook", file=file, allowed="a name that ends in .xlsx")
    if os.path.lexists(file):
        raise InputError("is there already, and nothing is overwritten", file=file, hint="name a new file")
    settings = os.path.join(folder, LAYER_FILE)
    tables = layer_tables(descriptor)
    book = openpyxl.Workbook(write_only=False)
    book.remove(book.active)
    _fill(book.create_sheet(SETTINGS), ([line] for line in _text(settings).splitlines()), None, settings)
    for path in csv_files(folder):
        table = tables.get(os.path.basename(path))
        if table is None:
            raise LayerError(f"{path}: no table of that name; allowed: {', '.join(sorted(tables))}")
        if table.name in book.sheetnames:
            raise LayerError(f"{path}: the table stands twice in the layer; put its rows into one file")
        _fill(book.create_sheet(table.name), _rows(path), table, path)
    stream = io.BytesIO()
    book.save(stream)
    with open(file, "xb") as target:
        target.write(stream.getvalue())
    return list(book.sheetnames)


def _text(path: str) -> str:
    try:
        with opened(path) as stream:
            return stream.read()
    except (OSError, UnicodeDecodeError) as error:
        raise LayerError(f"{path}: {why_unreadable(error)}") from error


def _rows(path: str) -> Iterator[list[str]]:
    """Rows as cells; a remark that is no row behind a # stands in one cell, as it is written."""
    raw: list[str] = []

    def lines() -> Iterator[str]:
        for line in io.StringIO(_text(path), newline=""):
            raw.append(line)
            yield line

    width = 0
    try:
        for cells in csv.reader(lines(), strict=True):
            remark = bool(cells) and cells[0].startswith("#")
            width = width or (0 if remark else len(cells))
            yield ["".join(raw).rstrip("\r\n")] if remark and 1 < len(cells) != width else cells
            raw.clear()
    except csv.Error as error:
        raise LayerError(f"{path}: {why_unreadable(error)}") from error


def _fill(sheet: Any, rows: Iterable[list[str]], table: Table | None, path: str) -> None:
    """Cells of one sheet: numbers where nothing is lost by it, else text that stays text."""
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    header: list[str] = []
    numbers: set[int] = set()
    for number, cells in enumerate(rows, start=1):
        is_header = table is not None and not header and any(cells) and not cells[0].startswith("#")
        if is_header:
            header = cells
            numbers = {place for place, name in enumerate(header) if _is_number(name, table)}
        for place, text in enumerate(cells):
            if text == "":
                continue
            if len(text) > LONGEST_CELL:
                raise InputError(f"a cell of {len(text)} characters does not fit into a spreadsheet", file=path, row=number, allowed=f"up to {LONGEST_CELL}")  # fmt: skip
            if NOT_IN_XML.search(text):
                raise InputError("a cell holds a sign that a spreadsheet cannot hold", file=path, row=number, found=text[:60], hint="type it again")  # fmt: skip
            cell = sheet.cell(number, place + 1)
            value = _exact_number(text) if place in numbers and not is_header else None
            cell.value = text if value is None else value
            if value is None:
                cell.data_type, cell.number_format = "s", "@"  # also what begins with =
            if is_header:
                cell.font = Font(bold=True)
    for place, name in enumerate(header):
        letter = get_column_letter(place + 1)
        sheet.column_dimensions[letter].width = min(60, max(10, len(name) + 4))
        if place not in numbers:
            sheet.column_dimensions[letter].number_format = "@"
    if header:
        sheet.freeze_panes = "A2"
    else:
        sheet.column_dimensions["A"].width = 110


def _is_number(name: str, table: Table | None) -> bool:
    field = table.field(name) if table else None
    return name in LAYER_COLUMNS[1:] or (field is not None and field.type in ("number", "integer"))


def _exact_number(text: str) -> int | float | None:
    """The number that comes back as this text, or None."""
    try:
        if parse(text, "number") is None:
            return None
    except ValueError:
        return None
    value = float(text)
    return (int(value) if value.is_integer() else value) if number_as_typed(value) == text else None


def number_as_typed(value: float) -> str:
    """A number as a person types it: plain digits, no exponent, no needless point."""
    return str(int(value)) if value.is_integer() else format(Decimal(repr(value)), "f")
