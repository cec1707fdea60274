"""How many seeds a sowing takes: viability, warmth, losses in the field or under cover, each with its source or assumed.

Plants = seeds x viability x share at this warmth x share that comes through (outside, or raised under cover). In cells with
several seeds, thinned to one, the last share is of cells: only one seedling a cell is left to be raised.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

from cropdata.agronomy import sowing
from cropdata.agronomy.lots import prior_from_age
from cropdata.errors import NoUsableEstimate
from cropdata.season.crop_part import CropPart, Days
from cropdata.season.drafting import Draft, counted, figures
from cropdata.season.plan import Factor
from cropdata.season.season_parts import Packet

IN_CELLS = ("tray", "block", "pot")
NONE_COME_UP = 0.005  # share of the best germination that is told as 0 %
MOST_PER_CELL = (
    6  # beyond it the seed is too poor for cells; a towel shows which of it lives: common practice, no source
)


class SeedNumbers(NamedTuple):
    """Seeds, seeds a cell and cells (in a flat: places) of one sowing; the germination assumed where there is no test; how it comes about."""

    seeds: int | None
    assumed: float | None
    per_cell: int | None
    cells: int | None
    factors: tuple[Factor, ...] = ()
    expected: float | None = None


NOTHING = SeedNumbers(None, None, None, None)


@lru_cache(maxsize=8192)
def _seeds(plants: int, germination: sowing.Germination, confidence: float, through: float) -> int:
    return sowing.seeds_needed(plants, germination, confidence, field=through)


def seed_numbers(packet: Packet, part: CropPart, method: str | None, days: Days, draft: Draft) -> SeedNumbers:
    """For the plants wanted from one sowing; `days` tells the share of the best germination at its warmth."""
    nothing = NOTHING._replace(per_cell=packet.per_cell)
    if packet.plants is None:
        return nothing
    germination, first = _germination(packet, part, draft)
    if germination is None or first is None:
        draft.say("No test and no legal minimum to reckon the seeds from: test ten or more first.")
        return nothing if part.in_place or method is None else nothing._replace(cells=_least_cells(packet.plants, part))
    if days.share is not None and days.share < NONE_COME_UP:
        draft.say("At this warmth next to none come up: no number of seeds is reckoned.")
        return nothing
    factors = (first, *_losses(part, days))
    through = round(math.prod(factor.share for factor in factors[1:]), 4)
    assumed = germination if isinstance(germination, float) else None
    confidence = part.site.rule("seedling_confidence")
    try:
        if method not in IN_CELLS:
            seeds = _seeds(packet.plants, germination, confidence, through)
            cells = None
            if method in (
                "towel",
                "flat",
            ):  # only what has come up is moved or left: as many places as seedlings to raise
                cells = _seeds(packet.plants, factors[-1].share, confidence, 1.0)
            return SeedNumbers(
                seeds, assumed, 1 if method == "towel" else None, cells, factors, seeds * first.share * through
            )
        warmth, raised = (factor.share for factor in factors[1:])
        per_cell = packet.per_cell or _per_cell(first.share * warmth, part.site.rule("cells_filled"))
        cells = _cells(packet.plants, germination, per_cell, confidence, warmth, raised)
    except NoUsableEstimate as error:
        draft.say(f"{str(error)[0].upper()}{str(error)[1:]}.")
        return nothing
    filled = 1 - (1 - first.share * warmth) ** per_cell
    return SeedNumbers(cells * per_cell, assumed, per_cell, cells, factors, cells * filled * raised)


def _least_cells(plants: int, part: CropPart) -> int:
    """Cells, blocks or places for the plants if each held a seedling: the least that it takes, whatever comes up."""
    return _seeds(plants, float(part.site.rule("raising_survival")), part.site.rule("seedling_confidence"), 1.0)


def _losses(part: CropPart, days: Days) -> tuple[Factor, Factor]:
    """What is lost after germination on its best day: by the warmth there is, and in the field or in raising."""
    name, rule_id = (
        ("comes through outside", "field_survival") if part.in_place else ("raised to a plant", "raising_survival")
    )
    rule = part.site.catalog.rule(rule_id)
    survival = Factor(name, float(rule["low"]), rule["basis"], (rule["source_id"],))
    if days.share is None:
        return Factor("of the best at this warmth", 1.0, "assumed"), survival
    return Factor("of the best at this warmth", min(1.0, days.share), "published", days.share_sources), survival


def _germination(
    packet: Packet, part: CropPart, draft: Draft
) -> tuple[sowing.Germination | None, Factor | None]:  # fmt: skip
    """The packet's own test; else the legal minimum, or less where the seed is old."""
    if packet.tested is not None:
        germinated, sown = packet.tested
        return packet.tested, Factor("germinates", (germinated + 0.5) / (sown + 1), "tested")
    standard = part.crop.germination_standard
    if standard is None:
        return None, None
    draft.use(standard)
    legal = standard.low / 100
    by_age = _by_age(packet, part)
    if too_old(packet, part):
        draft.say(
            f"Seeds are reckoned for new seed at the legal minimum of {100 * legal:.0f} %: this is too old to count on."
        )
    elif by_age is not None and by_age < legal:
        draft.say(
            f"Not tested: {100 * by_age:.0f} % is assumed for its age, less than the legal minimum of {100 * legal:.0f} %."
        )
        return by_age, Factor("germinates, by its age", by_age, "assumed")
    return legal, Factor("germinates, the legal minimum", legal, "assumed", standard.sources)


def _by_age(packet: Packet, part: CropPart) -> float | None:
    """What age and recorded seed life lead one to expect; only beyond the seed's shorter printed life."""
    life = part.crop.seed_longevity
    if packet.packed is None or life is None:
        return None
    age = part.site.year - packet.packed
    return round(_expected(age, life.low, life.high), 2) if age > life.low else None


@lru_cache(maxsize=4096)
def _expected(age: int, low: float, high: float) -> float:
    return max(prior_from_age(age, low, high).mean, 0.02)


@lru_cache(maxsize=8192)
def _per_cell(comes_up: float, filled: float) -> int:
    """Seeds a cell so that the wanted share of cells holds a seedling, each seed coming up with that chance."""
    for number in range(1, MOST_PER_CELL + 1):
        if 1 - (1 - comes_up) ** number >= filled:
            return number
    return MOST_PER_CELL


@lru_cache(maxsize=8192)
def _cells(
    plants: int, germination: sowing.Germination, per_cell: int, confidence: float, warmth: float, raised: float
) -> int:
    return sowing.cells_needed(plants, germination, per_cell, confidence, field=warmth, held=raised)


def age_note(packet: Packet, part: CropPart, draft: Draft) -> str | None:
    """Why the packet wants a test before it is sown; None where it does not. Says how old it is."""
    life, year = part.crop.seed_longevity, part.site.year
    if packet.tested is not None:
        return None
    if packet.packed is None:
        return "its age is not known"
    if packet.plants is not None and part.crop.germination_standard is None:
        return "nothing else tells how many of it come up"
    if life is None:
        return None
    age = year - packet.packed
    draft.use(life)
    span = counted(life.low, "year") if life.low == life.high else f"{figures(life.low, life.high)} years"
    old = f"Seed is {counted(age, 'year')} old"
    if age > life.high:
        draft.say(f"{old}, beyond the {span} that sources give it: test before sowing, or buy new.")
        return "it is older than sources give it"
    if age > life.low:
        draft.say(f"{old}; sources give it {span}: test before sowing.")
        return "it is near the end of its life"
    return None


def too_old(packet: Packet, part: CropPart) -> bool:
    """Beyond the longest printed life, and not tested."""
    life = part.crop.seed_longevity
    return bool(
        packet.tested is None and packet.packed and life and part.site.year - packet.packed > math.ceil(life.high)
    )
