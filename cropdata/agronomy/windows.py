"""Windows of dates counted from a frost date in weeks.

Plain calendar arithmetic; the weeks come from the evidence. Weeks are counted as seven days and rounded to the
nearest day.
"""

from __future__ import annotations

import datetime
from typing import NamedTuple

from cropdata.errors import InputError

Date = datetime.date


class Window(NamedTuple):
    """First and last day, both included.

    Attributes:
        first: first day.
        last: last day, itself included.
    """

    first: Date
    last: Date

    def moved(self, first: Date) -> Window:
        """The same length of time, starting on `first`."""
        return Window(first, first + (self.last - self.first))

    @property
    def middle(self) -> Date:
        """The day half-way."""
        return self.first + (self.last - self.first) / 2


def days_after(date: Date, days: float) -> Date:
    """`date` and so many days, rounded to the nearest day; negative goes back.

    Raises InputError for a number of days that is none, or that leaves the calendar.
    """
    try:
        return date + datetime.timedelta(days=round(days))
    except (OverflowError, ValueError):
        raise InputError(f"{days} days from {date} is no date", found=days, allowed="years 1 to 9999") from None


def offset_window(reference: Date, low_weeks: float, high_weeks: float) -> Window:
    """From `low_weeks` to `high_weeks` after the reference date; negative weeks lie before it.

    Raises InputError where the low end lies after the high one.
    """
    if low_weeks > high_weeks:
        raise InputError("the low end of the weeks lies after the high end", found=(low_weeks, high_weeks))
    return Window(days_after(reference, 7 * low_weeks), days_after(reference, 7 * high_weeks))


def sowing_window(reference: Date, low_weeks_before: float, high_weeks_before: float) -> Window:
    """From the greater to the lesser number of weeks before the reference date."""
    return offset_window(reference, -high_weeks_before, -low_weeks_before)


def not_before(window: Window, earliest: Date, most_days: int = 14) -> Window:
    """The window without the days before `earliest`; where little or nothing is left, so many days from then on as it
    had, at most `most_days`.

    A late spring costs the early days of a window: its printed end does not move with them.
    """
    if window.first >= earliest:
        return window
    length = min((window.last - window.first).days, most_days)
    return Window(earliest, max(window.last, days_after(earliest, length)))
