"""The windows of one sowing: the reckoned ones, or those that follow from a day that the grower states or has recorded."""

from __future__ import annotations

import datetime
from typing import NamedTuple

from cropdata.agronomy.windows import Window, days_after
from cropdata.season.crop_part import CropPart
from cropdata.season.records import Real
from cropdata.season.season_parts import Packet

WEEK = 7


class Dates(NamedTuple):
    """When to sow and when to plant out; None where nothing is recorded to reckon them from."""

    sow: Window | None
    plant_out: Window | None


def sowing_dates(
    packet: Packet, part: CropPart, number: int, real: Real | None
) -> tuple[dict[str, Window], Dates]:  # fmt: skip
    """The windows that records are compared with, by event, and those of the plan, which follow from what was recorded.

    `number` counts a packet's sowings from 1.
    """
    dates = planned_dates(packet, part, number)
    compared = {"sow": dates.sow} if dates.sow else {}
    if real is not None and real.sown is not None:
        dates = dates_from(packet, part, number, real.sown)
    if dates.plant_out is not None:
        compared["plant_out"] = dates.plant_out
    if real is not None and real.planted is not None and not part.in_place:
        dates = dates._replace(plant_out=Window(real.planted, real.planted))
    return compared, dates


def days_late(expected: Window | None, real: Real | None) -> int:
    """Days by which the seedlings came up later than was expected; 0 where either is not known."""
    if expected is None or real is None or real.up is None:
        return 0
    return max((real.up - expected.last).days, 0)


def late_by(plant_out: Window, sow: Window | None, part: CropPart, days: int) -> Window:
    """Planting out of seedlings that came up so many days late, later by as many; by fewer where it was to wait anyway for
    frost, nights or soil when they were ready.
    """
    weeks = part.crop.weeks_to_raise
    waits = 0 if weeks is None or sow is None else (plant_out.first - days_after(sow.first, 7 * weeks.low)).days
    return plant_out.moved(days_after(plant_out.first, max(days - max(waits, 0), 0)))


def with_leaves(plant_out: Window, seedlings: Window, part: CropPart) -> Window:
    """Planting out, held back where the bench brings the seedlings so late that they have no true leaf by then."""
    least = part.site.rule("true_leaves_days")
    first = max(plant_out.first, days_after(seedlings.first, least))
    return Window(first, max(plant_out.last, first, days_after(seedlings.last, least)))


def planned_dates(packet: Packet, part: CropPart, number: int) -> Dates:
    """The windows before anything was recorded."""
    later = (packet.every_days or 0) * (number - 1)
    if packet.sow is not None:
        return _from_day(part, days_after(packet.sow, later))
    sow, plant_out = part.timing[:2]
    if packet.sowings == 1 or sow is None:
        return Dates(sow, plant_out)
    # Each of several has its own few days; it is raised as long as the first.
    first = days_after(sow.first, later)
    short = Window(first, days_after(first, min(packet.every_days or WEEK, WEEK) - 1))
    return Dates(short, plant_out and plant_out.moved(days_after(plant_out.first, later)))


def dates_from(packet: Packet, part: CropPart, number: int, day: datetime.date) -> Dates:
    """The windows of one sowing of a packet that was sown on that day."""
    return _from_day(part, day, 0 if packet.sow is not None else (packet.every_days or 0) * (number - 1))


def usual_window(packet: Packet, part: CropPart, number: int, real: Real | None) -> Window | None:
    """The window that the grower's own day, stated or recorded, is held against; None for a reckoned day."""
    if real is not None and real.sown is not None:
        return planned_dates(packet, part, number).sow
    if packet.sow is None or part.timing.sow is None:
        return None
    return part.timing.sow.moved(days_after(part.timing.sow.first, (packet.every_days or 0) * (number - 1)))


def _from_day(part: CropPart, day: datetime.date, later: int = 0) -> Dates:
    """Sown under cover on that day plants are raised for the printed weeks, and not put out before it is safe.

    `later`: days by which the plan puts this one of several sowings out later than the first; sown sooner after the
    first's window than planned it goes out as much sooner.
    """
    sow = Window(day, day)
    usual, safe, first = part.timing.plant_out, part.timing.safe_from, part.timing.sow
    weeks = part.crop.weeks_to_raise
    if part.in_place:
        return Dates(sow, None)
    later = min(max((day - first.first).days, 0), later) if first is not None else 0
    if weeks is None:  # nobody says how long it is raised: as long as planned, in a window that is still to come
        late = later + max((day - days_after(first.last, later)).days, 0) if first is not None else 0
        out = usual and usual.moved(days_after(usual.first, late))
        return Dates(sow, out if out is not None and out.first > day else None)
    ready = Window(days_after(day, 7 * weeks.low), days_after(day, 7 * weeks.high))
    earliest = safe if safe is not None else part.timing.out_from
    if earliest is None or ready.first >= (earliest := days_after(earliest, later)):
        return Dates(sow, ready)
    return Dates(sow, Window(earliest, max(ready.last, days_after(earliest, WEEK))))
