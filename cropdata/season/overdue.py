"""A sowing whose days are past and that the records do not know: from which day it is reckoned on, while its season lasts."""

from __future__ import annotations

import datetime
from typing import NamedTuple

from cropdata.agronomy.windows import Window, days_after
from cropdata.season.crop_part import CropPart
from cropdata.season.dates import Dates, dates_from, planned_dates
from cropdata.season.drafting import counted
from cropdata.season.records import Real
from cropdata.season.season_parts import Packet
from cropdata.season.steps import harvest_of
from cropdata.season.words import Words

HALF_A_YEAR = 182  # a sowing later than that belongs to another season: common practice, no source


class Overdue(NamedTuple):
    """The window in which it was `planned`, the day from which it is reckoned instead (None: its season is past), and why."""

    planned: Window
    day: datetime.date | None
    because: str

    @property
    def days(self) -> int:
        """Days by which it is reckoned later than planned."""
        return (self.day - self.planned.first).days if self.day is not None else 0


class Before(NamedTuple):
    """The packet's sowing before this one: when it was sown or is to be, and whether that was reckoned as overdue."""

    sown: datetime.date
    reckoned: bool


def overdue_of(
    packet: Packet, part: CropPart, number: int, real: Real | None, before: Before | None, today: datetime.date, words: Words
) -> Overdue | None:  # fmt: skip
    """Sown on the reader's day, of several each so many days after the one before as the grower wants; None where it is not
    overdue, nor pushed on by one that is.
    """
    planned = planned_dates(packet, part, number)
    sow = planned.sow
    if sow is None or (real is not None and real.begun):
        return None
    after = days_after(before.sown, packet.every_days or 0) if before is not None else today
    apart = f"{counted(packet.every_days or 0, 'day')} after the one before"
    if sow.last >= today:
        if before is None or not before.reckoned or sow.first >= after:
            return None
        why, day = f"the one before it is late: reckoned as if sown on {words.day(after)}, {apart}.", after
    else:
        day = max(today, after)
        why = f"not sown by your records; its window ended {words.day(sow.last)}, {counted((today - sow.last).days, 'day')} ago"
        why += ": reckoned as if sown " + ("today." if day == today else f"on {words.day(day)}, {apart}.")
    if _in_season(part, planned, dates_from(packet, part, number, day), day):
        return Overdue(sow, day, why)
    return Overdue(sow, None, f"{why.split(': reckoned')[0]}, and its season is past: leave it out.")


def _in_season(part: CropPart, planned: Dates, now: Dates, day: datetime.date) -> bool:
    """Whether a sowing of that day still comes to something before the first frost of autumn: a harvest, or planting out
    where none is known. What stands frost may be harvested after it if it is outside in the half of the season that
    warms up, or was to be so anyway. Where no such frost is given, until half a year after its window.
    """
    assert planned.sow is not None and now.sow is not None
    frost, turn = part.site.first_frost, part.site.turn
    if frost is None or turn is None:
        return (day - planned.sow.last).days <= HALF_A_YEAR
    usual, ripe = _ripe(part, planned), _ripe(part, now)
    outside = ((part.seedlings(now.sow) if part.in_place else now.plant_out) or now.sow).first
    if ripe is None or (usual is not None and usual > frost):
        return outside <= frost
    return ripe <= frost or (not part.tender and outside <= turn)


def _ripe(part: CropPart, dates: Dates) -> datetime.date | None:
    """The first day of harvest, where that is in doubt the soonest that it may come; None where nobody tells its days."""
    start = dates.sow if part.in_place else dates.plant_out
    if start is None or part.ready is None:
        return None
    harvest = harvest_of(part, start)
    return harvest.first if harvest is not None else days_after(start.first, part.ready.low)
