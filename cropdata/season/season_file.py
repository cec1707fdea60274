"""The season file: YAML that names a place and the seed packets, checked line by line.

    season: 2027                      # the year of the last spring frost that it is planned around
    place:
      name: Alder Bank
      frost_source: where the dates come from
      last_spring_frost: {0.9: 04-09, 0.5: 04-28, 0.1: 05-15}    # chance of a LATER frost: date
      daily_minima: record.csv        # instead of the dates: a CSV with date and minimum, beside this file
      daily_minima_unit: C            # C or F
      first_autumn_frost: {0.1: 10-01, 0.5: 10-19, 0.9: 11-11}   # chance of an EARLIER frost: date; optional
      threshold_c: 0                  # the minimum that counts as a frost; optional
      risk: 0.1                       # chance of a later frost accepted for tender crops; optional
      bench_temperature_c: {day: 24, night: 18}                  # or one number
      soil_temperature_c: [1, 1, 3, 8, 13, 18, 21, 20, 16, 11, 6, 3]   # monthly, January first; optional
    packets:
      - crop: tomato
        variety: any text             # optional
        packed: 2025                  # year packed; optional
        plants: 12                    # plants wanted; optional
        method: tray                  # towel, tray, block, flat, pot or in_place; optional
        tested: {germinated: 8, sown: 10}   # optional

Every mistake is reported in one run; nothing in the file is executed.
"""

from __future__ import annotations

import datetime
import os
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from cropdata.agronomy.frost import FrostCurve, FrostDates, from_chances
from cropdata.catalog import Catalog, Crop
from cropdata.errors import CropdataError, InputError
from cropdata.tabular.settings import read_settings

if TYPE_CHECKING:
    import pandas as pd

UNDER_COVER = ("towel", "tray", "block", "flat", "pot")
METHODS = (*UNDER_COVER, "in_place")


class Place(NamedTuple):
    """Where the season is: frost dates, bench and soil."""

    name: str
    frost_source: str | None
    spring: FrostDates | FrostCurve
    autumn: FrostDates | FrostCurve | None
    risk: float | None
    bench_day_c: float | None
    bench_night_c: float | None
    soil_monthly_c: tuple[float, ...] | None
    daily_minima_c: pd.Series[Any] | None = None


class Packet(NamedTuple):
    """One seed packet and what is wanted from it."""

    crop: Crop
    variety: str | None
    packed: int | None
    plants: int | None
    method: str | None
    tested: tuple[int, int] | None


class Season(NamedTuple):
    """A season file as read."""

    year: int
    place: Place
    packets: tuple[Packet, ...]


class _Mistakes:
    """Collects mistakes so that one run reports them all."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.found: list[str] = []

    def add(self, where: str, message: str) -> None:
        self.found.append(f"{where}: {message}")

    def raise_any(self) -> None:
        if len(self.found) == 1:
            raise InputError(self.found[0], file=self.file)
        if self.found:
            listed = "".join(f"\n  {number}. {text}" for number, text in enumerate(self.found, start=1))
            raise InputError(f"{len(self.found)} mistakes{listed}", file=self.file)


def _unknown_keys(table: Mapping[Any, Any], known: tuple[str, ...], where: str, mistakes: _Mistakes) -> None:
    for key in table:
        if key not in known:
            mistakes.add(where, f"unknown key {key!r}; allowed: {', '.join(known)}")


def _number(value: Any, where: str, mistakes: _Mistakes, low: float, high: float, unit: str) -> float | None:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        mistakes.add(where, f"found {value!r}; allowed: a number of {unit} from {low:g} to {high:g}")
        return None
    if not low <= value <= high:
        mistakes.add(where, f"found {value:g}; allowed: {low:g} to {high:g} {unit}")
        return None
    return float(value)


def _whole(value: Any, where: str, mistakes: _Mistakes, low: int, high: int) -> int | None:
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        mistakes.add(where, f"found {value!r}; allowed: a whole number from {low} to {high}")
        return None
    return value


def _line(value: Any, where: str, mistakes: _Mistakes) -> str | None:
    """A text of one line, or None where it is left blank."""
    if value is None:
        return None
    if isinstance(value, (dict, list, set)) or not str(value).isprintable():
        mistakes.add(where, f"found {value!r}; allowed: one line of text")
        return None
    return str(value)


def _frost(value: Any, where: str, mistakes: _Mistakes, season: str, threshold: float) -> FrostDates | None:
    if not isinstance(value, dict):
        mistakes.add(
            where,
            f"found {value!r}; allowed: chances with dates, such as {{0.9: 04-09, 0.5: 04-28, 0.1: 05-15}}",
        )
        return None
    try:
        dates = {key: date if isinstance(date, datetime.date) else str(date) for key, date in value.items()}
        return from_chances(dates, season=season, threshold_c=threshold)
    except InputError as error:
        mistakes.add(where, str(error))
        return None


def _bench(value: Any, mistakes: _Mistakes) -> tuple[float | None, float | None]:
    where = "place.bench_temperature_c"
    if value is None:
        return None, None
    if isinstance(value, dict):
        _unknown_keys(value, ("day", "night"), where, mistakes)
        day = _number(value.get("day"), f"{where}.day", mistakes, 0, 45, "°C")
        night = _number(value.get("night"), f"{where}.night", mistakes, 0, 45, "°C")
        if day is not None and night is not None and night > day:
            mistakes.add(where, f"the night ({night:g} °C) is warmer than the day ({day:g} °C); swap the two")
        return day, night
    both = _number(value, where, mistakes, 0, 45, "°C")
    return both, both


def _soil(value: Any, mistakes: _Mistakes) -> tuple[float, ...] | None:
    where = "place.soil_temperature_c"
    if value is None:
        return None
    if not isinstance(value, list) or len(value) != 12:
        mistakes.add(where, f"found {value!r}; allowed: twelve monthly temperatures in °C, January first")
        return None
    read = [_number(item, f"{where}[{number}]", mistakes, -20, 45, "°C") for number, item in enumerate(value, start=1)]
    return None if None in read else tuple(item for item in read if item is not None)


def _from_record(
    value: Mapping[Any, Any], folder: str, mistakes: _Mistakes, threshold: float
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


def _place(value: Any, mistakes: _Mistakes, folder: str) -> Place | None:
    if not isinstance(value, dict):
        mistakes.add("place", f"found {value!r}; allowed: name, last_spring_frost and so on, indented under place:")
        return None
    known = (
        "name", "frost_source", "last_spring_frost", "daily_minima", "daily_minima_unit", "first_autumn_frost", "threshold_c", "risk",
        "bench_temperature_c", "soil_temperature_c",
    )  # fmt: skip
    _unknown_keys(value, known, "place", mistakes)
    threshold = _number(value.get("threshold_c", 0), "place.threshold_c", mistakes, -10, 10, "°C")
    risk = (
        None
        if value.get("risk") is None
        else _number(value["risk"], "place.risk", mistakes, 0.02, 0.98, "(share of years)")
    )
    spring: FrostDates | FrostCurve | None = None
    autumn: FrostDates | FrostCurve | None = None
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
    if value.get("first_autumn_frost") is not None:
        autumn = _frost(value["first_autumn_frost"], "place.first_autumn_frost", mistakes, "autumn", threshold or 0.0)
    name = _line(value.get("name"), "place.name", mistakes)
    source = _line(value.get("frost_source"), "place.frost_source", mistakes)
    day, night = _bench(value.get("bench_temperature_c"), mistakes)
    soil = _soil(value.get("soil_temperature_c"), mistakes)
    if spring is None:
        return None
    return Place(
        name or "unnamed place",
        source,
        spring,
        autumn,
        risk,
        day,
        night,
        soil,
        record,
    )


def _tested(value: Any, where: str, mistakes: _Mistakes) -> tuple[int, int] | None:
    if value is None:
        return None
    if not isinstance(value, dict) or set(value) != {"germinated", "sown"}:
        mistakes.add(where, f"found {value!r}; allowed: {{germinated: 8, sown: 10}}")
        return None
    sown = _whole(value["sown"], f"{where}.sown", mistakes, 1, 100_000)
    germinated = _whole(value["germinated"], f"{where}.germinated", mistakes, 0, 100_000)
    if sown is None or germinated is None:
        return None
    if germinated > sown:
        mistakes.add(where, f"{germinated} germinated of {sown} sown; allowed: at most as many as were sown")
        return None
    return germinated, sown


def _packet(value: Any, number: int, year: int | None, catalog: Catalog, mistakes: _Mistakes) -> Packet | None:
    where = f"packets[{number}]"
    if not isinstance(value, dict):
        mistakes.add(where, f"found {value!r}; allowed: a list entry with crop: and the rest")
        return None
    _unknown_keys(value, ("crop", "variety", "packed", "plants", "method", "tested"), where, mistakes)
    name = value.get("crop")
    crop = None
    if not isinstance(name, str):
        mistakes.add(f"{where}.crop", f"found {name!r}; allowed: the name of a crop")
    else:
        try:
            crop = catalog.crop(name)
        except CropdataError as error:
            mistakes.add(f"{where}.crop", str(error))
    packed = plants = None
    if value.get("packed") is not None:
        packed = _whole(value["packed"], f"{where}.packed", mistakes, 1950, year or 2200)
    if value.get("plants") is not None:
        plants = _whole(value["plants"], f"{where}.plants", mistakes, 1, 1_000_000)
    method = value.get("method")
    if method is not None and method not in METHODS:
        mistakes.add(f"{where}.method", f"found {method!r}; allowed: {', '.join(METHODS)}")
        method = None
    tested = _tested(value.get("tested"), f"{where}.tested", mistakes)
    variety = _line(value.get("variety"), f"{where}.variety", mistakes)
    return crop if crop is None else Packet(crop, variety, packed, plants, method, tested)


def read_season(path: str | os.PathLike[str], catalog: Catalog) -> Season:
    """Read and check a season file. Raises InputError that lists every mistake, with where and what is allowed."""
    file = os.fspath(path)
    raw = read_settings(file, "a season file")
    mistakes = _Mistakes(file)
    if not isinstance(raw, dict):
        raise InputError(
            "holds no season",
            file=file,
            allowed="season:, place: and packets: (see `cropdata plan --example`)",
        )
    _unknown_keys(raw, ("season", "place", "packets"), "top of the file", mistakes)
    year = None
    if raw.get("season") is None:
        mistakes.add("season", "missing; give the year, such as season: 2027")
    else:
        year = _whole(raw["season"], "season", mistakes, 1900, 2200)
    place = _place(raw.get("place"), mistakes, os.path.dirname(file))
    packets = raw.get("packets")
    if not isinstance(packets, list) or not packets:
        mistakes.add("packets", f"found {packets!r}; allowed: a list with one entry for each packet")
        packets = []
    read = [_packet(item, number, year, catalog, mistakes) for number, item in enumerate(packets, start=1)]
    mistakes.raise_any()
    assert year is not None and place is not None
    return Season(year, place, tuple(packet for packet in read if packet is not None))
