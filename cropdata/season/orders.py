"""Whether the seed of a packet will do for all its sowings, or more is to be ordered."""

from __future__ import annotations

from typing import NamedTuple

from cropdata.season.crop_part import CropPart
from cropdata.season.drafting import Draft, counted
from cropdata.season.plan import Conflict, PlannedSowing
from cropdata.season.season_parts import Packet
from cropdata.season.seed_numbers import seed_numbers, too_old


class Order(NamedTuple):
    """Seed to order for one packet: why, its price where the season states it, and what it lacks as a conflict.

    `sure` is False where nobody has counted the seeds, or where fewer in each cell would do: perhaps none is needed.
    """

    because: str
    price: float | None
    sure: bool
    clash: Conflict | None


def order_of(packet: Packet, part: CropPart, lines: list[PlannedSowing]) -> Order | None:
    """The order for all sowings of a packet; None where none is due."""
    need = _sum([line.seeds for line in lines])
    old = "the seed is older than sources give it" if too_old(packet, part) else None
    if packet.seeds is None:
        because = f"count what is in the packet, {need} are needed" if need else old
        if because is None and packet.plants is not None:
            because = "look whether there is enough, how many it takes is not known"
        return None if because is None else Order(because, packet.price, old is not None, None)
    if need is None or need <= packet.seeds:
        return None if old is None else Order(old, packet.price, True, None)
    thinner = _thinner(packet, part, lines)
    told = f"{counted(need, 'seed')} needed, {packet.seeds} on hand: buy more, or grow fewer"
    if thinner is not None:
        told += f", or sow {thinner[0]} in each cell ({counted(thinner[1], 'seed')} in {counted(thinner[2], 'cell')})"
    first = lines[0]
    clash = Conflict(
        "seeds",
        None,
        first.sow.first if first.sow else None,
        f"{first.packet}: {told}.",
        tuple(line.id for line in lines),
    )
    because = f"{need} are needed, {packet.seeds} on hand"
    return Order(because, packet.price, thinner is None or old is not None, clash)


def _thinner(packet: Packet, part: CropPart, lines: list[PlannedSowing]) -> tuple[int, int, int] | None:
    """The most seeds in each cell with which the packet will do, and the seeds and cells that takes; None where none does.

    More cells with fewer seeds in each take fewer seeds for as many plants. What the grower has set is not changed.
    """
    usual = lines[0].per_cell
    if packet.per_cell is not None or usual is None:
        return None
    for per_cell in range(usual - 1, 0, -1):
        own = packet._replace(per_cell=per_cell)
        numbers = [
            seed_numbers(own, part, line.method, part.on(line.sow.first if line.sow else None)[0], Draft(part.words))
            for line in lines
        ]
        seeds, cells = _sum([each.seeds for each in numbers]), _sum([each.cells for each in numbers])
        if seeds is not None and cells is not None and seeds <= (packet.seeds or 0):
            return per_cell, seeds, cells
    return None


def _sum(counts: list[int | None]) -> int | None:
    """None where one of them is not known."""
    return None if None in counts else sum(count or 0 for count in counts)
