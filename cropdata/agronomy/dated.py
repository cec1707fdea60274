"""A Series of daily values by date, made sure of before anything is reckoned from it."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from cropdata.errors import InputError


def by_date(values: pd.Series[Any], what: str) -> pd.Series[Any]:
    """The values as floats by plain calendar date, in order; gaps (NaN) stay.

    Dates may be texts, dates, times (with a time zone or none: the day is that of the clock) or periods. Raises
    InputError, with `what` as its subject, for anything else: no Series, an index that is not of dates, values that
    are no numbers or infinite, a day that stands twice.
    """
    if not isinstance(values, pd.Series):
        raise InputError(f"{what} are a Series indexed by date", found=type(values).__name__)
    index = values.index
    if isinstance(index, pd.PeriodIndex):
        index = index.to_timestamp()
    if pd.api.types.is_numeric_dtype(index.dtype) and len(index):
        raise InputError(f"{what} are indexed by date, not by number", found=str(index[0]))
    try:
        dates = pd.DatetimeIndex(index)
        numbers = np.asarray(values, float)
    except (TypeError, ValueError) as error:
        raise InputError(f"{what} are numbers indexed by date", found=str(error), hint=str(error)) from None
    dates = dates.tz_localize(None).normalize()
    if dates.hasnans:
        raise InputError(f"{what} have a row without a date", found="NaT")
    if np.isinf(numbers).any():
        raise InputError(f"{what} hold an infinite value", found="inf", allowed="numbers, NaN for a gap")
    if dates.has_duplicates:
        twice = dates[dates.duplicated()][0]
        raise InputError(
            "a day stands twice in the record", found=f"{twice:%Y-%m-%d}",
            hint=f"{twice:%Y-%m-%d}; keep one row a day",
        )  # fmt: skip
    return pd.Series(numbers, index=dates).sort_index()
