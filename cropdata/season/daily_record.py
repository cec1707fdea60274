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
        raise InputError("unknown unit", found=unit, allowed="C or F")
    try:
        with open(file, encoding="utf-8-sig", newline="") as stream:
            rows = list(csv.DictReader(stream))
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise InputError(why_unreadable(error), file=file) from error
    if not rows or not {"date", "minimum"} <= set(rows[0]):
        raise InputError(
            "a record needs the columns date and minimum, and rows", file=file, found=list(rows[0]) if rows else []
        )
    mistakes, dates, values = [], [], []
    seen: dict[datetime.date, int] = {}
    for number, row in enumerate(rows, start=2):
        try:
            date = datetime.date.fromisoformat((row["date"] or "").strip())
            value = parse((row["minimum"] or "").strip(), "number")
        except ValueError:
            mistakes.append(f"row {number}: {row['date']!r}, {row['minimum']!r} is no date (YYYY-MM-DD) with a number")
            continue
        celsius = None if value is None else convert(float(value), unit, "°C")
        if celsius is not None and not COLDEST_C <= celsius <= WARMEST_C:
            if not drop_impossible:
                mistakes.append(f"row {number}: {row['minimum']} °{unit} is impossible")
                continue
            celsius = None
        if date in seen:
            mistakes.append(f"row {number}: {date} stands in row {seen[date]} already")
            continue
        seen[date] = number
        dates.append(date)
        values.append(float("nan") if celsius is None else celsius)
    if mistakes:
        more = f"\n  … and {len(mistakes) - _SHOWN} more" if len(mistakes) > _SHOWN else ""
        raise InputError(f"{len(mistakes)} rows cannot be used\n  " + "\n  ".join(mistakes[:_SHOWN]) + more, file=file)
    return pd.Series(values, index=pd.DatetimeIndex(dates), name="minimum_c").sort_index()
