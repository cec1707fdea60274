"""What a comparison of methods holds: one option for each method, container and make, and what is said of them all.

Named tuples of plain values. Volumes are litres, plastic grams, stays weeks; money is in the option's own currency. A
pair is (low, high); whatever nothing is recorded of is None and named in `unknown`.
"""

from __future__ import annotations

from typing import NamedTuple

from cropdata.catalog.material_records import CropStay, Effect, Figure, MaterialCaution

Pair = tuple[float, float]
LOSSES_UNKNOWN = "plants lost after germination are not recorded, and none are counted"


class Fit(NamedTuple):
    """Whether a method suits the crop by evidence: `word` is "yes", "with_care", "not_advised", "not_done" (a source says
    so) or "unknown"; `reason` in plain words, `sources` behind it.
    """

    word: str
    reason: str
    sources: tuple[str, ...]


class Used(NamedTuple):
    """A figure that an option is reckoned with: `what`, from `low` to `high` (None: no such end printed) in `unit`, `row` (id
    of the container or of the row of material_figures), its source, where it stands there and what it was found on.
    """

    what: str
    low: float | None
    high: float | None
    unit: str
    row: str
    source_id: str
    locator: str
    basis: str
    condition: str | None = None


class Minutes(NamedTuple):
    """A labour figure for the number asked, in minutes; `work` says what it covers. `row` is in material_figures."""

    row: str
    work: str
    low: float
    high: float
    source_id: str
    basis: str


class Ingredient(NamedTuple):
    """What a recipe takes of one component: litres, or grams; `amount` None where none is printed."""

    component: str
    amount: Pair | None
    unit: str
    source_id: str
    basis: str


class Option(NamedTuple):
    """One way: a method with a container of one make.

    `seeds` to sow and `units` (cells, blocks, pots, seedlings pricked out) to fill so that the plants wanted are reached
    with the stated confidence; `trays` that they stand in, and `pieces` to buy (trays, pots). `mix_litres`: loose mix.
    `first_year` buys everything; `a_year` is the average over the seasons that pieces serve, mix included.
    `plastic_g` is used up for one plant. `stay` and `outgrown` ("no", "maybe", "yes"): how long the crop may stay in it
    against the weeks that raising takes. `budget`: "within", "maybe" or "over", of the first year; None where it is in
    another currency. `mix_priced` is False where the mix has no price in the option's currency and is not in its money.
    `water_litres` wets the mix before filling, None where not recorded. `minutes` are the labour figures for this number,
    `ingredients` what a recipe asked for takes, `reckoned_with` every figure behind it, with its source. `at_least`: as
    germination is not known, units are those without an empty one, and nothing that follows from them is promised.
    """

    method_id: str
    method: str
    container_id: str | None
    container: str | None
    chosen: str
    build: str | None
    fit: Fit
    seeds: int | None
    units: int | None
    trays: int | None
    pieces: int | None
    mix_litres: Pair | None
    currency: str | None
    first_year: Pair | None
    a_year: Pair | None
    money_basis: str | None
    plastic_g: Pair | None
    bare_moves: tuple[int, int]
    ball_moves: tuple[int, int]
    stay: CropStay | None
    outgrown: str | None
    budget: str | None
    unknown: tuple[str, ...]
    sources: tuple[str, ...]
    mix_priced: bool = True
    water_litres: Pair | None = None
    minutes: tuple[Minutes, ...] = ()
    ingredients: tuple[Ingredient, ...] = ()
    reckoned_with: tuple[Used, ...] = ()
    at_least: bool = False


class Comparison(NamedTuple):
    """The options for one crop, with trials, work, trade-offs, what is unknown and cautions. `format` counts changes of
    its shape. `confidence` is that of the counts, save those `at_least`. `budget` is in `currency`. `germination` is the rate reckoned with (None: not known), `germination_from` says where it comes from.
    """

    format: int
    data_version: str
    crop_id: str
    crop: str
    plants: int
    budget: float | None
    germination: float | tuple[int, int] | None
    germination_from: str
    confidence: float
    raise_weeks: Pair | None
    options: tuple[Option, ...]
    effects: tuple[Effect, ...]
    work: tuple[Figure, ...]
    trade_offs: tuple[str, ...]
    unknown: tuple[str, ...]
    cautions: tuple[MaterialCaution, ...]
    sources: tuple[str, ...]
    currency: str | None
    recipe_id: str | None
