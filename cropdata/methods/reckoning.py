"""What one method with one container takes for so many plants: seeds, cells, trays, mix, money, plastic."""

from __future__ import annotations

import re
from typing import NamedTuple

from cropdata.agronomy import materials as reckon
from cropdata.agronomy import sowing
from cropdata.catalog.material_records import BASES, Container, Span
from cropdata.catalog.materials import Materials
from cropdata.errors import NoUsableEstimate
from cropdata.methods.comparison import Pair

Germination = float | tuple[int, int]
FLAT_UNDER_BLOCKS = "flat-28x54cm"
DOLLARS = "USD"  # the currency of the recalled prices in material_figures
_WIDTH = re.compile(r"(\d+) to (\d+) cm")
_NOTHING: Pair = (0.0, 0.0)


class Wanted(NamedTuple):
    """What is asked for: plants, with which confidence, from seed of which germination (None: not known)."""

    plants: int
    confidence: float
    germination: Germination | None
    per_cell: int


class Counts(NamedTuple):
    """Seeds to sow, units to fill; None where not known. `too_poor`: a million seeds would not do. `at_least`: units are
    those that it takes if every seed comes up, as germination is not known.
    """

    seeds: int | None
    units: int | None
    too_poor: bool = False
    at_least: bool = False


TOO_POOR = "the seed is too poor to say how many seeds and cells it takes"


def usable_share(method: str, materials: Materials) -> float:
    """Share of units that give a usable plant, the cautious end; 1 where nothing is recorded, as for sown trays and pots."""
    usable = materials.span("usable", method=method)
    return usable.low / 100 if usable else 1.0


def counts_for(method: str, wanted: Wanted, materials: Materials) -> Counts:
    """Seeds and units so that the plants are reached with the confidence, losses of the method included."""
    plants, confidence, rate, per_cell = wanted
    share = usable_share(method, materials)
    try:
        if method == "in_place":
            return Counts(None if rate is None else sowing.seeds_needed(plants, rate, confidence), None)
        if method in ("towel", "flat"):  # only what has come up takes a cell
            units = sowing.seeds_needed(plants, share, confidence)
            return Counts(None if rate is None else sowing.seeds_needed(units, rate, confidence), units)
        if rate is None:
            return Counts(None, sowing.seeds_needed(plants, share, confidence), at_least=True)
        units = sowing.cells_needed(plants, rate, per_cell, confidence, held=share)
        return Counts(units * per_cell, units)
    except NoUsableEstimate:
        return Counts(None, None, too_poor=True)


def loose_litres(
    container: Container, units: int, trays: int, materials: Materials
) -> tuple[Pair, tuple[str, ...]] | None:
    """Loose mix for so many units, with the loss on pressing or settling, and who says so; None without a volume."""
    filled = container.filled_litres(units, trays)
    if filled is None:
        return None
    if container.method_id == "block":
        pressing = materials.span("pressing", method="block")
        lost = reckon.share_lost_in_pressing(pressing.ends) if pressing else _NOTHING
        sources = pressing.sources if pressing else ()
    else:
        settling = materials.span("settling", medium="mix in cells")
        lost = (settling.low / 100, settling.high / 100) if settling else _NOTHING
        sources = settling.sources if settling else ()
    return reckon.loose_mix_litres(filled, lost), (container.source_id, *sources)


class Pieces(NamedTuple):
    """What is known of the pieces of one make: price, life in seasons, breakage as a share a year, plastic in grams."""

    price: Pair | None
    currency: str
    life: Pair | None
    breakage: Pair
    plastic_g: Pair | None
    basis: str
    sources: tuple[str, ...]


def makes_of(container: Container, materials: Materials) -> tuple[str | None, ...]:
    """Makes to reckon a container in: those of its method that have a price; None where its own price and life tell what
    it is.
    """
    makes = materials.builds(container.method_id)
    own = _own(container.price_low, container.price_high) and _own(container.life_low, container.life_high)
    return (None,) if own and len(makes) > 1 else makes


def pieces_of(container: Container, build: str | None, materials: Materials) -> Pieces:
    """The container's own figures where it has them, else those of the method and make; no make's where `build` is None."""

    def span(what: str) -> Span | None:
        found = [each for each in materials.figures(what, method=container.method_id) if each.build == build]
        return Span(found) if found else None

    price, life, breakage, plastic = (span(what) for what in ("price", "life", "breakage", "plastic"))
    own_price, own_life = _own(container.price_low, container.price_high), _own(container.life_low, container.life_high)
    own_plastic = _own(container.plastic_low_g, container.plastic_high_g)
    used = [
        each
        for each, own in ((price, own_price), (life, own_life), (breakage, None), (plastic, own_plastic))
        if each and not own
    ]
    said = materials.said(container)
    own_said = [said[what] for what in own_figures(container)]
    bases = [*(each.basis for each in used), *(each.basis for each in own_said)]
    worst = max(bases, key=BASES.index, default=container.basis)
    return Pieces(
        own_price or (price.ends if price else None), (container.currency or DOLLARS) if own_price else DOLLARS,
        own_life or (life.ends if life else None), (breakage.low / 100, breakage.high / 100) if breakage and not own_life else _NOTHING,
        own_plastic or (plastic.ends if plastic else None), worst,
        tuple(dict.fromkeys([*(source for each in used for source in each.sources), *(each.source_id for each in own_said)])),
    )  # fmt: skip


def of_another_size(container: Container, build: str | None, materials: Materials) -> dict[str, list[str]]:
    """Figures reckoned with that were found on pieces of another size, by that size: {"7 to 9 cm": ["price", "plastic"]}.

    By the volume: what holds more than a cube of the larger width, or less than half a cube of the smaller, is no pot of
    that width, even a deep or a tapered one.
    """
    own, volume = own_figures(container), container.volume_low_ml
    found: dict[str, list[str]] = {}
    for what in ("price", "plastic") if volume is not None and container.volume_of == "unit" else ():
        for figure in materials.figures(what, method=container.method_id) if what not in own else ():
            width = _WIDTH.fullmatch(figure.condition or "")
            if width is None or figure.build != build or volume is None:
                continue
            if not float(width[1]) ** 3 / 2 <= volume <= float(width[2]) ** 3:
                found.setdefault(figure.condition or "", []).append(what)
    return found


def own_figures(container: Container) -> dict[str, tuple[float, float, str]]:
    """Price, life and plastic that the container's own row gives: low, high, unit."""
    of = {
        "price": (_own(container.price_low, container.price_high), container.currency or DOLLARS),
        "life": (_own(container.life_low, container.life_high), "seasons"),
        "plastic": (_own(container.plastic_low_g, container.plastic_high_g), "g"),
    }
    return {what: (*ends, unit) for what, (ends, unit) in of.items() if ends}


def flat_make(flat: Container, materials: Materials) -> str | None:
    """The make of flat that is reckoned under blocks: thick where there is one."""
    makes = makes_of(flat, materials)
    return "thick" if "thick" in makes else makes[0]


def flat_under_blocks(materials: Materials) -> Pieces | None:
    """The flat tray that pressed blocks stand on, of the thick make: a tray of wet blocks bends a thin one.

    None where a layer hides it: the grower has something else.
    """
    flat = materials.containers.get(FLAT_UNDER_BLOCKS)
    if flat is None:
        return None
    return pieces_of(flat, flat_make(flat, materials), materials)


def _own(low: float | None, high: float | None) -> Pair | None:
    if low is None and high is None:
        return None
    return (low if low is not None else high or 0.0), (high if high is not None else low or 0.0)


class Money(NamedTuple):
    """First year and average year, as (low, high) in `currency`; None where a price is not known. Nothing has no currency."""

    first_year: Pair | None
    a_year: Pair | None
    currency: str | None = None


UNKNOWN = Money(None, None)
NO_MONEY = Money(_NOTHING, _NOTHING)


def money_for(pieces: Pieces, count: int, mix: Pair | None, mix_price: Pair | None) -> Money:
    """Pieces and mix together. Mix is bought anew each year. Unknown where a price or a life is missing."""
    if pieces.price is None or pieces.life is None or (mix is not None and mix_price is None):
        return UNKNOWN
    cost = reckon.piece_cost(count, pieces.price, pieces.life, pieces.breakage)
    soil = (mix[0] * mix_price[0], mix[1] * mix_price[1]) if mix and mix_price else _NOTHING
    return Money(sum_of(cost.first_year, soil), sum_of(cost.a_year, soil), pieces.currency)


def sum_of(one: Pair, other: Pair) -> Pair:
    """Two ranges together."""
    return one[0] + other[0], one[1] + other[1]


def added(one: Money, other: Money) -> Money:
    """Two sums of money together; unknown where either is, or where their currencies differ."""
    if one.currency and other.currency and one.currency != other.currency:
        return UNKNOWN
    if not (one.first_year and other.first_year and one.a_year and other.a_year):
        return UNKNOWN
    return Money(
        sum_of(one.first_year, other.first_year), sum_of(one.a_year, other.a_year), one.currency or other.currency
    )
