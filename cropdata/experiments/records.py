"""Records that people keep, as texts: a CSV file or a DataFrame, read the same way for trials and germination tests."""

from __future__ import annotations

import csv
import datetime
import io
import itertools
import os
from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from cropdata.errors import InputError, why_unreadable

TYPE_CHECKING = False
if TYPE_CHECKING:
    import pandas as pd

_PARTED = {";": "semicolons", "\t": "tabs"}


class Records(NamedTuple):
    """Rows as texts (blank: not told), and the row of each as a spreadsheet counts.

    `file` is None for a DataFrame, whose header counts as row 1. In a file each line counts, comments and blanks too.
    """

    file: str | None
    columns: tuple[str, ...]
    rows: tuple[dict[str, str], ...]
    numbers: tuple[int, ...]

    def need(self, required: Sequence[str], optional: Sequence[str] = ()) -> None:
        """Raise InputError where a required column is missing."""
        missing = [name for name in required if name not in self.columns]
        if missing:
            raise InputError("columns are missing", file=self.file, found=list(self.columns), allowed=", ".join((*required, *optional)),
                             hint=f"missing: {', '.join(missing)}")  # fmt: skip

    def wrong(self, index: int, message: str, column: str | None = None, **more: Any) -> InputError:
        """The error for the row at this index; `more` as `InputError` takes it."""
        return InputError(message, file=self.file, row=self.numbers[index], column=column, **more)

    def date(self, index: int, column: str) -> datetime.date | None:
        """The date in a cell, None where it is blank. Raises InputError for a text that is no date."""
        text = self.rows[index].get(column, "")
        try:
            return datetime.date.fromisoformat(text) if text else None
        except ValueError:
            raise self.wrong(
                index, "is no date", column, found=text, allowed="YYYY-MM-DD", hint=f"found {text!r}"
            ) from None


def read_records(source: pd.DataFrame | str | os.PathLike[str]) -> Records:
    """Read a CSV (UTF-8, with or without its mark, parted by commas) or take a DataFrame.

    Lines that start with `#` and blank lines are passed over; a `#` elsewhere is part of its cell. Raises InputError
    for a file that cannot be read, has no header, is parted otherwise, or has a row longer than its header.
    """
    if isinstance(source, (str, os.PathLike)):
        return _from_file(os.fspath(source))
    if not hasattr(source, "to_dict"):
        raise InputError("records are a DataFrame or the path of a CSV", found=type(source).__name__)
    columns = tuple(str(name).strip() for name in source.columns)
    _named_once(columns, None, None)
    rows = tuple(
        dict(zip(columns, map(cell_text, values), strict=True)) for values in source.itertuples(index=False, name=None)
    )
    return Records(None, columns, rows, tuple(range(2, len(rows) + 2)))


def _from_file(file: str) -> Records:
    try:
        with open(file, encoding="utf-8-sig", newline="") as stream:
            lines = list(_numbered(stream.read(), file))
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(why_unreadable(error), file=file) from error
    if not lines:
        raise InputError("the file is empty", file=file)
    at, header = lines[0]
    while header and not header[-1].strip():
        header = header[:-1]
    columns = tuple(cell.strip() for cell in header)
    for mark, name in _PARTED.items():
        if len(columns) == 1 and mark in columns[0]:
            raise InputError(f"the columns are parted by {name}", file=file, row=at, found=columns[0], allowed="commas",
                             hint="save it again as CSV parted by commas")  # fmt: skip
    _named_once(columns, file, at)
    rows, numbers = [], []
    for number, cells in lines[1:]:
        texts = [cell.strip() for cell in cells]
        if any(texts[len(columns) :]):
            raise InputError(f"has {len(texts)} cells, the header {len(columns)}", file=file, row=number,
                             hint='a cell that holds a comma stands in "quotes"')  # fmt: skip
        rows.append(dict(itertools.zip_longest(columns, texts[: len(columns)], fillvalue="")))
        numbers.append(number)
    return Records(file, columns, tuple(rows), tuple(numbers))


def _named_once(columns: Sequence[str], file: str | None, row: int | None) -> None:
    twice = sorted({name or "(no name)" for name in columns if columns.count(name) > 1})
    if twice:
        raise InputError(
            f"columns stand twice in the header: {', '.join(twice)}", file=file, row=row, found=list(columns)
        )


def _numbered(text: str, file: str) -> Iterator[tuple[int, list[str]]]:
    """The cells of each row that says something, with its number; a cell that runs over lines is within one row."""
    stream = io.StringIO(text, newline="")
    header = False
    for number, line in enumerate(stream, start=1):
        # Before the header a comment may stand in quotes: spreadsheets save it so when it holds a comma.
        if line.startswith("#") or (not header and line.startswith('"#')):
            continue
        try:
            cells = next(csv.reader(itertools.chain([line], stream), strict=True))
        except csv.Error as error:
            raise InputError(why_unreadable(error), file=file, row=number) from error
        if any(cell.strip() for cell in cells):
            header = True
            yield number, cells


def cell_text(value: Any) -> str:
    """A cell of a DataFrame as a person would write it: missing is blank, a date is YYYY-MM-DD, 4.0 is 4."""
    import pandas as pd

    if value is None or (pd.api.types.is_scalar(value) and pd.isna(value)):
        return ""
    if isinstance(value, datetime.datetime):
        return value.date().isoformat()
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value).strip()
