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
      plant_minus_screen_c: -3        # how much colder plants get than the screen on clear nights; optional
      bench_temperature_c: {day: 24, night: 18}                  # or one number
      mats: 1                         # heat mats, each of one warmth at a time; optional
      mat_temperature_c: 24           # what they are set to; each batch's best where it is left out
      shelf_trays: 6                  # trays that fit on the bench; optional
      soil_temperature_c: [1, 1, 3, 8, 13, 18, 21, 20, 16, 11, 6, 3]   # monthly, January first; optional
      night_temperature_c: [-5, -4, -1, 4, 9, 14, 17, 16, 12, 6, 1, -3]   # means of the night minima; optional
    packets:
      - crop: tomato
        variety: any text             # optional
        packed: 2025                  # year packed; optional
        plants: 12                    # plants wanted; optional
        method: tray                  # towel, tray, block, flat, pot or in_place; optional
        tested: {germinated: 8, sown: 10}   # optional
        seeds: 40                     # left in the packet; optional
        price: 3.10                   # of a packet, in your own money; optional
        sow: 2027-03-20               # a day of your own instead of the reckoned window; optional
        sowings: 3                    # several, every so many days; plants are those wanted from each; optional
        every_days: 14
        autumn: true                  # counted back from the first frost; optional
        container: tray-72            # id of a container; optional
        per_cell: 2                   # seeds a cell; reckoned where it is left out
    materials:                        # optional
      containers: {tray: tray-72, block: block-50mm}   # by method; see the table containers
      mix: compost-peat               # id of a recipe in the table media
      make: thick                     # thin, thick or wood: of trays and pots, for their cost over the years
    currency: CAD                     # of the packets' prices; optional

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
from cropdata.season import season_fields as fields
from cropdata.season.season_fields import Mistakes, Monthly, optional
from cropdata.tabular.settings import read_settings

if TYPE_CHECKING:
    import pandas as pd

UNDER_COVER = ("towel", "tray", "block", "flat", "pot")
METHODS = (*UNDER_COVER, "in_place")
_PACKET_KEYS = (
    "crop", "variety", "packed", "plants", "method", "tested", "seeds", "price", "sow", "sowings", "every_days", "autumn",
    "container", "per_cell",
)  # fmt: skip
_MOST_SOWINGS = 52
MAKES = ("thin", "thick", "wood")


class Place(NamedTuple):
    """Where the season is: frost dates, bench, soil and nights; monthly means with January first, °C."""

    name: str
    frost_source: str | None
    spring: FrostDates | FrostCurve
    autumn: FrostDates | FrostCurve | None
    risk: float | None
    bench_day_c: float | None
    bench_night_c: float | None
    soil_monthly_c: Monthly | None
    daily_minima_c: pd.Series[Any] | None = None
    night_monthly_c: Monthly | None = None
    mats: int = 0
    mat_c: float | None = None
    plant_minus_screen_c: float | None = None
    shelf_trays: int | None = None


class Packet(NamedTuple):
    """One seed packet and what is wanted from it. `plants` are those wanted from each of its `sowings`."""

    crop: Crop
    variety: str | None
    packed: int | None
    plants: int | None
    method: str | None
    tested: tuple[int, int] | None
    seeds: int | None = None
    price: float | None = None
    sow: datetime.date | None = None
    sowings: int = 1
    every_days: int | None = None
    autumn: bool = False
    container: str | None = None
    per_cell: int | None = None


class Kit(NamedTuple):
    """What the season is raised in: container ids by method, a recipe's id, the make of trays and pots."""

    containers: tuple[tuple[str, str], ...] = ()
    mix: str | None = None
    make: str | None = None

    def container_of(self, method: str) -> str | None:
        """The season's container for a method; None where none is named."""
        return dict(self.containers).get(method)


class Season(NamedTuple):
    """A season file as read. `currency` is that of the packets' prices."""

    year: int
    place: Place
    packets: tuple[Packet, ...]
    kit: Kit = Kit()
    currency: str | None = None


def _frost(value: Any, where: str, mistakes: Mistakes, season: str, threshold: float) -> FrostDates | None:
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


def _place(value: Any, mistakes: Mistakes, folder: str) -> Place | None:
    if not isinstance(value, dict):
        mistakes.add("place", f"found {value!r}; allowed: name, last_spring_frost and so on, indented under place:")
        return None
    known = (
        "name", "frost_source", "last_spring_frost", "daily_minima", "daily_minima_unit", "first_autumn_frost", "threshold_c", "risk",
        "plant_minus_screen_c", "bench_temperature_c", "mats", "mat_temperature_c", "shelf_trays", "soil_temperature_c", "night_temperature_c",
    )  # fmt: skip
    fields.check_keys(value, known, "place", mistakes)
    threshold = fields.number(value.get("threshold_c", 0), "place.threshold_c", mistakes, -10, 10, "°C")
    risk = optional(fields.number, value, "risk", "place", mistakes, 0.02, 0.98, "(share of years)")
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
        mats if mats is not None else int(mat is not None), mat, colder, shelf,
    )  # fmt: skip


def _tested(value: Any, where: str, mistakes: Mistakes) -> tuple[int, int] | None:
    if value is None:
        return None
    if not isinstance(value, dict) or set(value) != {"germinated", "sown"}:
        mistakes.add(where, f"found {value!r}; allowed: {{germinated: 8, sown: 10}}")
        return None
    sown = fields.whole(value["sown"], f"{where}.sown", mistakes, 1, 100_000)
    germinated = fields.whole(value["germinated"], f"{where}.germinated", mistakes, 0, 100_000)
    if sown is None or germinated is None:
        return None
    if germinated > sown:
        mistakes.add(where, f"{germinated} germinated of {sown} sown; allowed: at most as many as were sown")
        return None
    return germinated, sown


def _packet(
    value: Any, number: int, year: int | None, place: Place | None, catalog: Catalog, mistakes: Mistakes
) -> Packet | None:
    where = f"packets[{number}]"
    if not isinstance(value, dict):
        mistakes.add(where, f"found {value!r}; allowed: a list entry with crop: and the rest")
        return None
    fields.check_keys(value, _PACKET_KEYS, where, mistakes)
    name = value.get("crop")
    crop = None
    if not isinstance(name, str):
        mistakes.add(f"{where}.crop", f"found {name!r}; allowed: the name of a crop")
    else:
        try:
            crop = catalog.crop(name)
        except CropdataError as error:
            mistakes.add(f"{where}.crop", str(error))
    method = value.get("method")
    if method is not None and method not in METHODS:
        mistakes.add(f"{where}.method", f"found {method!r}; allowed: {', '.join(METHODS)}")
        method = None
    sowings = optional(fields.whole, value, "sowings", where, mistakes, 1, _MOST_SOWINGS) or 1
    every = optional(fields.whole, value, "every_days", where, mistakes, 1, 180)
    if (sowings > 1) != (value.get("every_days") is not None):
        mistakes.add(where, "sowings (2 or more) and every_days belong together; give both or neither")
    container = _container(value.get("container"), method, f"{where}.container", catalog, mistakes)
    autumn = fields.truth(value.get("autumn"), f"{where}.autumn", mistakes)
    if autumn and place is not None and place.autumn is None:
        mistakes.add(f"{where}.autumn", "is counted back from the first frost; give place.first_autumn_frost")
    packet = Packet(
        crop,  # type: ignore[arg-type]  # a packet without its crop is not returned
        fields.line(value.get("variety"), f"{where}.variety", mistakes),
        optional(fields.whole, value, "packed", where, mistakes, 1950, year or 2200),
        optional(fields.whole, value, "plants", where, mistakes, 1, 1_000_000),
        method or (container and catalog.containers[container].method_id),
        _tested(value.get("tested"), f"{where}.tested", mistakes),
        optional(fields.whole, value, "seeds", where, mistakes, 0, 10_000_000),
        optional(fields.number, value, "price", where, mistakes, 0, 100_000, "money"),
        optional(fields.date, value, "sow", where, mistakes, year),
        sowings, every, autumn,
        container,
        optional(fields.whole, value, "per_cell", where, mistakes, 1, 50),
    )  # fmt: skip
    return None if crop is None else packet


def _container(
    value: Any, method: str | None, where: str, catalog: Catalog, mistakes: Mistakes
) -> str | None:  # fmt: skip
    """The id of a container that goes with the method; from a towel seedlings go to any but a towel."""
    if value is None:
        return None
    try:
        container = catalog.materials.container(str(value))
    except InputError as error:
        mistakes.add(where, str(error))
        return None
    fits = container.method_id != "towel" if method == "towel" else method in (None, container.method_id)
    if not fits:
        mistakes.add(where, f"{value} ({container.name}) goes with method {container.method_id}, not with {method}")
        return None
    return str(container.container_id)


def _kit(value: Any, catalog: Catalog, mistakes: Mistakes) -> Kit:
    if value is None:
        return Kit()
    if not isinstance(value, dict):
        mistakes.add("materials", f"found {value!r}; allowed: containers, mix and make, indented under materials:")
        return Kit()
    fields.check_keys(value, ("containers", "mix", "make"), "materials", mistakes)
    named = value.get("containers")
    if named is not None and not isinstance(named, dict):
        mistakes.add(
            "materials.containers", f"found {named!r}; allowed: container ids by method, such as {{tray: tray-72}}"
        )
    chosen = []
    for method, container in (named if isinstance(named, dict) else {}).items():
        where = f"materials.containers.{method}"
        if method not in UNDER_COVER:
            mistakes.add(where, f"no method of that name; allowed: {', '.join(UNDER_COVER)}")
        elif (read := _container(container, method, where, catalog, mistakes)) is not None:
            chosen.append((str(method), read))
    mix = value.get("mix")
    if mix is not None and mix not in catalog.media:
        mistakes.add("materials.mix", f"found {mix!r}; allowed: {', '.join(catalog.media)}")
        mix = None
    make = value.get("make")
    if make is not None and make not in MAKES:
        mistakes.add("materials.make", f"found {make!r}; allowed: {', '.join(MAKES)}")
        make = None
    return Kit(tuple(chosen), mix, make)


def read_season(path: str | os.PathLike[str], catalog: Catalog) -> Season:
    """Read and check a season file. Raises InputError that lists every mistake, with where and what is allowed."""
    file = os.fspath(path)
    raw = read_settings(file, "a season file")
    mistakes = Mistakes(file)
    if not isinstance(raw, dict):
        raise InputError(
            "holds no season",
            file=file,
            allowed="season:, place: and packets: (see `cropdata plan --example`)",
        )
    fields.check_keys(raw, ("season", "place", "packets", "materials", "currency"), "top of the file", mistakes)
    year = None
    if raw.get("season") is None:
        mistakes.add("season", "missing; give the year, such as season: 2027")
    else:
        year = fields.whole(raw["season"], "season", mistakes, 1900, 2200)
    place = _place(raw.get("place"), mistakes, os.path.dirname(file))
    packets = raw.get("packets")
    if not isinstance(packets, list) or not packets:
        mistakes.add("packets", f"found {packets!r}; allowed: a list with one entry for each packet")
        packets = []
    read = [_packet(item, number, year, place, catalog, mistakes) for number, item in enumerate(packets, start=1)]
    kit = _kit(raw.get("materials"), catalog, mistakes)
    currency = fields.line(raw.get("currency"), "currency", mistakes)
    mistakes.raise_any()
    assert year is not None and place is not None
    return Season(year, place, tuple(packet for packet in read if packet is not None), kit, currency)
