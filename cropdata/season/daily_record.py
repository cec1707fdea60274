"""A record of daily minima from a CSV file: columns `date` and `minimum`, in °C or °F.

Gaps are kept as gaps; days that stand twice and impossible values are refused with their rows, all in one message.
"""

from __future__ import annotations

import csv
import datetime
import os
from typing import TYPE_CHECKING, Any

from cropdata.errors import InputError, why_unreadable
from cropdata.tabular.units import convert
from cropdata.tabular.values import parse

if TYPE_CHECKING:
    import pandas as pd

COLDEST_C, WARMEST_C = -70.0, 45.0
YEARS = (1650, 2200)  # the first daily readings of a thermometer are of the 1650s (from memory)
_SHOWN = 8


def read_daily_minima(
    path: str | os.PathLike[str], *, unit: str = "C", drop_impossible: bool = False
) -> pd.Series[Any]:
    """Daily minima in °C, indexed by date.

    Args:
        path: the CSV file; an empty minimum is a gap.
        unit: "C" or "F", of the file.
        drop_impossible: leave out values beyond -70 to 45 °C instead of refusing them.

    Raises InputError for a file that cannot be read, missing columns, and, with the rows, for dates that are none or
    stand twice and values that are none or impossible.
    """
    import pandas as pd

    file = os.fspath(path)
    if unit not in ("C", "F"):
        raise InputError("unknown unit", found=unit, allowed="C or F", hint=f"found {unit!r}")
    try:
        with open(file, encoding="utf-8-sig", newline="") as stream:
            # Each line counts, as a spreadsheet shows it, but blank ones and notes (#) say nothing.
            said = [(n, line) for n, line in enumerate(stream, start=1) if line.strip() and not line.startswith("#")]
        rows = list(csv.DictReader((line for _, line in said), strict=True))
        if len(rows) != max(len(said) - 1, 0):
            raise csv.Error("a cell runs over several lines")
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise InputError(why_unreadable(error), file=file) from error
    if not rows or not {"date", "minimum"} <= set(rows[0]):
        raise InputError(
            "a record needs the columns date and minimum, and rows", file=file, found=list(rows[0]) if rows else []
        )
    mistakes, dates, values = [], [], []
    seen: dict[datetime.date, int] = {}
    hot = False
    for (number, _), row in zip(said[1:], rows, strict=True):
        try:
            date = datetime.date.fromisoformat(str(parse((row["date"] or "").strip(), "date")))
            value = parse((row["minimum"] or "").strip(), "number")
        except ValueError:
            mistakes.append(f"row {number}: {row['date']!r}, {row['minimum']!r} is no date (YYYY-MM-DD) with a number")
            continue
        celsius = None if value is None else convert(float(value), unit, "°C")
        if celsius is not None and not COLDEST_C <= celsius <= WARMEST_C:
            hot = hot or celsius > WARMEST_C
            if not drop_impossible:
                mistakes.append(f"row {number}: {row['minimum']} °{unit} is impossible")
                continue
            celsius = None
        if not YEARS[0] <= date.year <= YEARS[1]:
            mistakes.append(f"row {number}: {date}; allowed: years {YEARS[0]} to {YEARS[1]}")
            continue
        if date in seen:
            mistakes.append(f"row {number}: {date} stands in row {seen[date]} already")
            continue
        seen[date] = number
        dates.append(date)
        values.append(float("nan") if celsius is None else celsius)
    if mistakes:
        more = f"\n  … and {len(mistakes) - _SHOWN} more" if len(mistakes) > _SHOWN else ""
        if hot and unit == "C":
            more += "\n  is this record in °F? then say so in the season file: daily_minima_unit: F"
        raise InputError(f"{len(mistakes)} rows cannot be used\n  " + "\n  ".join(mistakes[:_SHOWN]) + more, file=file)
    return pd.Series(values, index=pd.DatetimeIndex(dates), name="minimum_c").sort_index()
