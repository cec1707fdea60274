"""What a season costs: seed to order, trays and pots, mix; this year, and a year over the years that things last."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from cropdata.agronomy import materials
from cropdata.catalog import Catalog
from cropdata.catalog.material_records import Container, Span
from cropdata.season.orders import Order
from cropdata.season.plan import PlannedSowing, Total
from cropdata.season.season_parts import Season
from cropdata.season.totals import at_once, in_containers, litres_of

THIS_YEAR = "this year"
A_YEAR = "a year over the years they last"
ALL = "All of these"
Pair = tuple[float, float]


def costs_of(
    sowings: tuple[PlannedSowing, ...], season: Season, catalog: Catalog, orders: Iterable[Order]
) -> tuple[Total, ...]:
    """One line a thing, and a sum for each currency; what has no price is left out."""
    lines = [*_seed(orders, season.currency), *_pieces(sowings, season, catalog), *_mix(sowings, catalog)]
    return (*lines, *_sums(lines))


def _seed(orders: Iterable[Order], currency: str | None) -> list[Total]:
    """A packet each of what is to be ordered; where it may turn out that none is needed, none or one."""
    priced = [(order.price, order.sure) for order in orders if order.price is not None]
    low, high = sum(price for price, sure in priced if sure), sum(price for price, _ in priced)
    basis = "a packet each, at your prices; more if it holds too few"
    return [_money("Seed to order", (low, high), currency or "money", THIS_YEAR, basis, ())] if high else []


def _pieces(sowings: Iterable[PlannedSowing], season: Season, catalog: Catalog) -> list[Total]:
    """Trays, pots and flats, and a press where blocks are made."""
    found = []
    for container, lines in in_containers(sowings, catalog).items():
        method = container.method_id
        pieces = 1 if method == "block" else at_once(lines, "cells" if method == "pot" else "trays")
        cost = _cost(container, pieces, season.kit.make, catalog) if pieces else None
        if cost is None:
            continue
        first_year, a_year, unit, basis, sources = cost
        what = "Press for blocks" if method == "block" else f"{container.name}, {pieces}"
        found.append(_money(what, first_year, unit, THIS_YEAR, f"if all are bought new; {basis}", sources))
        found.append(_money(what, a_year, unit, A_YEAR, f"with breakage; {basis}", sources))
    return found


def _cost(
    container: Container, pieces: int, make: str | None, catalog: Catalog
) -> tuple[Pair, Pair, str, str, tuple[str, ...]] | None:
    """Cost now and a year: of the stated make, else from the cheapest to the dearest of all makes."""
    costs: list[materials.Cost] = []
    spans: list[Span] = []
    builds = catalog.materials.builds(container.method_id)
    for build in (make,) if make in builds else builds:
        price, life, broken = (
            catalog.materials.span(what, method=container.method_id, build=build)
            for what in ("price", "life", "breakage")
        )
        if price is None or life is None or broken is None:
            continue
        costs.append(
            materials.piece_cost(
                pieces,
                _own(container.price_low, container.price_high, price),
                _own(container.life_low, container.life_high, life),
                (broken.low / 100, broken.high / 100),
            )
        )
        spans += [price, life, broken]
    if not costs:
        return None
    first_year = (min(cost.first_year[0] for cost in costs), max(cost.first_year[1] for cost in costs))
    a_year = (min(cost.a_year[0] for cost in costs), max(cost.a_year[1] for cost in costs))
    unit = (container.currency or "money") if container.price_low is not None else "USD"
    basis = ", ".join(dict.fromkeys(span.basis.replace("_", " ") for span in spans))
    sources = tuple(dict.fromkeys(source for span in spans for source in span.sources))
    return first_year, a_year, unit, basis, sources


def _own(low: float | None, high: float | None, usual: Span) -> Pair:
    """The container's own figure where it has one, open upwards as far as the usual one goes."""
    if low is None:
        return usual.ends
    return low, max(low, high if high is not None else usual.high)


def _mix(sowings: Iterable[PlannedSowing], catalog: Catalog) -> list[Total]:
    price = catalog.materials.span("price", medium="any mix")
    low, high = litres_of(sowings)
    if price is None or not high:
        return []
    basis = f"bagged; {price.basis.replace('_', ' ')}"
    return [_money("Mix", (low * price.low, high * price.high), "USD", THIS_YEAR, basis, price.sources)]


def _sums(lines: Iterable[Total]) -> list[Total]:
    """What is bought new this year, and a year on average: seed and mix every year, the rest over its life."""
    lasting = {line.what for line in lines if line.per == A_YEAR}
    sums: dict[tuple[str, str], list[Total]] = defaultdict(list)
    for line in lines:
        for per in (THIS_YEAR, A_YEAR):
            if line.per == per or (per == A_YEAR and line.what not in lasting):
                sums[line.unit, per].append(line)
    return [
        _money(ALL, (sum(each.low for each in some), sum(each.high for each in some)), unit, per, "prices as above", ())
        for (unit, per), some in sums.items() if len(some) > 1
    ]  # fmt: skip


def _money(what: str, amount: Pair, unit: str, per: str, basis: str, sources: tuple[str, ...]) -> Total:
    return Total(what, round(amount[0], 2), round(amount[1], 2), unit, per, basis, sources)
