"""A workbook as the files of a layer. Nothing in it is executed or fetched, and what would fill the memory is refused.

What a spreadsheet changed, such as 7-10 into a date, is told by sheet, row and column. A row keeps its number; a short
row comes back filled to the header's width; quotes that CSV does not need are not kept.
"""

from __future__ import annotations

import csv
import datetime
import io
import os
import warnings
import zipfile
from typing import Any, NamedTuple

from cropdata.catalog.layers import layer_tables
from cropdata.errors import InputError
from cropdata.layering.workbook_out import LONGEST_CELL, SETTINGS, library, number_as_typed
from cropdata.tabular.descriptor import Descriptor, Table

MOST_COLUMNS = 500
MOST_ROWS = 1_048_576
_MOST_WIDE = 1_000
LARGEST_FILE = 50_000_000
LARGEST_UNPACKED = 100_000_000
MOST_MEMBERS = 2_000
_DOCTYPE = tuple("<!DOCTYPE".encode(code) for code in ("utf-8", "utf-16-le", "utf-16-be"))


class Misread(NamedTuple):
    """A cell, or a whole sheet, that cannot be brought over as it was typed. `row` and `column` are None for a sheet."""

    sheet: str
    row: int | None
    column: str | None
    rule: str
    found: str
    message: str
    hint: str


class Sheets(NamedTuple):
    """A workbook as read: the text of layer.yaml (None without that sheet), each table's CSV text, what cannot be read."""

    settings: str | None
    tables: dict[str, str]
    misread: list[Misread]


def from_workbook(file: str, descriptor: Descriptor) -> Sheets:
    """Read a workbook as the files of a layer. Nothing in it is executed or fetched.

    Raises InputError where it is none, is larger than any layer, or was made to harm; MissingExtraError without openpyxl.
    """
    openpyxl = library()
    _guard(file)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of parts that are of no concern here, such as drawings
        try:
            book = openpyxl.load_workbook(file, read_only=True, keep_vba=False, keep_links=False)
            try:
                return _sheets(book, file, descriptor)
            finally:
                book.close()
        except (InputError, MemoryError):
            raise
        except Exception as error:  # a damaged file makes the library fail in any way
            raise InputError(f"cannot be read as a spreadsheet: {type(error).__name__}: {str(error)[:200]}", file=file, hint="open it and save it again as .xlsx") from error  # fmt: skip


def _guard(file: str) -> None:
    """Refuse what is no workbook, or would fill the memory when it is unpacked."""
    hint = "save it as an Excel workbook, .xlsx, without a password"
    try:
        if (size := os.path.getsize(file)) > LARGEST_FILE:
            raise InputError(f"has {size // 1_000_000} MB", file=file, allowed=f"up to {LARGEST_FILE // 1_000_000} MB")
        with zipfile.ZipFile(file) as archive:
            members = archive.infolist()
            if len(members) > MOST_MEMBERS or sum(item.file_size for item in members) > LARGEST_UNPACKED:
                raise InputError("unpacks to more than any layer can be", file=file, allowed=f"up to {LARGEST_UNPACKED // 1_000_000} MB and {MOST_MEMBERS} parts")  # fmt: skip
            for item in members:
                if item.flag_bits & 1:
                    raise InputError("is locked with a password", file=file, hint=hint)
                with archive.open(item) as stream:  # whatever it is called: a workbook names its parts as it likes
                    _no_doctype(stream, file)
    except OSError as error:
        raise InputError(f"cannot be read: {(error.strerror or str(error)).lower()}", file=file) from error
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, ValueError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError("is no XLSX workbook, or is damaged", file=file, hint=hint) from error


def _no_doctype(stream: Any, file: str) -> None:
    """A part that declares entities could unfold to gigabytes; no spreadsheet writes one."""
    tail = b""
    while block := stream.read(1 << 20):
        if any(sign in tail + block for sign in _DOCTYPE):
            raise InputError(
                "declares entities, which no spreadsheet does",
                file=file,
                hint="it may be made to harm; if it holds pictures, delete them and save it again",
            )
        tail = block[-32:]


def sheet_name(title: str) -> str:
    """The table that a sheet is named after, however a person writes it: Seed longevity is seed_longevity."""
    return title.strip().casefold().removesuffix(".csv").replace(" ", "_").replace("-", "_")


def _sheets(book: Any, file: str, descriptor: Descriptor) -> Sheets:
    tables = {table.name: table for table in layer_tables(descriptor).values()}
    read = Sheets(None, {}, [])
    signs = 0  # of all sheets together: thousands of cells may name one long text, which the file holds once
    for sheet in book.worksheets:
        name = sheet_name(sheet.title)
        if sheet.title.startswith("#"):
            continue
        table = tables.get(name)
        rows, signs = _cells(sheet, table, file, read.misread, signs)
        if not rows:
            continue
        if name == SETTINGS:
            read = read._replace(settings="".join(f"{cells[0] if cells else ''}\n" for cells in rows))
        elif table is None:
            read.misread[:] = [item for item in read.misread if item.sheet != sheet.title]
            read.misread.append(Misread(sheet.title, None, None, "file-unknown-table", sheet.title, "is a sheet that is named after no table",
                                        f"rename it ({', '.join(sorted(tables))}), or put a # before its name to keep it out"))  # fmt: skip
        elif name in read.tables:
            read.misread.append(Misread(sheet.title, None, None, "file-unknown-table", sheet.title, "is a second sheet of one table", "put the rows into one sheet"))  # fmt: skip
        else:
            read.tables[name] = _csv_text(rows)
    return read


def _cells(sheet: Any, table: Table | None, file: str, misread: list[Misread], signs: int) -> tuple[list[list[str]], int]:  # fmt: skip
    """Rows as texts, without the empty end of the sheet and of each row; `signs` read so far, with theirs."""
    sheet.reset_dimensions()  # what the file says of its own size is not believed
    rows: list[list[str]] = []
    filled = 0
    header: list[str] = []
    wide = 0
    for number, cells in enumerate(sheet.iter_rows(), start=1):
        wide += len(cells) > MOST_COLUMNS  # formatted cells may reach far out; values may not
        if number > MOST_ROWS or wide > _MOST_WIDE or any(cell.value is not None for cell in cells[MOST_COLUMNS:]):
            raise InputError(f"the sheet {sheet.title!r} is larger than any table", file=file, allowed=f"up to {MOST_COLUMNS} columns and {MOST_ROWS} rows")  # fmt: skip
        remark = bool(cells) and isinstance(cells[0].value, str) and cells[0].value.startswith("#")
        texts = []
        for place, cell in enumerate(cells[:MOST_COLUMNS]):
            column = header[place] if place < len(header) else _letter(place)
            text, fault = _cell_text(cell, table.field(column) if table else None)
            if fault and not remark:
                rule, message, hint = fault
                misread.append(Misread(sheet.title, number, column, rule, text, message, hint))
            if len(text) > LONGEST_CELL:
                raise InputError(f"the sheet {sheet.title!r} has a cell of {len(text)} characters", file=file, row=number, column=column[:60], allowed=f"up to {LONGEST_CELL}, as spreadsheets have it", hint="look what the file really is")  # fmt: skip
            texts.append(text)
            signs += len(text)
        if signs > LARGEST_UNPACKED:
            raise InputError(f"the sheet {sheet.title!r} holds more text than any layer can", file=file, row=number, allowed=f"up to {LARGEST_UNPACKED // 1_000_000} million characters in a workbook", hint="look what the file really is")  # fmt: skip
        while texts and texts[-1] == "":
            texts.pop()
        if texts and not header and not remark:
            header = texts
        rows.append(texts)
        filled = number if texts else filled
    return [_filled(texts, len(header)) for texts in rows[:filled]], signs


def _letter(place: int) -> str:
    from openpyxl.utils import get_column_letter

    return f"column {get_column_letter(place + 1)}"


def _filled(texts: list[str], width: int) -> list[str]:
    """The row filled to the header's width; a blank row and a remark in one cell stay as they are."""
    alone = not texts or (len(texts) == 1 and texts[0].startswith("#"))
    return texts if alone else texts + [""] * (width - len(texts))


_FORMULA = ("cell-formula", "holds a formula, which is not reckoned here", "write the value: copy the cell, then insert values only")  # fmt: skip


def _cell_text(cell: Any, field: Any) -> tuple[str, tuple[str, str, str] | None]:
    """The cell's text as it would stand in a CSV file, and what a spreadsheet has done to it."""
    value = cell.value
    if value is None:
        return "", None
    if isinstance(value, str):
        if cell.data_type == "f":
            return value, _FORMULA
        if cell.data_type == "e":
            return value, ("cell-type", "holds an error of the spreadsheet", "write the value, or empty the cell")
        return value, None
    if cell.data_type == "f":  # an array formula, or one of a data table, is an object of its own
        return f"={str(getattr(value, 'text', None) or 'formula').lstrip('=')}", _FORMULA
    if isinstance(value, bool):
        return str(value).lower(), None
    if isinstance(value, (int, float)):
        text = number_as_typed(float(value)) if isinstance(value, float) else str(value)
        if "%" in (cell.number_format or ""):
            return text, ("cell-type", f"is shown as {float(value) * 100:g} % and stored as {text}", "format the column as number, then write the figure again")  # fmt: skip
        return text, None
    if isinstance(value, (datetime.datetime, datetime.date)):
        day = value.date() if isinstance(value, datetime.datetime) else value
        if field is not None and field.type == "date":
            return day.isoformat(), None
        if field is not None and field.name.endswith("year"):
            return day.isoformat(), ("cell-sheet-date", f"is a date, {day.day} {day:%B %Y}, where a year stands", f"format the column as number, then write {day.year}")  # fmt: skip
        return day.isoformat(), ("cell-sheet-date", f"is a date, {day.day} {day:%B %Y}: was it typed as {day.day}-{day.month} or {day.month}-{day.day}? The spreadsheet made a date of it", _date_hint(field))  # fmt: skip
    return str(value), ("cell-sheet-date", "is a time of day, which no column holds", _date_hint(field))


def _date_hint(field: Any) -> str:
    if field is not None and field.type in ("number", "integer"):
        return "one number a cell: the lower end under low, the upper under high"
    return "format the column as text first, then type it again"


def _csv_text(rows: list[list[str]]) -> str:
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    for texts in rows:
        if len(texts) == 1 and texts[0].startswith("#") and "\n" not in texts[0] and "\r" not in texts[0]:
            stream.write(f"{texts[0]}\n")
        elif texts:
            writer.writerow(texts)
        else:
            stream.write("\n")
    return stream.getvalue()
