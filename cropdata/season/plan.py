"""What a plan holds: the sowings with their steps, what clashes, what it takes, what to mind, who says so.

Named tuples of plain values, so that the terminal, CSV, JSON, the calendar and the page all show one thing. Dates are
`datetime.date`, lengths millimetres, temperatures °C, volumes litres, money in the grower's own currency; chances are
shares of years. Whatever nothing is recorded of is None.
"""

from __future__ import annotations

import datetime
from typing import NamedTuple

from cropdata.agronomy.windows import Window

# In the order in which they come in a season. "move" is from the damp towel to mix; "sow" is also the day of a towel.
STEPS = (
    "test", "buy", "chill", "soak", "sow", "move", "seedlings", "give_up", "feed", "pot_on", "harden", "plant_out", "harvest",
)  # fmt: skip


class Step(NamedTuple):
    """One thing to do or to expect: `first` to `last` day (the same where it is one day), in the reader's words."""

    kind: str
    first: datetime.date
    last: datetime.date
    text: str
    frost_left: float | None = None
    sources: tuple[str, ...] = ()


class Factor(NamedTuple):
    """One share on the way from seed to plant: germination, warmth, field or raising. `basis` is "tested", "assumed",
    "published" or "common_practice"; the factors multiplied are plants for one seed.
    """

    what: str
    share: float
    basis: str
    sources: tuple[str, ...] = ()


class PlannedSowing(NamedTuple):
    """One sowing: a packet has one line for each of its sowings.

    `id` stays the same when the plan is made again (packet and number of the sowing, no dates), so that a calendar
    updates. `frost_left` is the chance of a later frost on the first day of planting out (under cover) or on the day
    that seedlings are expected (in place); for an autumn sowing, and for one that comes outside in the second half of the
    season, that of a frost before the end of its harvest. `assumed_germination` is the rate that `seeds` is reckoned with
    where the packet was not tested. `emergence_days` is the span over the window of sowing, `give_up_days` the most in it and
    `least_give_up_days` the fewest: in soil that warms up later sowings take fewer. `cells` counts cells, blocks, pots or places in a flat, `trays` whole trays; `shelf`
    the days on which they stand on the bench.
    """

    id: str
    crop_id: str
    crop: str
    variety: str | None
    where: str  # "under cover" or "in place"
    method: str | None  # towel, tray, block, flat, pot or in_place
    number: int  # of this packet's sowings, from 1
    of: int
    autumn: bool
    sow: Window | None
    depth_mm: tuple[float, float] | None
    best_c: tuple[float, float] | None
    light: str | None
    emergence_days: tuple[float, float] | None
    seedlings: Window | None
    give_up_days: int | None
    plant_out: Window | None
    frost_left: float | None
    harvest: Window | None
    plants: int | None
    seeds: int | None
    seeds_on_hand: int | None
    assumed_germination: float | None
    per_cell: int | None
    container: str | None  # id in containers
    cells: int | None
    trays: int | None
    shelf: Window | None
    mix_litres: tuple[float, float] | None
    steps: tuple[Step, ...]
    notes: tuple[str, ...]
    sources: tuple[str, ...]
    factors: tuple[Factor, ...] = ()  # from seed to plant
    expected_plants: float | None = None  # of `seeds`, one a cell where several go in each
    warmth_c: float | None = None  # mean of bench, mat or soil while it comes up
    least_give_up_days: int | None = None

    @property
    def give_up_after(self) -> tuple[int, int] | None:
        """Fewest and most days after sowing by which it has failed."""
        most, least = self.give_up_days, self.least_give_up_days
        return None if most is None else (most if least is None else least, most)

    @property
    def title(self) -> str:
        """Crop, variety and number, as sentences name it: "Lettuce Pond Green 2/3"."""
        name = f"{self.crop}{f' {self.variety}' if self.variety else ''}"
        return name if self.of == 1 else f"{name} {self.number}/{self.of}"

    @property
    def autumn_frost(self) -> bool:
        """Whether `frost_left` is the chance of a frost before the end of the harvest, not of a later one in spring."""
        return self.autumn or any(step.kind == "harvest" and step.frost_left is not None for step in self.steps)


class Conflict(NamedTuple):
    """What does not go together: too early for the bench, two warmths on one mat, more trays than the shelf holds."""

    kind: str
    first: datetime.date | None
    last: datetime.date | None
    text: str
    sowings: tuple[str, ...] = ()  # ids


class Total(NamedTuple):
    """One line of what the season takes: `low` to `high` of `unit`, this year or a year over the years things last."""

    what: str
    low: float
    high: float
    unit: str
    per: str = "this year"
    basis: str = ""
    sources: tuple[str, ...] = ()


class Caution(NamedTuple):
    """A hazard of this season's crops or materials, and what is usual against it."""

    about: str
    text: str
    sources: tuple[str, ...] = ()


class Seen(NamedTuple):
    """A record of what was really done, beside the plan: `late_days` is positive where it was later than the window."""

    sowing: str
    event: str
    date: datetime.date
    late_days: int | None
    text: str


class Assumption(NamedTuple):
    """A figure that the plan rests on besides the crops' own: what, how much, who says so."""

    rule_id: str
    meaning: str
    low: float
    high: float
    unit: str
    basis: str
    source: str


class FrostDay(NamedTuple):
    """A day of the season with the chance of a frost still to come (spring) or come already (autumn)."""

    date: datetime.date
    spring_left: float | None
    autumn_come: float | None


class PlanPlace(NamedTuple):
    """The place as the plan shows it.

    `last_frost` is the date with an even chance of a later one, None where frost comes in less than half of the years:
    then weeks are counted from the day that the grower states, `counted_from`. `risk_date`: from when on the chance is no
    more than `risk`; None where it never is more.
    """

    name: str
    frost_source: str | None
    threshold_c: float
    last_frost: datetime.date | None
    risk: float
    risk_date: datetime.date | None
    first_frost: datetime.date | None
    bench_c: tuple[float, float] | None  # night, day
    shelf_trays: int | None
    counted_from: datetime.date


class Cited(NamedTuple):
    """A source used, and how to name it."""

    source_id: str
    citation: str


class Plan(NamedTuple):
    """A season's plan, sowings in the order of their dates.

    `next_actions` are the steps still to come from the reader's day on, soonest first, as (sowing id, step).
    `layers` names what was laid over the release, in order.
    """

    format: int
    data_version: str
    year: int
    place: PlanPlace
    sowings: tuple[PlannedSowing, ...]
    conflicts: tuple[Conflict, ...]
    totals: tuple[Total, ...]
    cautions: tuple[Caution, ...]
    frost: tuple[FrostDay, ...]
    seen: tuple[Seen, ...]
    assumptions: tuple[Assumption, ...]
    citations: tuple[Cited, ...]
    warnings: tuple[str, ...]
    layers: tuple[str, ...] = ()

    def next_actions(self, today: datetime.date) -> tuple[tuple[str, Step], ...]:
        """Steps not yet past on that day, soonest first."""
        coming = [(line.id, step) for line in self.sowings for step in line.steps if step.last >= today]
        return tuple(sorted(coming, key=lambda each: (max(each[1].first, today), STEPS.index(each[1].kind), each[0])))
