"""What an option is reckoned with, figure by figure; and what follows from its numbers: water, ingredients, minutes."""

from __future__ import annotations

from collections.abc import Iterable

from cropdata.agronomy import materials as reckon
from cropdata.catalog.material_records import Container, Figure, Recipe
from cropdata.catalog.materials import Materials
from cropdata.errors import InputError
from cropdata.methods.comparison import Ingredient, Minutes, Pair, Used
from cropdata.methods.reckoning import own_figures

_OF_A_PIECE = ("price", "life", "breakage", "plastic")
_OF_A_METHOD = {"block": ("pressing", "usable"), "flat": ("usable",), "towel": ("usable",)}
_UNITS_IN_A_LABOUR_FIGURE = 200


def figures_used(
    method: str, container: Container, build: str | None, materials: Materials, besides: Iterable[tuple[str, Container, str | None]] = ()
) -> tuple[Used, ...]:  # fmt: skip
    """The figures that an option rests on: of its container, of its pieces, of its method, of its mix; `besides` are other
    pieces (a name, a container, a make), such as the flat under blocks.
    """
    used = _of_container("", container, build, materials)
    for name, other, make in besides:
        mine = _of_container(f"{name}: ", other, make, materials)
        # Blocks stand on a flat, and what it holds of mix and seedlings says nothing of them.
        used += mine if method != "block" else [each for each in mine if each.what.rpartition(": ")[2] in _OF_A_PIECE]
    for what in _OF_A_METHOD.get(method, ()):
        used += [_used("", each) for each in materials.figures(what, method=method)]
    if method != "block":
        used += [_used("mix: ", each) for each in materials.figures("settling", medium="mix in cells")]
    used += [_used("mix: ", each) for each in materials.figures("price", medium="any mix")]
    return tuple(dict.fromkeys(used))


def _of_container(name: str, container: Container, build: str | None, materials: Materials) -> list[Used]:
    """Size of a container, then price, life, breakage and plastic of its pieces: its own, else those of method and make."""

    def said(what: str) -> tuple[str, str, str, str]:
        who = materials.said(container)[what]
        return container.container_id, who.source_id, who.locator, who.basis

    used = []
    if container.volume_low_ml is not None or container.volume_high_ml is not None:
        of = "whole tray" if container.volume_of == "tray" else container.method_id.replace("tray", "cell")
        used.append(
            Used(f"{name}volume of a {of}", container.volume_low_ml, container.volume_high_ml, "ml", *said("volume"))
        )
    if container.units_per_tray is not None:
        used.append(
            Used(f"{name}units in a tray", container.units_per_tray, container.units_per_tray, "units", *said("units"))
        )
    own = own_figures(container)
    for what in _OF_A_PIECE:
        if what in own:
            low, high, unit = own[what]
            used.append(Used(name + what, low, high, unit, *said(what)))
        elif what != "breakage" or "life" not in own:
            found = materials.figures(what, method=container.method_id)
            used += [_used(name, each) for each in found if each.build == build]
    return used


def _used(name: str, figure: Figure) -> Used:
    low, high, unit = figure.alike
    return Used(
        name + figure.what, low, high, unit.replace("USD_per_piece", "USD").replace("_", " "), figure.figure_id, figure.source_id,
        figure.locator, figure.basis, figure.condition,
    )  # fmt: skip


def water_litres(method: str, mix: Pair | None, materials: Materials) -> Pair | None:
    """Water that wets so much loose mix before it is filled; None where no figure is recorded for the method.

    For blocks the printed litres to a litre of mix. For cells, from none (the mix is damp enough) to what brings bone-dry
    mix of the heaviest printed weight to the wettest printed moisture: how dry a bag is nobody knows.
    """
    if mix is None:
        return None
    if method == "block":
        water = materials.span("block_water", method="block")
        return reckon.wetting_water_litres(mix, water.ends) if water else None
    moisture, weight = (
        materials.span("fill_moisture", medium="mix in cells"),
        materials.span("bulk_density", medium="peat mixes"),
    )
    if method not in ("tray", "towel") or moisture is None or weight is None or weight.unit != "g_per_litre":
        return None
    return 0.0, reckon.moistening_water_litres(mix[1], weight.ends, 0, moisture.ends)[1]


def minutes_of(method: str, units: int | None, trays: int | None, materials: Materials) -> tuple[Minutes, ...]:
    """Each labour figure of the method for so many units or begun trays; never added up, they cover unlike work."""
    found = []
    for figure in materials.figures("labour", method=method):
        ends = [end for end in (figure.low, figure.high) if end is not None]
        per_unit = figure.unit == "minutes_per_200_units"
        count = units if per_unit else trays if figure.unit == "seconds_per_tray" else None
        if count is None or not ends:
            continue
        times = count / (_UNITS_IN_A_LABOUR_FIGURE if per_unit else 60)
        found.append(
            Minutes(figure.figure_id, figure.condition or "", min(ends) * times, max(ends) * times, figure.source_id, figure.basis)
        )  # fmt: skip
    return tuple(found)


def recipe_named(recipe_id: str, materials: Materials) -> Recipe:
    """The recipe of that id, or of that name. Raises InputError with what there is."""
    for recipe in materials.media.values():
        if recipe_id.strip().casefold() in (recipe.recipe_id, recipe.name.casefold()):
            return recipe
    raise InputError(f"no mix is called {recipe_id!r}", found=recipe_id, allowed=", ".join(materials.media))


def ingredients_of(recipe: Recipe, mix: Pair | None, materials: Materials) -> tuple[Ingredient, ...]:
    """What goes into so much loose mix, with the loss on mixing; an amount that nobody printed is None."""
    if mix is None:
        return ()
    loss = materials.span("mixing_loss", medium="any mix")
    lost = (loss.low / 100, loss.high / 100) if loss else (0.0, 0.0)
    least, most = (
        reckon.ingredient_litres(litres, recipe.parts, share) if recipe.parts else {}
        for litres, share in zip(mix, lost, strict=True)
    )
    found = []
    for each in recipe.components:
        amount: Pair | None = None
        unit = "litres"
        if each.parts is not None:
            amount = (least[each.component], most[each.component])
        elif each.amount_g_per_litre is not None:
            grams = each.amount_g_per_litre
            amount, unit = (reckon.amendment_grams(mix[0], grams), reckon.amendment_grams(mix[1], grams)), "grams"
        found.append(Ingredient(each.component, amount, unit, each.source_id, each.basis))
    return tuple(found)
