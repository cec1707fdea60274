"""`cropdata methods --steps`: how each way is done, what is known of its pieces and mixes; as text and as JSON."""

from __future__ import annotations

import math
from typing import Any

from cropdata.catalog import Catalog, Crop
from cropdata.catalog.material_records import Figure, Method
from cropdata.cli.wording import section, wrapped
from cropdata.methods import Comparison, Option
from cropdata.methods.comparison import Used
from cropdata.methods.trading import figure, label

_DOING = {
    "first_check": "First look", "check_interval": "Then", "move_root_length": "Root at the move", "move_to_shoot": "From the move to the shoot",
    "broken_roots": "Roots broken", "squeeze_drops": "Squeezed hard", "block_water": "Water", "pressing": "Pressed", "usable": "Usable",
    "usable_when_set": "Usable",
}  # fmt: skip
_OF_MIXES = {
    "fill_moisture": "Moisture for filling", "peat_water": "Water", "settling": "Settling", "pressing": "Packing", "water_held": "Water held",
    "air_space": "Air held", "bulk_density": "Dry weight", "least_mix": "Least for a plant", "mixing_loss": "Lost in mixing",
}  # fmt: skip
_ORDER = ("price", "life", "breakage", "plastic")
_BENCH = (15, 20, 25)  # °C: indoors, cool to warm
_GENERAL = (
    "First look, root and shoot below hold for seed in general, or for the crop that they name, not for this one."
)


def steps_text(catalog: Catalog, crop: Crop, comparison: Comparison) -> list[str]:
    """What it is reckoned with, the mixes, and each usable way step by step."""
    lines = section(
        "What it is reckoned with (price, life, breakage a year and plastic of one piece):", _pieces(comparison)
    )
    lines += section("Mixes, by parts of volume:", _mixes(catalog))
    for method in _usable(catalog, comparison):
        lines += ["", f"{method.name}:"]
        for number, step in enumerate(method.steps.split("; "), start=1):
            lines += wrapped(f"{number}. {step}", 120, indent="  ", hang="     ")
        for title, text in (("Water", method.watering), ("Roots", f"{method.roots.replace('_', ' ')}, {method.roots_when}"),
                            ("Used again", method.reuse), ("Lost", method.waste), ("Needs", method.needs)):  # fmt: skip
            lines += wrapped(f"{title}: {text}", 120, indent="  ", hang="     ")
        told = [*(_towel(crop) if method.method_id == "towel" else ()), *map(_told, _figures(catalog, method))]
        lines += [line for each in told for line in wrapped(each, 120, indent="  ", hang="     ")]
    return lines


def steps_object(catalog: Catalog, crop: Crop, comparison: Comparison) -> dict[str, Any]:
    """The same for JSON: `how` by method, `recipes`, `on_mixes`."""
    how = {
        method.method_id: method.as_dict() | {
            "steps": method.steps.split("; "), "figures": [each.as_dict() for each in _figures(catalog, method)],
            "for_this_crop": list(_towel(crop)) if method.method_id == "towel" else [],
        }
        for method in _usable(catalog, comparison)
    }  # fmt: skip
    recipes = [
        {"recipe_id": recipe.recipe_id, "name": recipe.name, "use": recipe.use, "components": [each.as_dict() for each in recipe.components]}
        for recipe in catalog.media.values()
    ]  # fmt: skip
    return {"how": how, "recipes": recipes, "on_mixes": [each.as_dict() for each in _on_mixes(catalog)]}


def who(source_id: str, basis: str) -> str:
    """Who says so: the source, or that nobody printed it."""
    return source_id if basis == "published" else basis.replace("_", " ")


def sources(ids: tuple[str, ...]) -> str:
    """Up to three sources, and how many more."""
    return ", ".join(ids[:3]) + (f" and {len(ids) - 3} more" if len(ids) > 3 else "")


def named(option: Option) -> str:
    """An option's name at the head of a line."""
    name = label(option)
    return name[0].upper() + name[1:]


def _usable(catalog: Catalog, comparison: Comparison) -> list[Method]:
    shown = dict.fromkeys(option.method_id for option in comparison.options if option.fit.word != "not_done")
    return [catalog.methods[name] for name in shown]


def _pieces(comparison: Comparison) -> list[str]:
    """One sentence an option: size of its cells, then price, life, breakage and plastic of each kind of piece."""
    return list(dict.fromkeys(_piece(option) for option in comparison.options if option.reckoned_with))


def _piece(option: Option) -> str:
    of: dict[str, list[Used]] = {}
    for used in option.reckoned_with:
        name, _, what = used.what.rpartition(": ")
        if name != "mix" and not what.startswith(("pressing", "usable")):
            of.setdefault(name, []).append(used)
    parts = []
    for name, figures in of.items():
        known = {used.what.rpartition(": ")[2]: _ends(used) for used in figures}
        size = [f"{text} {key.removeprefix('volume of ')}" for key, text in known.items() if key.startswith("volume")]
        if "units in a tray" in known:
            size.append(f"{known['units in a tray'].removesuffix(' units')} in a tray")
        piece = [f"{each} {known.get(each, 'not recorded')}" for each in _ORDER if each in known or each != "breakage"]
        parts.append(f"{name + ': ' if name else ''}{', '.join([*size, *piece])}")
    said = tuple(dict.fromkeys(who(used.source_id, used.basis) for figures in of.values() for used in figures))
    return f"{named(option)}: {'; '.join(parts)} [{sources(said)}]"


def _ends(used: Used) -> str:
    low, high = used.low, used.high
    if low is None or high is None:
        text = f"{figure(low)} or more" if low is not None else f"up to {figure(high or 0.0)}"
    else:
        text = figure(low) if low == high else f"{figure(low)}–{figure(high)}"
    condition = f" ({used.condition})" if used.condition else ""
    return f"{text} {used.unit.replace('percent a year', '%')}{condition}"


def _figures(catalog: Catalog, method: Method) -> list[Figure]:
    """The figures on doing it."""
    return [each for what in _DOING for each in catalog.materials.figures(what, method=method.method_id)]


def _told(each: Figure) -> str:
    title = _DOING[each.what]
    return (
        f"{title}: {each.printed}{f' ({each.condition})' if each.condition else ''} [{who(each.source_id, each.basis)}]"
    )


def _towel(crop: Crop) -> tuple[str, ...]:
    """What is recorded of this crop's root, or that nothing is; and when an official test looks."""
    told = []
    estimate = crop.days_to_radicle(list(_BENCH))
    import numpy as np

    found = [] if estimate is None else [
        f"{figure(float(first))} to {figure(float(last))} days at {warmth} °C"
        for warmth, first, last, beyond in zip(_BENCH, *map(np.atleast_1d, (estimate.first, estimate.last, estimate.extrapolated)), strict=True)
        if not beyond and math.isfinite(last)
    ]  # fmt: skip
    if estimate is not None and found:
        told.append(
            f"{crop.name}'s root shows, first to last seed: {', '.join(found)}; look from the first of these days on [{sources(estimate.sources)}]"
        )
    else:
        told.append(f"How soon the root of {crop.name.lower()} shows is not recorded.")
    counts = [
        row
        for row in crop.evidence("germination_tests")
        if not row["set_aside"] and row["final_count_days"] is not None
    ]
    if counts:
        row = counts[0]
        first_day = row["first_count_days"]
        first = f"first on day {float(str(first_day)):g}, " if first_day is not None else ""
        told.append(
            f"An official test of it counts seedlings, not roots: {first}last on day {float(str(row['final_count_days'])):g} "
            f"({row['printed']}) [{row['source_id']}]"
        )
    return (*told, _GENERAL)


def _on_mixes(catalog: Catalog) -> list[Figure]:
    return [each for what in _OF_MIXES for each in catalog.materials.figures(what) if each.medium]


def _mixes(catalog: Catalog) -> list[str]:
    """The recipes by parts, and what is printed of wetting, settling and weight."""
    told = []
    for recipe in catalog.media.values():
        most_first = sorted(recipe.parts.items(), key=lambda each: -each[1])
        parts = " : ".join(f"{amount:g} {name}" for name, amount in most_first)
        told.append(
            f"{recipe.name} ({(recipe.use or 'general').replace('_', ' ')}; --mix {recipe.recipe_id}): {parts} [{sources(recipe.sources)}]"
        )
    return told + [
        f"{_OF_MIXES[each.what]}, {each.medium}: {each.printed}{f' ({each.condition})' if each.condition else ''} "
        f"[{who(each.source_id, each.basis)}]"
        for each in _on_mixes(catalog)
    ]
