"""One sowing of a plan with its steps, and what it is called; see `plan` for the units.

The Attributes below are what the JSON Schema says of the fields.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import NamedTuple

from cropdata.agronomy.windows import Window

# In the order in which they come in a season. "move" is from the damp towel to mix; "sow" is also the day of a towel.
STEPS = (
    "test", "buy", "chill", "soak", "sow", "move", "seedlings", "give_up", "feed", "pot_on", "harden", "plant_out", "harvest",
)  # fmt: skip
PLACES_TO_SOW = ("under cover", "in place")


def last_round(events: Sequence[str]) -> int:
    """Where the last sowing begins among what was recorded of one, in the order of days: after a sowing that was given up
    for good it may be sown again. 0 where it was sown once.
    """
    begins, given_up, sowing = 0, None, STEPS.index("sow")
    for number, event in enumerate(events):
        if event == "give_up":
            given_up = number
        elif event == "sow" and given_up is not None:
            begins, given_up = given_up + 1, None
        elif event in STEPS and STEPS.index(event) > sowing:
            given_up = None  # it was not lost
    return begins


class Step(NamedTuple):
    """One thing to do or to expect: `first` to `last` day (the same where it is one day), in the reader's words.

    Attributes:
        kind: which step it is.
        first: first day.
        last: last day, itself included.
        text: what to do, a sentence in the reader's units and order of dates.
        frost_left: chance of a later frost on the first day of planting out; at harvest that of a frost before its end.
        sources: ids of the sources that it rests on.
    """

    kind: str
    first: datetime.date
    last: datetime.date
    text: str
    frost_left: float | None = None
    sources: tuple[str, ...] = ()


class Factor(NamedTuple):
    """One share on the way from seed to plant; the factors multiplied are plants for one seed.

    Attributes:
        what: which share it is, such as germination, warmth, or what comes through in the field.
        share: the share, 0 to 1.
        basis: how it is known.
        sources: ids of the sources that it rests on.
    """

    what: str
    share: float
    basis: str
    sources: tuple[str, ...] = ()


class PlannedSowing(NamedTuple):
    """One sowing: a packet has one line for each of its sowings.

    Attributes:
        id: packet and number of the sowing, no dates; the same when the plan is made again.
        crop_id: id of the crop.
        crop: name of the crop; of a variety that a layer has as a crop of its own the variety's.
        variety: variety that the packet states.
        where: whether it is raised under cover or sown in place.
        method: way of starting it; null where it is raised under cover and none is stated.
        number: which of this packet's sowings it is, from 1.
        of: how many sowings the packet has.
        autumn: whether it is counted back from the first autumn frost.
        sow: days on which to sow.
        depth_mm: sowing depth, shallowest and deepest, in mm.
        best_c: best range of warmth for germination, in °C.
        light: what it needs to germinate; several joined by "or" where sources differ.
        emergence_days: days from sowing to seedlings at the warmth reckoned with, fewest and most of any day of the window.
        seedlings: when seedlings are expected, from the first sowing day's earliest to the last one's latest.
        give_up_days: days from sowing after which nothing more is to be expected, the most of any day of the window.
        plant_out: days on which to plant out.
        frost_left: chance of a later frost on the first day of planting out, in place when seedlings are expected; that of
            a frost before the harvest's end for an autumn sowing, or one that comes outside in the season's second half.
        harvest: when it is ready.
        plants: plants wanted.
        seeds: seeds to sow for them.
        seeds_on_hand: seeds in the packet.
        assumed_germination: share that is taken to germinate where the packet was not tested.
        per_cell: seeds in each cell.
        container: id of the container it stands in.
        cells: cells, blocks, pots or places in a flat that it takes.
        trays: whole trays that it takes.
        shelf: days on which it stands on the bench.
        mix_litres: loose mix that it takes, least and most, in litres.
        steps: what to do and to expect, in the order of a season.
        notes: what to mind, in the reader's units and order of dates.
        sources: ids of all the sources it rests on.
        factors: from seed to plant.
        expected_plants: plants to expect of `seeds`, one a cell where several go in each.
        warmth_c: mean warmth of bench, mat or soil while it comes up, in °C.
        least_give_up_days: the fewest of any day of the window: in soil that warms up later sowings take fewer.
        container_name: name of the container.
        parent: name of the crop that `crop` is a variety of, where a layer has the variety as a crop of its own.
    """

    id: str
    crop_id: str
    crop: str
    variety: str | None
    where: str
    method: str | None
    number: int
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
    container: str | None
    cells: int | None
    trays: int | None
    shelf: Window | None
    mix_litres: tuple[float, float] | None
    steps: tuple[Step, ...]
    notes: tuple[str, ...]
    sources: tuple[str, ...]
    factors: tuple[Factor, ...] = ()
    expected_plants: float | None = None
    warmth_c: float | None = None
    least_give_up_days: int | None = None
    container_name: str | None = None
    parent: str | None = None

    @property
    def give_up_after(self) -> tuple[int, int] | None:
        """Fewest and most days after sowing by which it has failed."""
        most, least = self.give_up_days, self.least_give_up_days
        return None if most is None else (most if least is None else least, most)

    @property
    def kind_name(self) -> str:
        """The crop as a grower knows it, also of a variety that a layer has as a crop: "Tomato"."""
        return self.parent or self.crop

    @property
    def variety_name(self) -> str:
        """The variety, also of one that a layer has as a crop: "Gate Red"; empty where none is told."""
        return " ".join(part for part in (self.crop if self.parent else None, self.variety) if part)

    @property
    def turn(self) -> str:
        """Which sowing of the packet it is: ", autumn", " 2/3", ", autumn 2/3", or nothing."""
        return f"{', autumn' if self.autumn else ''}{f' {self.number}/{self.of}' if self.of > 1 else ''}"

    @property
    def packet(self) -> str:
        """Crop and variety: "Tomato Gate Red"."""
        return f"{self.kind_name} {self.variety_name}".rstrip()

    @property
    def name(self) -> str:
        """What the sowing is called wherever it is shown: "Lettuce Pond Green 2/3", "Radish, autumn"."""
        return self.packet + self.turn

    @property
    def autumn_frost(self) -> bool:
        """Whether `frost_left` is the chance of a frost before the end of the harvest, not of a later one in spring."""
        return self.autumn or any(step.kind == "harvest" and step.frost_left is not None for step in self.steps)
