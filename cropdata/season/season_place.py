"""The place of a season file: frost dates or a daily record, bench, soil and nights."""

from __future__ import annotations

import datetime
import os
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from cropdata.agronomy.frost import FrostCurve, from_chances, month_day
from cropdata.errors import InputError
from cropdata.season import season_fields as fields
from cropdata.season.season_fields import Mistakes, optional
from cropdata.season.season_parts import Frost, NoFrost, Place

if TYPE_CHECKING:
    import pandas as pd


NONE = "none"  # a place without frost
EVEN = 0.5
LEAST_SEASON = (
    30  # days between the last frost and the first in which nothing could be raised: common practice, no source
)
# Cold at its greatest: January in the north, July in the south; frost's own middle lies within two months of one of them.
MIDWINTERS = ((1, 15), (7, 15))
NEAR_MIDWINTER = 60


def _frost(value: Any, where: str, mistakes: Mistakes, season: str, threshold: float) -> Frost | None:
    if value == NONE:
        return NoFrost(threshold)
    if not isinstance(value, dict):
        mistakes.add(
            where,
            f"found {value!r}; allowed: chances with dates, such as {{0.9: 04-09, 0.5: 04-28, 0.1: 05-15}}, or {NONE} where no frost comes",
        )
        return None
    try:
        dates = {key: date if isinstance(date, datetime.date) else str(date) for key, date in value.items()}
        return from_chances(dates, season=season, threshold_c=threshold)
    except InputError as error:
        mistakes.add(where, str(error))
        return None


def _from_record(
    value: Mapping[Any, Any], folder: str, mistakes: Mistakes, threshold: float
) -> tuple[FrostCurve | None, FrostCurve | None, pd.Series[Any] | None]:
    """Spring and autumn curves from the daily minima that the place names, and these."""
    from cropdata.agronomy.frost import from_record
    from cropdata.season.daily_record import read_daily_minima

    if not isinstance(value["daily_minima"], str):
        mistakes.add("place.daily_minima", f"found {value['daily_minima']!r}; allowed: the name of a CSV file")
        return None, None, None
    try:
        record = read_daily_minima(
            os.path.join(folder, value["daily_minima"]), unit=str(value.get("daily_minima_unit", "C"))
        )
        spring = from_record(record, threshold)
    except InputError as error:
        mistakes.add("place.daily_minima", str(error))
        return None, None, None
    try:
        return spring, from_record(record, threshold, season="autumn"), record
    except InputError:
        return spring, None, record  # a record that ends in summer has no autumn


def _counted_from(value: Any, spring: Frost | None, mistakes: Mistakes) -> tuple[int, int] | None:
    """The day that weeks are counted from, in place of an average last frost where there is none."""
    where = "place.counted_from"
    if spring is not None:
        chances = getattr(spring, "chances", None)
        even = max(chances) >= EVEN if chances else spring.date_at(EVEN) is not None
        if even and value is not None:
            mistakes.add(
                where,
                "weeks are counted from the average last frost, which the frost dates tell; leave this out, or leave them out",
            )
            return None
        if not even and value is None:
            mistakes.add(
                where,
                "missing; weeks are counted from the last frost of one year in two, and none can be told for the place; add its date (0.5) "
                "to the frost dates, or where frost is rarer give the day that you count from instead, such as counted_from: 03-01",
            )
            return None
    if value is None:
        return None
    try:
        month, day, _ = month_day(value, where)
        return month, min(day, 28) if month == 2 else day  # every year has it
    except InputError as error:
        mistakes.add(where, str(error))
        return None


def _check_season(spring: Frost | None, autumn: Frost | None, spring_key: str, mistakes: Mistakes) -> None:
    """Note a first autumn frost right after the last of spring, or before it, by the dates of one year in two.

    In the round of the year "before" looks like a short time of frost. That is no mistake where it lies in a winter, as
    where frost comes only around New Year; around April or October it is.
    """
    last, first = (curve.date_at(EVEN, 2001) if curve is not None else None for curve in (spring, autumn))
    if not isinstance(last, datetime.date) or not isinstance(first, datetime.date):
        return
    free = (first - last).days % 365  # days
    middle = last - datetime.timedelta(days=(365 - free) // 2)
    off = min(abs(((middle - datetime.date(2001, *day)).days + 182) % 365 - 182) for day in MIDWINTERS)
    if free >= LEAST_SEASON and off <= NEAR_MIDWINTER:
        return
    told = f"{free} days after" if free < 183 else "before"
    mistakes.add(
        "place.first_autumn_frost",
        f"the first frost of one year in two ({first:%m-%d}) lies {told} the last of spring ({last:%m-%d}, {spring_key}); "
        "look at the months of both, which are written MM-DD",
    )


def place_of(value: Any, mistakes: Mistakes, folder: str) -> Place | None:
    """The place, or None where no frost dates can be read from it; a record is looked for in `folder`."""
    if not isinstance(value, dict):
        mistakes.add("place", f"found {value!r}; allowed: name, last_spring_frost and so on, indented under place:")
        return None
    known = (
        "name", "frost_source", "last_spring_frost", "daily_minima", "daily_minima_unit", "first_autumn_frost", "counted_from", "threshold_c", "risk",
        "plant_minus_screen_c", "bench_temperature_c", "mats", "mat_temperature_c", "shelf_trays", "soil_temperature_c", "night_temperature_c",
    )  # fmt: skip
    fields.check_keys(value, known, "place", mistakes)
    threshold = fields.number(value.get("threshold_c", 0), "place.threshold_c", mistakes, -10, 10, "°C")
    risk = optional(fields.number, value, "risk", "place", mistakes, 0.02, 0.98, "(share of years)")
    spring: Frost | None = None
    autumn: Frost | None = None
    record = None
    if "daily_minima" in value and "last_spring_frost" in value:
        mistakes.add(
            "place", "last_spring_frost and daily_minima both tell when the last frost comes; give one of them"
        )
    if "daily_minima_unit" in value and "daily_minima" not in value:
        mistakes.add("place.daily_minima_unit", "belongs to daily_minima, which is missing")
    if "daily_minima" in value:
        spring, autumn, record = _from_record(value, folder, mistakes, threshold or 0.0)
    elif "last_spring_frost" not in value:
        mistakes.add(
            "place.last_spring_frost", "missing; give the date at two or more chances of a later frost, or daily_minima"
        )
    else:
        spring = _frost(value["last_spring_frost"], "place.last_spring_frost", mistakes, "spring", threshold or 0.0)
    counted_from = _counted_from(value.get("counted_from"), spring, mistakes)
    if value.get("first_autumn_frost") is not None:
        autumn = _frost(value["first_autumn_frost"], "place.first_autumn_frost", mistakes, "autumn", threshold or 0.0)
        given = "daily_minima" if "daily_minima" in value else "last_spring_frost"
        _check_season(spring, autumn, f"place.{given}", mistakes)
    name = fields.line(value.get("name"), "place.name", mistakes)
    source = fields.line(value.get("frost_source"), "place.frost_source", mistakes)
    day, night = fields.day_and_night(value.get("bench_temperature_c"), "place.bench_temperature_c", mistakes)
    soil = fields.monthly(value.get("soil_temperature_c"), "place.soil_temperature_c", mistakes, -20, 45)
    nights = fields.monthly(value.get("night_temperature_c"), "place.night_temperature_c", mistakes, -50, 45)
    mat = optional(fields.number, value, "mat_temperature_c", "place", mistakes, 5, 45, "°C")
    mats = optional(fields.whole, value, "mats", "place", mistakes, 0, 1000)
    colder = optional(fields.number, value, "plant_minus_screen_c", "place", mistakes, -10, 0, "°C")
    shelf = optional(fields.whole, value, "shelf_trays", "place", mistakes, 0, 1_000_000)
    if spring is None:
        return None
    return Place(
        name or "unnamed place", source, spring, autumn, risk, day, night, soil, record, nights,
        mats if mats is not None else int(mat is not None), mat, colder, shelf, counted_from,
    )  # fmt: skip
