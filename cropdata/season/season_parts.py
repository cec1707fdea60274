"""What a season file holds, as read: place, packets, materials."""

from __future__ import annotations

import datetime
import re
from typing import TYPE_CHECKING, Any, NamedTuple

from cropdata.agronomy.frost import FrostCurve, FrostDates
from cropdata.catalog import Crop
from cropdata.season.season_fields import Monthly

if TYPE_CHECKING:
    import pandas as pd

UNDER_COVER = ("towel", "tray", "block", "flat", "pot")
METHODS = (*UNDER_COVER, "in_place")
MAKES = ("thin", "thick", "wood")


class NoFrost(NamedTuple):
    """The frost of a place that has none, as the grower states it: asked as other frost dates are."""

    threshold_c: float

    def date_at(self, chance: float, year: int | None = None) -> datetime.date | str | None:
        """None: no date has that chance."""
        return None

    def chance_after(self, date: datetime.date) -> float:
        """0: none comes."""
        return 0.0

    def chance_before(self, date: datetime.date) -> float:
        """0: none comes."""
        return 0.0

    def extrapolated(self, chance: float) -> bool:
        """Nothing is run on past what was given."""
        return False


Frost = FrostDates | FrostCurve | NoFrost


class Place(NamedTuple):
    """Where the season is: frost dates, bench, soil and nights; monthly means with January first, °C.

    `counted_from`: month and day that weeks are counted from where frost comes in less than half of the years.
    """

    name: str
    frost_source: str | None
    spring: Frost
    autumn: Frost | None
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
    counted_from: tuple[int, int] | None = None


class Packet(NamedTuple):
    """One seed packet and what is wanted from it. `plants` are those wanted from each of its `sowings`.

    `id`: what its sowings are called in the plan, the records and the calendar, where the grower names it.
    """

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
    id: str | None = None

    @property
    def base(self) -> str:
        """What its sowings are called: its own id, else crop and variety in small letters and hyphens."""
        said = f"{self.crop.id} {self.variety or ''}"
        return self.id or re.sub(r"[^a-z0-9]+", "-", said.casefold()).strip("-")


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
