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


class Option(NamedTuple):
    """One way: a method with a container of one make.

    `seeds` to sow and `units` (cells, blocks, pots, seedlings pricked out) to fill so that the plants wanted are reached
    with the stated confidence; `trays` that they stand in, and `pieces` to buy (trays, pots). `mix_litres`: loose mix.
    `first_year` buys everything; `a_year` is the average over the seasons that pieces serve, mix included.
    `plastic_g` is used up for one plant. `stay` and `outgrown` ("no", "maybe", "yes"): how long the crop may stay in it
    against the weeks that raising takes. `budget`: "within", "maybe" or "over", of the first year.
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


class Comparison(NamedTuple):
    """The options for one crop, with trials, work, trade-offs, what is unknown and cautions. `format` counts changes of
    its shape. `germination` is the rate reckoned with (None: not known), `germination_from` says where it comes from.
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
