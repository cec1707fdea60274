"""What raising so many plants takes: trays, mix, water, plastic and money, and how long a plant may stay in its cell.

Plain arithmetic of numbers or arrays; a figure that is known as a range is handed in as (low, high) and comes back as
(low, high). The figures come from the tables `containers`, `media`, `material_figures` and `cell_stay`; how many cells
to sow stands in `sowing.cells_needed`. Errors: InputError for a number that cannot be one (a negative volume, a share
above 1, a range whose ends are swapped).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from cropdata.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from numpy.typing import ArrayLike, NDArray

Pair = tuple[float, float]


def _number(value: float, what: str, *, least: float = 0.0, most: float = math.inf) -> float:
    number = float(value)
    if not least <= number <= most or math.isinf(number):
        allowed = f"{least:g} or more" if most == math.inf else f"{least:g} to {most:g}"
        raise InputError(f"{what} cannot be {value}", found=value, allowed=allowed)
    return number


def _pair(values: Pair, what: str, *, least: float = 0.0, most: float = math.inf) -> Pair:
    low, high = (_number(value, what, least=least, most=most) for value in values)
    if low > high:
        raise InputError(f"{what}: the low end {low:g} is above the high end {high:g}", found=values, hint="swap them")
    return low, high


def trays_needed(units: ArrayLike, units_per_tray: ArrayLike) -> NDArray[np.int64]:
    """Whole trays for so many cells, blocks or pots. Arrays are broadcast; whole numbers in, whole numbers out."""
    wanted, each = np.asarray(units, float), np.asarray(units_per_tray, float)
    if not (np.isfinite(wanted) & (wanted >= 0)).all() or not (np.isfinite(each) & (each >= 1)).all():
        raise InputError("units are 0 or more, and a tray holds 1 or more", found=(units, units_per_tray))
    trays: NDArray[np.int64] = np.ceil(wanted / each).astype(np.int64)
    return trays


def loose_mix_litres(filled_litres: Pair, lost_share: Pair = (0.0, 0.0)) -> Pair:
    """Loose mix to take so that `filled_litres` are full after pressing or settling.

    `lost_share`: share of the loose volume that goes, in [0, 1): 0.1 where a filled cell settles by a tenth of its
    depth, 0.6 where 2.5 volumes are pressed into one (1 - 1/2.5). Least mix with least loss, most with most.
    """
    low, high = _pair(filled_litres, "a volume")
    least, most = _pair(lost_share, "a share lost", most=0.99)
    return low / (1 - least), high / (1 - most)


def share_lost_in_pressing(loose_per_pressed: Pair) -> Pair:
    """The share of loose volume that goes where so many volumes of loose mix make one pressed."""
    low, high = _pair(loose_per_pressed, "loose volumes for one pressed", least=1.0)
    return 1 - 1 / low, 1 - 1 / high


def ingredient_litres(mix_litres: float, parts: Mapping[str, float], mixing_loss: float = 0.0) -> dict[str, float]:
    """Litres of each component, by its parts of volume, for so much loose mix.

    `mixing_loss`: share of the components' volume that goes when fine ones fill the gaps of coarse ones, in [0, 1).
    """
    litres = _number(mix_litres, "a volume of mix")
    loss = _number(mixing_loss, "a share lost in mixing", most=0.99)
    shares = {name: _number(value, f"parts of {name}") for name, value in parts.items()}
    total = sum(shares.values())
    if not total:
        raise InputError("a recipe without parts", found=dict(parts), allowed="parts by volume, at least one above 0")
    return {name: litres / (1 - loss) * value / total for name, value in shares.items()}


def amendment_grams(mix_litres: float, grams_per_litre: float) -> float:
    """Grams of what is added by weight; kilograms to the cubic metre are grams to the litre."""
    return _number(mix_litres, "a volume of mix") * _number(grams_per_litre, "an amount added")


def wetting_water_litres(mix_litres: Pair, litres_per_litre: Pair) -> Pair:
    """Water that wets so much mix or dry peat, at so many litres a litre of it."""
    low, high = _pair(mix_litres, "a volume")
    least, most = _pair(litres_per_litre, "water to a litre")
    return low * least, high * most


def moistening_water_litres(
    mix_litres: float, dry_grams_per_litre: Pair, from_percent: float, to_percent: Pair
) -> Pair:
    """Water that brings mix from one moisture to another; moisture in percent of the weight of the wet mix.

    A litre of mix with D grams of dry matter at m percent holds D · m / (100 - m) grams of water. Nothing is taken
    away: (0, 0) where it is wet enough. Water is taken as a kilogram a litre.
    """
    litres = _number(mix_litres, "a volume of mix")
    light, heavy = _pair(dry_grams_per_litre, "dry weight of a litre")
    before = _number(from_percent, "a moisture", most=95)
    least, most = _pair(to_percent, "a moisture", most=95)

    def added(grams: float, after: float) -> float:
        return max(0.0, litres * grams * (after / (100 - after) - before / (100 - before)) / 1000)

    return added(light, least), added(heavy, most)


def seasons_served(life_seasons: ArrayLike, breakage_a_year: ArrayLike) -> NDArray[np.float64]:
    """Seasons that one piece serves on average: bought for season 1, a share broken after each, thrown out at the end.

    The sum of (1 - b)^k over the seasons of its life, (1 - (1 - b)^L) / b; L where nothing breaks.
    """
    life, broken = np.broadcast_arrays(np.asarray(life_seasons, float), np.asarray(breakage_a_year, float))
    if not ((life >= 1) & np.isfinite(life) & (broken >= 0) & (broken <= 1)).all():
        raise InputError(
            "a life is 1 season or more, breakage a share of 0 to 1", found=(life_seasons, breakage_a_year),
            hint="write 0.2 for one in five a year",
        )  # fmt: skip
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(broken == 0, life, (1 - (1 - broken) ** life) / np.where(broken == 0, 1, broken))


def pieces_bought(pieces: int, years: int, life_seasons: int, breakage_a_year: float) -> tuple[int, ...]:
    """Pieces to buy before each of so many seasons, so that `pieces` whole ones stand ready every time.

    Each batch loses the share `breakage_a_year` of what is left of it after every season, and is thrown out whole after
    `life_seasons`; what is missing is bought anew, rounded up to whole pieces.
    """
    wanted, span, life = (int(_number(value, what)) for value, what in
                          ((pieces, "pieces"), (years, "years"), (life_seasons, "a life")))  # fmt: skip
    broken = _number(breakage_a_year, "breakage a year", most=1)
    if life < 1:
        raise InputError("a life is 1 season or more", found=life_seasons)
    batches: list[tuple[int, float]] = []  # season bought, pieces left of it
    bought = []
    for season in range(span):
        batches = [(start, left) for start, left in batches if season - start < life]
        missing = max(0, math.ceil(wanted - sum(left for _, left in batches) - 1e-9))
        bought.append(missing)
        batches = [(start, left * (1 - broken)) for start, left in [*batches, (season, float(missing))]]
    return tuple(bought)


class Cost(NamedTuple):
    """Money for pieces: `first_year` to buy them all, `a_year` on average over the seasons they serve; (low, high)."""

    first_year: Pair
    a_year: Pair


def piece_cost(pieces: int, price: Pair, life_seasons: Pair, breakage_a_year: Pair) -> Cost:
    """What so many pieces cost, in the currency of `price`. Low: cheap, long-lived, little breakage; high: the reverse."""
    count = _number(pieces, "pieces")
    cheap, dear = _pair(price, "a price")
    short, long = _pair(life_seasons, "a life in seasons", least=1)
    little, much = _pair(breakage_a_year, "breakage a year", most=1)
    served_long, served_short = seasons_served([long, short], [little, much]).tolist()
    return Cost((count * cheap, count * dear), (count * cheap / served_long, count * dear / served_short))


def plastic_grams_per_plant(
    piece_grams: Pair, plants_per_piece: float, life_seasons: Pair, breakage_a_year: Pair
) -> Pair:
    """Plastic used up for one plant, in grams, over the seasons that the piece serves.

    `plants_per_piece`: usable plants that one tray or pot gives in a season, above 0 (empty cells count against it).
    """
    if not 0 < plants_per_piece < math.inf:
        raise InputError("plants to a piece are above 0", found=plants_per_piece)
    light, heavy = _pair(piece_grams, "plastic in a piece")
    short, long = _pair(life_seasons, "a life in seasons", least=1)
    little, much = _pair(breakage_a_year, "breakage a year", most=1)
    served_long, served_short = seasons_served([long, short], [little, much]).tolist()
    return light / plants_per_piece / served_long, heavy / plants_per_piece / served_short


class StayFigure(NamedTuple):
    """One statement on a stay in a cell: `kept` True where plants stood so long and were planted out, False for a limit, of
    which `low_weeks` are not yet too long (None: not stated) and `high_weeks` are.
    """

    volume_ml: float
    low_weeks: float | None
    high_weeks: float
    kept: bool


class Stay(NamedTuple):
    """How long a plant may stay in a cell, in weeks; None where no statement says anything of that volume.

    `safe_weeks`: so long no statement speaks against it. `limit_weeks`: beyond it every statement does. Where plants were
    kept longer than a limit allows, these are what the limit calls not yet too long and what went well, and `disagree` is True.
    """

    safe_weeks: float | None
    limit_weeks: float | None
    disagree: bool = False


def longest_stay(volume_ml: float, figures: Iterable[StayFigure], *, went_well: float = 0.0) -> Stay:
    """The longest stay in a cell of that volume, from statements on cells of their own volumes.

    A larger cell never shortens a stay: what went well in a smaller cell, or was not yet too long there, goes well here
    (safe); what is too long for a larger cell is too long here (limit). Nothing is guessed between the volumes of the
    statements, nor beyond them. `went_well`: weeks that went well by better evidence; limits below it are left out, the
    others stay.
    """
    volume = _number(volume_ml, "the volume of a cell", least=0.1)
    given = list(figures)
    below = [figure for figure in given if figure.volume_ml <= volume * _ALIKE]
    above = [
        figure for figure in given
        if figure.volume_ml * _ALIKE >= volume and not figure.kept and figure.high_weeks >= went_well
    ]  # fmt: skip
    fine = [figure.high_weeks if figure.kept else figure.low_weeks for figure in below]
    safe = max((weeks for weeks in fine if weeks is not None), default=None)
    limit = min((figure.high_weeks for figure in above), default=None)
    against = [figure.low_weeks for figure in above if safe is not None and figure.high_weeks < safe]
    if against:
        # What a limit calls too long is not safe; where it does not say what is, nothing is known to be.
        stated = [weeks for weeks in against if weeks is not None]
        return Stay(min(stated) if len(stated) == len(against) else None, safe, disagree=True)
    return Stay(safe, limit)


def stay_changes(figures: Iterable[StayFigure], volume_ml: float) -> list[float]:
    """The volumes up to `volume_ml` at which one of the statements begins to count, or no longer does; smallest first, that
    volume itself last. Between two of them `longest_stay` says the same.
    """
    edges = {edge for figure in figures for edge in (figure.volume_ml / _ALIKE, figure.volume_ml * _ALIKE)}
    # A hair above the edge, on the side of the larger cell, whatever the rounding.
    return [*sorted(edge * (1 + 1e-9) for edge in edges if edge * (1 + 1e-9) < volume_ml), volume_ml]


_ALIKE = 1.05  # a cell of 42 ml is one of 43: makers measure one tray a little apart
