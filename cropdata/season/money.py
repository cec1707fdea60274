"""What a season costs: seed to order, trays and pots, mix; this year, and a year over the years that things last."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from cropdata.catalog import Catalog
from cropdata.catalog.material_records import Container
from cropdata.catalog.materials import Materials
from cropdata.methods.reckoning import Pieces, flat_under_blocks, makes_of, money_for, pieces_of
from cropdata.season.drafting import counted
from cropdata.season.orders import Order
from cropdata.season.plan import PlannedSowing, Total
from cropdata.season.season_parts import Season
from cropdata.season.totals import at_once, in_containers, litres_of

THIS_YEAR = "this year"
A_YEAR = "a year over the years they last"
Pair = tuple[float, float]


def costs_of(
    sowings: tuple[PlannedSowing, ...], season: Season, catalog: Catalog, orders: Sequence[Order]
) -> tuple[Total, ...]:
    """One line a thing, and a sum for each currency; what has no price is left out."""
    lines = [*_seed(orders, season.currency), *_pieces(sowings, season, catalog), *_mix(sowings, catalog)]
    return (*lines, *_sums(lines))


def _seed(orders: Sequence[Order], currency: str | None) -> list[Total]:
    """A packet each of what is to be ordered; where it may turn out that none is needed, none or one."""
    priced = [(order.price, order.sure) for order in orders if order.price is not None]
    low, high = sum(price for price, sure in priced if sure), sum(price for price, _ in priced)
    basis = "a packet each, at your prices; more if it holds too few"
    unpriced = len(orders) - len(priced)
    if unpriced:
        basis += f"; {counted(unpriced, 'packet')} without a price left out"
    return [_money("Seed to order", (low, high), currency or "money", THIS_YEAR, basis, ())] if high else []


def _pieces(sowings: Iterable[PlannedSowing], season: Season, catalog: Catalog) -> list[Total]:
    """Trays, pots and flats; where blocks are made a press, and the flat trays that they stand on."""
    found, make, materials = [], season.kit.make, catalog.materials
    blocks: list[PlannedSowing] = []
    for container, lines in in_containers(sowings, catalog).items():
        trays = at_once(lines, "trays")
        if container.method_id == "block":
            found += _bought("Press for blocks", 1, _known(container, make, materials))
            blocks += lines
            continue
        count = at_once(lines, "cells") if container.method_id == "pot" else trays
        found += _bought(f"{container.name}, {count}", count, _known(container, make, materials))
    trays, flat = at_once(blocks, "trays"), flat_under_blocks(materials)
    return found + _bought(f"Flats under blocks, {trays}", trays, [flat] if flat else [])


def _known(container: Container, make: str | None, materials: Materials) -> list[Pieces]:
    """What is known of its pieces: of the stated make, else of all makes."""
    makes = makes_of(container, materials)
    return [pieces_of(container, each, materials) for each in ((make,) if make in makes else makes)]


def _bought(what: str, count: int, known: Iterable[Pieces]) -> list[Total]:
    """Cost now and a year, from the cheapest to the dearest; nothing where there are none, or no price and life of them."""
    of = [(pieces, money_for(pieces, count, None, None)) for pieces in known if count]
    now = [money.first_year for _, money in of if money.first_year]
    a_year = [money.a_year for _, money in of if money.a_year]
    if not now or not a_year:
        return []
    basis = ", ".join(dict.fromkeys(pieces.basis.replace("_", " ") for pieces, _ in of))
    sources = tuple(dict.fromkeys(source for pieces, _ in of for source in pieces.sources))
    return [
        _money(what, (min(low for low, _ in costs), max(high for _, high in costs)), of[0][0].currency, per, f"{told}; {basis}", sources)
        for costs, per, told in ((now, THIS_YEAR, "if all are bought new"), (a_year, A_YEAR, "with breakage"))
    ]  # fmt: skip


def _mix(sowings: Iterable[PlannedSowing], catalog: Catalog) -> list[Total]:
    price = catalog.materials.span("price", medium="any mix")
    low, high = litres_of(sowings)
    if price is None or not high:
        return []
    basis = f"bagged; {price.basis.replace('_', ' ')}"
    return [_money("Mix", (low * price.low, high * price.high), "USD", THIS_YEAR, basis, price.sources)]


def _sums(lines: Sequence[Total]) -> list[Total]:
    """What is bought new this year, and a year on average: seed and mix every year, the rest over its life.

    Each currency has a sum of its own.
    """
    lasting = {line.what for line in lines if line.per == A_YEAR}
    sums: dict[tuple[str, str], list[Total]] = defaultdict(list)
    for line in lines:
        for per in (THIS_YEAR, A_YEAR):
            if line.per == per or (per == A_YEAR and line.what not in lasting):
                sums[line.unit, per].append(line)
    others = len({line.unit for line in lines}) > 1
    return [
        _money(f"All in {unit}" if others else "All of these", (sum(each.low for each in some), sum(each.high for each in some)), unit, per,
               "prices as above" + ("; other money is not added" if others else ""), ())
        for (unit, per), some in sums.items() if len(some) > 1
    ]  # fmt: skip


def _money(what: str, amount: Pair, unit: str, per: str, basis: str, sources: tuple[str, ...]) -> Total:
    return Total(what, round(amount[0], 2), round(amount[1], 2), unit, per, basis, sources)
