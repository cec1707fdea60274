"""Put the methods for one crop beside each other."""

from __future__ import annotations

from collections.abc import Sequence

from cropdata.agronomy import materials as reckon
from cropdata.agronomy import sowing
from cropdata.catalog import Catalog, Crop
from cropdata.catalog.material_records import Container, Figure, MaterialCaution, Method, Recipe
from cropdata.catalog.materials import Materials
from cropdata.errors import InputError
from cropdata.methods.behind import figures_used, ingredients_of, minutes_of, recipe_named, water_litres
from cropdata.methods.comparison import LOSSES_UNKNOWN, Comparison, Option, Pair
from cropdata.methods.fitting import containers_for, fit_of, outgrown, stay_in
from cropdata.methods.reckoning import (
    DOLLARS,
    FLAT_UNDER_BLOCKS,
    NO_MONEY,
    TOO_POOR,
    UNKNOWN,
    Counts,
    Germination,
    Money,
    Pieces,
    Wanted,
    added,
    counts_for,
    flat_make,
    flat_under_blocks,
    loose_litres,
    makes_of,
    money_for,
    of_another_size,
    pieces_of,
    sum_of,
)  # fmt: skip
from cropdata.methods.trading import trade_offs

FORMAT = 1
MOST_PLANTS = 100_000
MOST_PER_CELL = 50


def compare(
    catalog: Catalog,
    crop: Crop | str,
    plants: int = 24,
    *,
    budget: float | None = None,
    germination: Germination | None = None,
    seeds_per_cell: int = 1,
    currency: str | None = None,
    recipe: str | None = None,
) -> Comparison:
    """The ways of starting `plants` plants of a crop.

    Args:
        catalog: where the crop, its evidence and the materials stand, layers included.
        crop: a crop, or a name of one.
        plants: usable plants wanted, 1 to 100 000.
        budget: money for the first year.
        currency: of the budget, three letters; left out, that of the prices where all are in one, else US dollars.
            Money in another is not held against it.
        germination: a rate in (0, 1], or (germinated, sown) of a test; the lowest legal minimum when left out.
        seeds_per_cell: seeds sown in a cell, block or pot, 1 to 50, thinned to one.
        recipe: id or name of a mix, to have its ingredients reckoned.

    Raises InputError for a number that cannot be one, UnknownCropError for an unknown name.
    """
    if isinstance(crop, str):
        crop = catalog.crop(crop)
    _whole(plants, "the number of plants", MOST_PLANTS)
    _whole(seeds_per_cell, "seeds per cell", MOST_PER_CELL)
    if budget is not None and not 0 <= budget < float("inf"):
        raise InputError("a budget is an amount of money, 0 or more", found=budget)
    if currency is not None and not (len(currency) == 3 and currency.isascii() and currency.isalpha()):
        raise InputError("a currency has three letters", found=currency, hint="write USD, EUR or the like")
    rate, told = _germination(crop, germination)
    if rate is not None:
        sowing.cells_filled(rate, 1)  # refuses what is no rate and no test
    wanted = Wanted(int(plants), float(catalog.rule("seedling_confidence")["low"]), rate, int(seeds_per_cell))
    weeks = crop.weeks_to_raise
    mix = recipe_named(recipe, catalog.materials) if recipe is not None else None
    bench = _Bench(catalog, crop, wanted, (weeks.low, weeks.high) if weeks else None, mix)
    options = tuple(option for method in catalog.methods.values() for option in bench.options(method))
    priced = dict.fromkeys(option.currency for option in options if option.currency and option.first_year)
    money = currency.upper() if currency else next(iter(priced)) if len(priced) == 1 else DOLLARS
    options = tuple(_held_against(option, budget, money) for option in options)
    effects = catalog.materials.effects(crop)
    work = _of_shown(catalog.materials.figures("labour"), options)
    cautions = _cautions(catalog, options)
    sources = {source for option in options for source in option.sources} | {
        each.source_id for each in (*effects, *work, *cautions)
    }
    return Comparison(
        FORMAT, catalog.version, crop.id, crop.name, wanted.plants, budget, rate, told, wanted.confidence, bench.raise_weeks, options,
        effects, work, trade_offs(options), _unknown(crop, options, rate, bool(effects)), cautions,
        tuple(sorted(sources)), money, mix.recipe_id if mix else None,
    )  # fmt: skip


def _whole(number: int, what: str, most: int) -> None:
    """Refuses what is no whole number from 1 to `most`."""
    if isinstance(number, bool) or not 1 <= number < float("inf") or number != int(number):
        raise InputError(f"{what} is a whole number, 1 or more", found=number)
    if number > most:
        raise InputError(
            f"{what} is at most {most}: for more nothing is reckoned", found=number, hint="ask for a part of them"
        )


def _germination(crop: Crop, given: Germination | None) -> tuple[Germination | None, str]:
    if given is not None:
        return given, "as given"
    standard = crop.germination_standard
    if standard is None:
        return None, "not recorded"
    return standard.low / 100, f"the lowest legal minimum ({', '.join(standard.sources)})"


def _of_shown(work: tuple[Figure, ...], options: tuple[Option, ...]) -> tuple[Figure, ...]:
    shown = {option.method_id for option in options if option.fit.word != "not_done"}
    return tuple(figure for figure in work if figure.method_id in shown)


def _cautions(catalog: Catalog, options: tuple[Option, ...]) -> tuple[MaterialCaution, ...]:
    usable = frozenset(option.method_id for option in options if option.fit.word != "not_done")
    return tuple(each for each in catalog.material_cautions if each.concerns(usable))


def _unknown(crop: Crop, options: tuple[Option, ...], rate: Germination | None, tried: bool) -> tuple[str, ...]:
    """What a grower should know is not known, each once."""
    told = []
    if rate is None:
        told.append(
            "Germination is not recorded: seeds are not counted. Seed sown into cells, blocks or pots is reckoned as if it all came up, "
            "however many seeds go into each, and so are trays, mix, money and plastic: it may take more, and ways are not ranked "
            "by these. Test ten seeds or more first, then give --germination."
        )
    if crop.weeks_to_raise is None and crop.not_done("weeks_to_raise") is None:
        told.append("Weeks to raise are not recorded, so whether it outgrows its cell is not known.")
    if crop.trait("transplant_ease") is None and crop.not_done("weeks_to_raise") is None:
        told.append("Ease of transplanting is not recorded.")
    if not tried:
        told.append("No trial of methods is recorded for this crop.")
    told += [f"{option.method}: {what}" for option in options for what in option.unknown]
    return tuple(dict.fromkeys(told))


class _Bench:
    """Reckons the options of one crop; holds what they share."""

    def __init__(
        self, catalog: Catalog, crop: Crop, wanted: Wanted, raise_weeks: Pair | None, recipe: Recipe | None
    ) -> None:
        self.crop, self.wanted, self.raise_weeks, self.recipe = crop, wanted, raise_weeks, recipe
        self.materials: Materials = catalog.materials
        price = self.materials.span("price", medium="any mix")
        self.mix_price = price.ends if price else None

    def options(self, method: Method) -> list[Option]:
        """The options of one method; one without numbers where it is not done or has no container."""
        fit = fit_of(self.crop, method)
        counts = counts_for(method.method_id, self.wanted, self.materials)
        if method.method_id == "in_place" or fit.word == "not_done":
            nothing = Counts(None, None) if fit.word == "not_done" else counts
            return [self._bare(method, nothing)]
        if method.method_id == "towel":
            return self._towel(method, counts)
        found = []
        for container, why in containers_for(self.crop, method, self.materials, self.raise_weeks):
            makes = makes_of(container, self.materials)
            found += [self._option(method, container, why, build, counts) for build in makes]
        return found or [self._bare(method, counts)]

    def _bare(self, method: Method, counts: Counts) -> Option:
        """Sown in place, or a method that nothing is reckoned for: no container, no mix, no money but the seed's."""
        in_place = method.method_id == "in_place"
        fit = fit_of(self.crop, method)
        unknown: tuple[str, ...] = ()
        if fit.word != "not_done" and counts.too_poor:
            unknown = (TOO_POOR,)
        elif in_place and counts.seeds:
            unknown = ("losses in the ground come on top of the seeds counted; how many is not known",)
        elif not in_place and fit.word != "not_done":
            unknown = ("no container is recorded for it",)
        nothing: Pair | None = (0.0, 0.0) if in_place and fit.word != "not_done" else None
        return Option(
            method.method_id, method.name, None, None, "", None, fit, counts.seeds, counts.units, None, None, nothing, None, nothing, nothing,
            None, nothing, _moves(method)[0], _moves(method)[1], None, None, None, unknown, (*fit.sources, method.source_id),
            minutes=minutes_of(method.method_id, counts.seeds, None, self.materials) if in_place else (),
        )  # fmt: skip

    def _towel(self, method: Method, counts: Counts) -> list[Option]:
        """A towel, then cells for what sprouted: as many as plants and losses at the move ask for."""
        sheets_known = containers_for(self.crop, method, self.materials, None)
        tray = self.materials.methods["tray"]
        following = containers_for(self.crop, tray, self.materials, self.raise_weeks)
        if not following or not sheets_known:
            return [self._bare(method, counts)]
        sheet = sheets_known[0][0]
        container, why = next(
            (
                each
                for each in following
                if outgrown(stay_in(self.materials, self.crop, each[0]), self.raise_weeks) != "yes"
            ),
            following[0],
        )
        sheets = None if counts.seeds is None else int(reckon.trays_needed(counts.seeds, sheet.units_per_tray or 1))
        prices = pieces_of(sheet, None, self.materials)
        # A towel serves once; the bag that it lies in is the small rest of its price, and all of its plastic. One bag holds
        # every sheet, or each has its own.
        towel, bags = UNKNOWN, None
        if sheets is not None:
            towel = money_for(prices._replace(life=(1.0, 1.0), breakage=(0.0, 0.0)), sheets, None, None)
            few, many = self._plastic(prices, 1), self._plastic(prices, sheets)
            bags = (few[0], many[1]) if few and many else None
        return [
            self._option(method, container, f"after the towel; {why}", build, counts, towel, bags, [("towel", sheet, None)])
            for build in makes_of(container, self.materials)
        ]  # fmt: skip

    def _option(
        self, method: Method, container: Container, why: str, build: str | None, counts: Counts,
        besides: Money = NO_MONEY, besides_plastic: Pair | None = (0.0, 0.0),
        also: Sequence[tuple[str, Container, str | None]] = (),
    ) -> Option:  # fmt: skip
        materials, fit = self.materials, fit_of(self.crop, method)
        unknown = [] if materials.figures("usable", method=method.method_id) else [LOSSES_UNKNOWN]
        trays = None
        if counts.units is not None and container.units_per_tray:
            trays = int(reckon.trays_needed(counts.units, container.units_per_tray))
        mix: Pair | None = None
        mix_sources: tuple[str, ...] = ()
        if counts.units is not None and (trays is not None or container.volume_of == "unit"):
            found = loose_litres(container, counts.units, trays or 0, materials)
            mix, mix_sources = found or (None, ())
        if counts.units is None:
            unknown.append(TOO_POOR)  # nothing is counted, so nothing else is said to be missing
        elif mix is None:
            unknown.append(f"mix for {container.name} is not recorded")
        pieces = pieces_of(container, build, materials)
        count = counts.units if method.method_id == "pot" else 1 if method.method_id == "block" else trays
        money, plastic = UNKNOWN, None
        same = pieces.currency == DOLLARS or mix is None
        if count is not None:
            parts = [
                (money_for(pieces, count, mix if same else None, self.mix_price if same else None), self._plastic(pieces, count)),
                (besides, besides_plastic),
                self._flats(trays) if method.method_id == "block" and trays is not None else (NO_MONEY, (0.0, 0.0)),
            ]  # fmt: skip
            currencies = dict.fromkeys(each.currency for each, _ in parts if each.currency)
            if len(currencies) > 1:
                unknown.append(f"prices in {' and '.join(currencies)} are not added")
            money, plastic = NO_MONEY, (0.0, 0.0)
            for each, grams in parts:
                money = added(money, each)
                plastic = sum_of(plastic, grams) if plastic and grams else None
            if not same:
                unknown.append(f"the price of mix in {pieces.currency} is not known and not counted")
        uncounted = method.method_id == "towel" and counts.seeds is None and counts.units is not None
        if uncounted:
            unknown.append("the number of towels is not known, as germination is not; so neither are money and plastic")
        elif money.first_year is None and count is not None:
            unknown.append(f"money for {container.name} is not known")
        for size, found_on in of_another_size(container, build, materials).items():
            verb, those = ("is", "that") if len(found_on) == 1 else ("are", "those")
            unknown.append(
                f"{' and '.join(found_on)} of {container.name} {verb} not recorded; {those} of {size} {verb} reckoned with"
            )
        if method.method_id in ("towel", "tray", "pot"):
            unknown.append("flat trays to carry cells or pots are not counted, in money or plastic")
        if method.method_id == "flat":
            unknown.append(
                "the flat that seed is sown in before pricking out is not counted: how many seeds it takes is not recorded"
            )
        if plastic is None and count is not None and not uncounted:
            unknown.append(f"plastic of {container.name} is not known")
        stay = (
            None
            if container.volume_low_ml is None or container.volume_of == "tray"
            else materials.stay(self.crop, container.volume_low_ml)
        )
        grown = outgrown(stay, self.raise_weeks)
        if stay is not None and stay.safe_weeks is None and stay.limit_weeks is None:
            unknown.append(f"how long it may stay in {container.name} is not recorded")
        basis = pieces.basis if mix is None else "from_memory"  # the price of mix is recalled
        sources = (
            *fit.sources,
            method.source_id,
            *(said.source_id for said in materials.said(container).values()),
            *pieces.sources,
            *mix_sources,
            *(stay.sources if stay else ()),
        )
        flat = materials.containers.get(FLAT_UNDER_BLOCKS) if method.method_id == "block" else None
        if flat is not None:
            also = [*also, ("flat under blocks", flat, flat_make(flat, materials))]
        worked = counts.seeds if method.method_id == "towel" else counts.units
        bare, ball = _moves(method)
        return Option(
            method.method_id, method.name, container.container_id, container.name, why, build, fit, counts.seeds, counts.units, trays, count,
            mix, pieces.currency, money.first_year, money.a_year, basis if money.first_year else None, plastic, bare, ball, stay, grown,
            None, tuple(unknown), tuple(dict.fromkeys(sources)), same, water_litres(method.method_id, mix, materials),
            minutes_of(method.method_id, worked, trays, materials), ingredients_of(self.recipe, mix, materials) if self.recipe else (),
            figures_used(method.method_id, container, build, materials, also), counts.at_least,
        )  # fmt: skip

    def _plastic(self, pieces: Pieces, count: int) -> Pair | None:
        if pieces.plastic_g is None or pieces.life is None:
            return None
        return reckon.plastic_grams_per_plant(
            pieces.plastic_g, self.wanted.plants / max(count, 1), pieces.life, pieces.breakage
        )

    def _flats(self, trays: int) -> tuple[Money, Pair | None]:
        """Money and plastic of the flat trays under blocks."""
        flat = flat_under_blocks(self.materials)
        if flat is None:
            return NO_MONEY, (0.0, 0.0)
        return money_for(flat, trays, None, None), self._plastic(flat, trays)


def _moves(method: Method) -> tuple[tuple[int, int], tuple[int, int]]:
    return (method.bare_moves_low, method.bare_moves_high), (method.ball_moves_low, method.ball_moves_high)


def _held_against(option: Option, budget: float | None, currency: str) -> Option:
    """The option with its first year held against a budget in that currency. Without the price of mix, or without the
    cells that stay empty, it is only known to be over, never within.
    """
    if budget is None or option.first_year is None:
        return option
    if option.currency not in (None, currency):
        said = f"its price in {option.currency} is not held against a budget in {currency}"
        return option._replace(unknown=(*option.unknown, said))
    low, high = option.first_year
    word = (
        "over"
        if low > budget
        else "within"
        if high <= budget and option.mix_priced and not option.at_least
        else "maybe"
    )
    return option._replace(budget=word)
