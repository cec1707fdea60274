"""What a season takes: trays, blocks, mix and its ingredients, seeds; what it costs stands in `money`."""

from __future__ import annotations

import datetime
import math
from collections import Counter, defaultdict
from collections.abc import Iterable

from cropdata.agronomy import materials
from cropdata.agronomy.windows import days_after
from cropdata.catalog import Catalog
from cropdata.catalog.material_records import Container
from cropdata.season.drafting import counted
from cropdata.season.plan import PlannedSowing, Total
from cropdata.season.season_parts import Season

Pair = tuple[float, float]


def in_containers(sowings: Iterable[PlannedSowing], catalog: Catalog) -> dict[Container, list[PlannedSowing]]:
    """Sowings by the container they stand in, in the order of the ids."""
    by: dict[str, list[PlannedSowing]] = defaultdict(list)
    for line in sowings:
        if line.container is not None and line.cells is not None:
            by[line.container].append(line)
    return {catalog.containers[name]: by[name] for name in sorted(by)}


def at_once(lines: Iterable[PlannedSowing], what: str) -> int:
    """The most `what` ("trays" or "cells") that stand at one time: a tray is used again when it is free."""
    changes: Counter[datetime.date] = Counter()
    for line in lines:
        stands = line.shelf or line.sow
        if stands is not None:
            changes[stands.first] += getattr(line, what) or 0
            changes[days_after(stands.last, 1)] -= getattr(line, what) or 0
    most = now = 0
    for _, change in sorted(changes.items()):
        now += change
        most = max(most, now)
    return most


def trays_if_shared(lines: Iterable[PlannedSowing], catalog: Catalog) -> int:
    """The fewest trays that hold these sowings, where those in one kind of tray share it; else each has its own."""
    count = 0
    for container, standing in in_containers(lines, catalog).items():
        each, cells = container.units_per_tray, sum(line.cells or 0 for line in standing)
        count += math.ceil(cells / each) if each else sum(line.trays or 0 for line in standing)
    return count


def litres_of(sowings: Iterable[PlannedSowing]) -> Pair:
    """Loose mix of all sowings whose volume is known."""
    known = [line.mix_litres for line in sowings if line.mix_litres is not None]
    return sum(low for low, _ in known), sum(high for _, high in known)


def totals_of(sowings: tuple[PlannedSowing, ...], season: Season, catalog: Catalog) -> tuple[Total, ...]:
    """Pieces, mix, ingredients and seeds."""
    by = in_containers(sowings, catalog)
    return (*_pieces(by), *_mix(by, season, catalog), *_left_out(sowings), *_seeds(sowings))


def _left_out(sowings: Iterable[PlannedSowing]) -> list[Total]:
    """Sowings under cover of which nobody can say what they stand in: how many cells, or in which method."""
    count = sum(line.where == "under cover" and line.sow is not None and line.cells is None for line in sowings)
    basis = "in trays, mix, money and shelf: number of plants, of cells or the method is not known"
    return [_total("Not counted", (count, count), "sowings", basis, ())] if count else []


def _pieces(by: dict[Container, list[PlannedSowing]]) -> list[Total]:
    found = []
    for container, lines in by.items():
        counts = {"trays": at_once(lines, "trays")}
        in_all = {"trays": sum(line.trays or 0 for line in lines)}
        if container.method_id in ("block", "pot"):
            units = f"{container.method_id}s"
            in_all[units] = sum(line.cells or 0 for line in lines)
            # A block goes into the ground, a pot is used again.
            counts[units] = at_once(lines, "cells") if container.method_id == "pot" else in_all[units]
        for unit, count in counts.items():
            basis = "in all" if unit == "blocks" else "most at one time"
            if in_all[unit] > count:
                basis += f", {in_all[unit]} in all"
            if count:
                found.append(Total(container.name, count, count, unit, basis=basis, sources=(container.source_id,)))
    return found


def _mix(by: dict[Container, list[PlannedSowing]], season: Season, catalog: Catalog) -> list[Total]:
    """Loose mix in litres, and where the season names a recipe each ingredient, in litres or in grams."""
    lines = [line for each in by.values() for line in each]
    litres = litres_of(lines)
    unknown = sum(line.mix_litres is None for line in lines)
    if not litres[1]:
        none = _total("Mix, loose", (0.0, 0.0), "not recorded", "nobody tells the volume of these containers", ())
        return [none] if unknown else []
    left_out = f"; {counted(unknown, 'sowing')} without a recorded volume left out" if unknown else ""
    sources = tuple(sorted({container.source_id for container in by}))
    found = [_total("Mix, loose", litres, "litres", f"with what goes in pressing and settling{left_out}", sources)]
    if season.kit.mix is None:
        return found
    recipe = catalog.media[season.kit.mix]
    loss = catalog.materials.span("mixing_loss", medium="any mix")
    lost = (loss.low / 100, loss.high / 100) if loss else (0.0, 0.0)
    least, most = ({}, {}) if not recipe.parts else (
        materials.ingredient_litres(volume, recipe.parts, share) for volume, share in zip(litres, lost, strict=True)
    )  # fmt: skip
    for each in recipe.components:
        name, own = f"of it {each.component}", (each.source_id,)
        if each.parts is not None:
            found.append(_total(name, (least[each.component], most[each.component]), "litres", recipe.name, own))
        elif each.amount_g_per_litre is not None:
            low, high = (materials.amendment_grams(volume, each.amount_g_per_litre) for volume in litres)
            found.append(_total(name, (low, high), "grams", recipe.name, own))
        else:
            found.append(_total(name, (0.0, 0.0), "not recorded", f"printed: {each.printed or 'no amount'}", own))
    return found


def _seeds(sowings: Iterable[PlannedSowing]) -> list[Total]:
    known = [line.seeds for line in sowings if line.seeds is not None]
    unknown = sum(line.seeds is None for line in sowings)
    basis = "for the plants wanted" + (f"; {counted(unknown, 'sowing')} without a number left out" if unknown else "")
    return [_total("Seeds", (sum(known), sum(known)), "seeds", basis, ())] if known else []


def _total(what: str, amount: Pair, unit: str, basis: str, sources: tuple[str, ...]) -> Total:
    low, high = (round(value, 1) for value in amount)
    return Total(what, low, high, unit, basis=basis, sources=sources)
