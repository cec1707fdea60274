"""`cropdata methods`: the ways of starting a crop beside each other, for so many plants and so much money."""

from __future__ import annotations

import json
from argparse import Namespace
from collections.abc import Iterable, Iterator
from typing import Any

from cropdata.catalog import Catalog, Crop
from cropdata.catalog.material_records import Container, Effect, Figure, MaterialCaution
from cropdata.catalog.records import Record
from cropdata.cli.methods_steps import named, sources, steps_object, steps_text, who
from cropdata.cli.opening import crop_named, layer_objects, opened
from cropdata.cli.show import CAUTION
from cropdata.cli.wording import columns, section, wrapped
from cropdata.methods import Comparison, Option, compare
from cropdata.methods.trading import figure, stay_words

_FITS = {
    "yes": "yes",
    "with_care": "with care",
    "not_advised": "not advised",
    "not_done": "not done",
    "unknown": "not known",
}
_OUTCOMES = {
    "better": "better",
    "worse": "worse",
    "no_difference": "no difference found",
    "mixed": "now better, now not",
}
_UNITS = {
    "seconds_per_tray": "s a tray", "minutes_per_200_units": "min for 200",
}  # fmt: skip
_LEGEND = (
    "Cells: cells, blocks, pots or places in a flat. Holds: weeks that the plant may stay in it (5+: at least); perhaps: raising may take longer. "
    "Plastic: grams used up for a plant. Root: moved bare, or only within its ball. Money marked over, or perhaps over (over?), the budget; ? is not known."
)


def run(options: Namespace) -> int:
    """Print the comparison; exit status 0."""
    catalog = opened(options)
    crop = crop_named(catalog, options.crop)
    comparison = compare(
        catalog,
        crop,
        options.plants,
        budget=options.budget,
        germination=options.germination,
        seeds_per_cell=options.seeds_per_cell,
        currency=options.currency,
        recipe=options.mix,
    )
    if options.json:
        shown = _plain(comparison) | {"layers": layer_objects(catalog)}
        if options.steps:
            shown |= steps_object(catalog, crop, comparison)
        print(json.dumps(shown, indent=2, ensure_ascii=False))
    else:
        print("\n".join(_as_text(catalog, crop, comparison, steps=options.steps)))
    return 0


def _plain(value: Any) -> Any:
    """Named tuples and records as JSON objects, pairs as lists."""
    if isinstance(value, Record):
        return {name: _plain(each) for name, each in value.as_dict().items()}
    if hasattr(value, "_asdict"):
        return {name: _plain(each) for name, each in value._asdict().items()}
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    return value


def _pair(pair: tuple[float, float] | None) -> str:
    if pair is None:
        return "?"
    low, high = figure(pair[0]), figure(pair[1])
    return low if low == high else f"{low}–{high}"


def _count(number: int | None) -> str:
    return "?" if number is None else str(number)


def _name(option: Option) -> str:
    if option.method_id == "towel":
        name = f"Towel, {(option.container or 'cells').removeprefix('Tray of ').lower()}"
    else:
        name = option.container or option.method
    return f"{name}, {option.build}" if option.build and option.build != "tool" else name


def _holds(option: Option) -> str:
    stay = option.stay
    if stay is None or (stay.safe_weeks is None and stay.limit_weeks is None):
        return "?"
    text = stay_words(option).removesuffix(" (sources disagree)").replace(" weeks", "").replace(" to ", "–")
    if text.startswith("at least "):
        text = text.removeprefix("at least ") + "+"
    return text + {"yes": ", short", "maybe": ", perhaps", "no": "", None: ""}[option.outgrown]


def _row(option: Option, several: bool) -> tuple[str, ...]:
    """`several`: prices are in more than one currency, so each row names its own."""
    coin = f" {option.currency}" if several and option.currency and option.first_year else ""
    short = "" if option.mix_priced or not option.first_year else " +mix"
    root = "bare" if option.bare_moves[1] else "ball"
    budget = {"over": " over", "maybe": " over?", "within": "", None: ""}[option.budget]
    if option.method_id == "in_place":
        return (_name(option), _FITS[option.fit.word], _count(option.seeds), "–", "–", "–", "–", "–", "–", "–", "never")
    return (
        _name(option), _FITS[option.fit.word], _count(option.seeds), _count(option.units) + "+" * option.at_least, _count(option.trays), _pair(option.mix_litres),
        _pair(option.first_year) + coin + short + budget, _pair(option.a_year), _pair(option.plastic_g), _holds(option), root,
    )  # fmt: skip


def _head(comparison: Comparison) -> list[str]:
    rate = comparison.germination
    seed = "germination not known"
    if isinstance(rate, tuple):
        seed = f"{rate[0]} of {rate[1]} germinated"
    elif rate is not None:
        seed = f"germination {100 * rate:.0f} %, {comparison.germination_from}"
    weeks = f"; {_pair(comparison.raise_weeks)} weeks to raise" if comparison.raise_weeks else ""
    budget = "" if comparison.budget is None else f"; budget {figure(comparison.budget)} {comparison.currency}"
    sure = "" if rate is None else f" with {100 * comparison.confidence:.0f} % confidence"
    text = f"{comparison.crop}, {comparison.plants} plants{sure} ({seed}{weeks}{budget})"
    return wrapped(text, 120, hang="  ")


def _as_text(catalog: Catalog, crop: Crop, comparison: Comparison, *, steps: bool) -> list[str]:
    usable = [option for option in comparison.options if option.fit.word != "not_done"]
    currencies = tuple(dict.fromkeys(option.currency for option in usable if option.currency and option.first_year))
    several = len(currencies) > 1
    header = (
        "way", "fits", "seeds", "cells", "trays", "mix l", f"{'money' if several or not currencies else currencies[0]} at first",
        "a year", "plastic", "holds", "root",
    )  # fmt: skip
    rows = [header, *(_row(option, several) for option in usable)]
    gap = " " if several else "  "  # a currency in each row takes room
    lines = [*_head(comparison), "", *columns(rows, gap=gap), *wrapped(_LEGEND, 120)]
    if any(not option.mix_priced and option.first_year for option in usable):
        lines += wrapped("+mix: mix comes on top in both columns, its price in that currency is not known.", 120)
    if any(option.at_least for option in usable):
        lines += wrapped(
            "Cells marked +: as if all seed came up; the whole row is for so many, and it may take more.", 120
        )
    lines += _fits(comparison)
    lines += section("What one pays for the other:", comparison.trade_offs)
    lines += section("What trials found:", (_trial(effect) for effect in comparison.effects))
    lines += section("Water to wet the mix before it is filled:", _water(usable))
    lines += section("Work, as printed, and minutes for these plants (each a part of the work, no sum):", (
        f"{catalog.methods[each.method_id or ''].name.partition(',')[0]}: {_pair((each.low or 0.0, each.high or each.low or 0.0))} "
        f"{_UNITS.get(each.unit, each.unit)}{_minutes(each, usable)}{f' ({each.condition})' if each.condition else ''} [{who(each.source_id, each.basis)}]"
        for each in comparison.work
    ))  # fmt: skip
    if comparison.recipe_id:
        lines += section(
            f"Ingredients of {catalog.media[comparison.recipe_id].name}, loose, with what mixing loses:",
            _ingredients(usable),
        )
    if steps:
        lines += steps_text(catalog, crop, comparison)
    lines += section("Not known:", comparison.unknown)
    lines += section("Cautions:", _cautions(comparison.cautions))
    lines.append(f"  {CAUTION}")
    prices = {option.currency for option in usable if option.currency}
    if "USD" in prices:
        lines += ["", *wrapped("Prices are recalled, in US dollars, and stand in for your own: write those in a layer's containers.csv. "
                               "A life of trays without a source is common practice.", 120)]  # fmt: skip
    lines += _layers(catalog, usable)
    return [*lines, "", f"Data {comparison.data_version}. Where each figure comes from: --steps; row by row: --json"]


def _layers(catalog: Catalog, options: list[Option]) -> list[str]:
    """The layers in use, and the containers shown that are theirs, each with file and row."""
    if not catalog.layers:
        return []
    lines = [
        "",
        *wrapped(f"Laid over the release: {'; '.join(layer.label() for layer in catalog.layers)}.", 120, hang="  "),
    ]
    for name in dict.fromkeys(option.container_id for option in options if option.container_id):
        container = catalog.containers[name]
        if container.layer != "release":
            lines += wrapped(f"{container.name}: {_whose(catalog, container)}", 120, indent="  ", hang="    ")
    return lines


def _whose(catalog: Catalog, container: Container) -> str:
    """The layer and row that a container comes from; where several layers have a part in it, figure by figure."""
    of: dict[str, list[str]] = {}
    for what, said in catalog.materials.said(container).items():
        if said.layer != "release":
            of.setdefault(f"{said.layer}, {said.locator}", []).append(what)
    return next(iter(of)) if len(of) == 1 else "; ".join(f"{', '.join(names)} by {who}" for who, names in of.items())


def _containers(options: Iterable[Option]) -> dict[str, Option]:
    """One option for each method and container, whatever its make."""
    found: dict[str, Option] = {}
    for option in options:
        if option.container_id:
            found.setdefault(named(option._replace(build=None)), option)
    return found


def _water(options: list[Option]) -> Iterator[str]:
    known: dict[str, list[str]] = {}
    for name, option in _containers(options).items():
        text = "not recorded" if option.water_litres is None else f"{_pair(option.water_litres)} l"
        known.setdefault(text, []).append(name)
    for text, names in known.items():
        yield f"{'; '.join(names)}: {text}"
    if any(option.water_litres and option.method_id in ("tray", "towel") for option in options):
        yield "From 0: the mix may come damp enough; the high end is for bone-dry peat mix."


def _minutes(work: Figure, options: list[Option]) -> str:
    """Minutes for the number asked, from the least to the most of the method's options."""
    ends = [
        end for option in options for each in option.minutes if each.row == work.figure_id for end in (each.low, each.high)
    ]  # fmt: skip
    return f", here {_pair((min(ends), max(ends)))} min" if ends else ""


def _ingredients(options: list[Option]) -> Iterator[str]:
    for name, option in _containers(options).items():
        said = ", ".join(
            f"{each.component} " + (f"{_pair(each.amount)} {each.unit[0]}" if each.amount else "(amount not printed)")
            for each in option.ingredients
        )
        yield f"{name}: {said or 'the mix is not known'}"


def _fits(comparison: Comparison) -> list[str]:
    """Why each method fits or not, methods with one reason together."""
    of: dict[tuple[str, str, tuple[str, ...]], list[str]] = {}
    for option in comparison.options:
        named = of.setdefault(option.fit, [])
        if option.method.partition(",")[0] not in named:
            named.append(option.method.partition(",")[0])
    return section("Does it suit the crop:", (
        f"{', '.join(names)}: {_FITS[fit[0]]}; {fit[1]}{f' [{sources(fit[2])}]' if fit[2] else ''}" for fit, names in of.items()
    ))  # fmt: skip


def _trial(effect: Effect) -> str:
    note = f" ({effect.note})" if effect.note else ""
    return (
        f"{effect.treatment} against {effect.comparison}, {effect.measure}: {_OUTCOMES[effect.outcome]}; "
        f"{effect.finding}{note} [{effect.source_id}]"
    )


def _cautions(cautions: tuple[MaterialCaution, ...]) -> list[str]:
    first: dict[str, MaterialCaution] = {}
    for caution in cautions:
        first.setdefault(caution.applies_to, caution)
    return [f"{each.hazard}. {each.advice} [{who(each.source_id, each.basis)}]" for each in first.values()]
