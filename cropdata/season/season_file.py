"""The season file: YAML that names a place and the seed packets, checked line by line.

    season: 2027                      # the year of the last spring frost that it is planned around
    place:
      name: Alder Bank
      frost_source: where the dates come from
      last_spring_frost: {0.9: 04-09, 0.5: 04-28, 0.1: 05-15}    # chance of a LATER frost: date
      counted_from: 03-01             # only where frost comes in less than half of the years, or none (last_spring_frost: none)
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
        id: tomato-early              # what records and calendar call it; needed where two packets are alike; optional
    materials:                        # optional
      containers: {tray: tray-72, block: block-50mm}   # by method; see the table containers
      mix: compost-peat               # id of a recipe in the table media
      make: thick                     # thin, thick or wood: of trays and pots, for their cost over the years
    currency: CAD                     # of the packets' prices; optional

Every mistake is reported in one run; nothing in the file is executed. A planner may hand in the same as a mapping.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Mapping
from typing import Any

from cropdata.catalog import Catalog
from cropdata.errors import InputError
from cropdata.season import season_fields as fields
from cropdata.season.season_fields import Mistakes
from cropdata.season.season_packets import kit_of, packet_of
from cropdata.season.season_parts import Season
from cropdata.season.season_place import place_of
from cropdata.tabular.settings import read_settings


def read_season(path: str | os.PathLike[str], catalog: Catalog) -> Season:
    """Read and check a season file. Raises InputError that lists every mistake, with where and what is allowed."""
    file = os.fspath(path)
    return season_of(read_settings(file, "a season file"), catalog, file=file)


def season_of(raw: Mapping[str, Any], catalog: Catalog, *, file: str | None = None) -> Season:
    """The season of a mapping with the keys of a season file, checked as one.

    `file` is named in messages; a record of daily minima is looked for beside it. Raises InputError that lists every
    mistake.
    """
    mistakes = Mistakes(file)
    if not isinstance(raw, Mapping):
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
    place = place_of(raw.get("place"), mistakes, os.path.dirname(file or ""))
    packets = raw.get("packets")
    if not isinstance(packets, list) or not packets:
        mistakes.add("packets", f"found {packets!r}; allowed: a list with one entry for each packet")
        packets = []
    read = [packet_of(item, number, year, place, catalog, mistakes) for number, item in enumerate(packets, start=1)]
    for name, count in Counter(packet.id for packet in read if packet is not None and packet.id).items():
        if count > 1:
            mistakes.add("packets", f"the id {name} stands at {count} packets; give each its own")
    kit = kit_of(raw.get("materials"), catalog, mistakes)
    currency = fields.line(raw.get("currency"), "currency", mistakes)
    mistakes.raise_any()
    assert year is not None and place is not None
    return Season(year, place, tuple(packet for packet in read if packet is not None), kit, currency)
