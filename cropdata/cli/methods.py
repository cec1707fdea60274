"""`cropdata methods`: the ways of starting a crop beside each other, for so many plants and so much money."""

from __future__ import annotations

import json
from argparse import Namespace
from collections.abc import Iterable
from typing import Any

from cropdata.catalog import Catalog, open_catalog
from cropdata.catalog.material_records import Effect, MaterialCaution, Method
from cropdata.catalog.records import Record
from cropdata.cli.show import CAUTION
from cropdata.cli.wording import columns, wrapped
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
_DOING = {
    "first_check": "First look", "check_interval": "Then", "move_root_length": "Root at the move", "move_to_shoot": "From the move to the shoot",
    "broken_roots": "Roots broken", "squeeze_drops": "Squeezed hard", "block_water": "Water", "pressing": "Pressed", "usable": "Usable",
    "usable_when_set": "Usable",
}  # fmt: skip
_OF_MIXES = {
    "fill_moisture": "Moisture for filling", "peat_water": "Water", "settling": "Settling", "pressing": "Packing", "water_held": "Water held",
    "air_space": "Air held", "bulk_density": "Dry weight", "least_mix": "Least for a plant", "mixing_loss": "Lost in mixing",
}  # fmt: skip
_LEGEND = (
    "Cells: cells, blocks, pots or places in a flat. Holds: weeks that the plant may stay in it (5+: at least); perhaps: raising may take longer. "
    "Plastic: grams used up for a plant. Root: moved bare, or only within its ball. Money marked over, or perhaps over (over?), the budget; ? is not known."
)


def run(options: Namespace) -> int:
    """Print the comparison; exit status 0."""
    catalog = open_catalog(layers=options.layer)
    crop = catalog.crop(" ".join(options.crop))
    comparison = compare(
        catalog,
        crop,
        options.plants,
        budget=options.budget,
        germination=options.germination,
        seeds_per_cell=options.seeds_per_cell,
    )
    if options.json:
        print(json.dumps(_plain(comparison), indent=2, ensure_ascii=False))
    else:
        print("\n".join(_as_text(catalog, comparison, steps=options.steps)))
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


def _row(option: Option) -> tuple[str, ...]:
    root = "bare" if option.bare_moves[1] else "ball"
    budget = {"over": " over", "maybe": " over?", "within": "", None: ""}[option.budget]
    if option.method_id == "in_place":
        return (_name(option), _FITS[option.fit.word], _count(option.seeds), "–", "–", "–", "–", "–", "–", "–", "never")
    return (
        _name(option), _FITS[option.fit.word], _count(option.seeds), _count(option.units), _count(option.trays), _pair(option.mix_litres),
        _pair(option.first_year) + budget, _pair(option.a_year), _pair(option.plastic_g), _holds(option), root,
    )  # fmt: skip


def _head(comparison: Comparison) -> list[str]:
    rate = comparison.germination
    seed = "germination not known"
    if isinstance(rate, tuple):
        seed = f"{rate[0]} of {rate[1]} germinated"
    elif rate is not None:
        seed = f"germination {100 * rate:.0f} %, {comparison.germination_from}"
    weeks = f"; {_pair(comparison.raise_weeks)} weeks to raise" if comparison.raise_weeks else ""
    budget = "" if comparison.budget is None else f"; budget {figure(comparison.budget)}"
    text = f"{comparison.crop}, {comparison.plants} plants with {100 * comparison.confidence:.0f} % confidence ({seed}{weeks}{budget})"
    return wrapped(text, 120, hang="  ")


def _as_text(catalog: Catalog, comparison: Comparison, *, steps: bool) -> list[str]:
    usable = [option for option in comparison.options if option.fit.word != "not_done"]
    currencies = "/".join(dict.fromkeys(option.currency for option in usable if option.currency))
    header = (
        "way",
        "fits",
        "seeds",
        "cells",
        "trays",
        "mix l",
        f"{currencies} at first".strip(),
        "a year",
        "plastic",
        "holds",
        "root",
    )
    lines = [*_head(comparison), "", *columns([header, *(_row(option) for option in usable)]), *wrapped(_LEGEND, 120)]
    lines += _fits(comparison)
    lines += _section("What one pays for the other:", comparison.trade_offs)
    lines += _section("What trials found:", (_trial(effect) for effect in comparison.effects))
    lines += _section("Work, as printed:", (
        f"{catalog.methods[figure_.method_id or ''].name.partition(',')[0]}: {_pair((figure_.low or 0.0, figure_.high or figure_.low or 0.0))} "
        f"{_UNITS.get(figure_.unit, figure_.unit)}{f' ({figure_.condition})' if figure_.condition else ''} [{_who(figure_.source_id, figure_.basis)}]"
        for figure_ in comparison.work
    ))  # fmt: skip
    if steps:
        shown = dict.fromkeys(option.method_id for option in usable)
        lines += _mixes(catalog) + _steps(catalog, [catalog.methods[name] for name in shown])
    lines += _section("Not known:", comparison.unknown)
    lines += _section("Cautions:", _cautions(comparison.cautions))
    lines.append(f"  {CAUTION}")
    prices = {option.currency for option in usable if option.currency}
    if "USD" in prices:
        lines += ["", *wrapped("Prices are recalled, in US dollars, and stand in for your own: write those in a layer's containers.csv. "
                               "A life of trays without a source is common practice.", 120)]  # fmt: skip
    return [
        *lines,
        "",
        f"Data {comparison.data_version}. Where each figure comes from: --json, or datapackage/reference/material_figures.csv",
    ]


def _section(title: str, sentences: Iterable[str]) -> list[str]:
    found = [line for sentence in sentences for line in wrapped(f"- {sentence}", 120, indent="  ", hang="    ")]
    return ["", title, *found] if found else []


def _fits(comparison: Comparison) -> list[str]:
    """Why each method fits or not, methods with one reason together."""
    of: dict[tuple[str, str, tuple[str, ...]], list[str]] = {}
    for option in comparison.options:
        named = of.setdefault(option.fit, [])
        if option.method.partition(",")[0] not in named:
            named.append(option.method.partition(",")[0])
    return _section("Does it suit the crop:", (
        f"{', '.join(names)}: {_FITS[fit[0]]}; {fit[1]}{f' [{_sources(fit[2])}]' if fit[2] else ''}" for fit, names in of.items()
    ))  # fmt: skip


def _sources(sources: tuple[str, ...]) -> str:
    return ", ".join(sources[:3]) + (f" and {len(sources) - 3} more" if len(sources) > 3 else "")


def _who(source_id: str, basis: str) -> str:
    return source_id if basis == "published" else basis.replace("_", " ")


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
    return [f"{each.hazard}. {each.advice} [{_who(each.source_id, each.basis)}]" for each in first.values()]


def _steps(catalog: Catalog, methods: list[Method]) -> list[str]:
    lines = []
    for method in methods:
        lines += ["", f"{method.name}:"]
        for number, step in enumerate(method.steps.split("; "), start=1):
            lines += wrapped(f"{number}. {step}", 120, indent="  ", hang="     ")
        for title, text in (("Water", method.watering), ("Roots", f"{method.roots.replace('_', ' ')}, {method.roots_when}"),
                            ("Used again", method.reuse), ("Lost", method.waste), ("Needs", method.needs)):  # fmt: skip
            lines += wrapped(f"{title}: {text}", 120, indent="  ", hang="     ")
        lines += [line for each in _figures(catalog, method) for line in wrapped(each, 120, indent="  ", hang="     ")]
    return lines


def _figures(catalog: Catalog, method: Method) -> list[str]:
    """The figures on doing it, as printed; money, life and work stand elsewhere."""
    found = (each for what in _DOING for each in catalog.materials.figures(what, method=method.method_id))
    return [
        f"{_DOING[each.what]}: {each.printed}{f' ({each.condition})' if each.condition else ''} [{_who(each.source_id, each.basis)}]"
        for each in found
    ]


def _mixes(catalog: Catalog) -> list[str]:
    """The recipes by parts, and what is printed of wetting, settling and weight."""
    told = []
    for recipe in catalog.media.values():
        most_first = sorted(recipe.parts.items(), key=lambda each: -each[1])
        parts = " : ".join(f"{amount:g} {name}" for name, amount in most_first)
        told.append(
            f"{recipe.name} ({(recipe.use or 'general').replace('_', ' ')}): {parts} [{_sources(recipe.sources)}]"
        )
    for what, title in _OF_MIXES.items():
        told += [
            f"{title}, {each.medium}: {each.printed}{f' ({each.condition})' if each.condition else ''} [{_who(each.source_id, each.basis)}]"
            for each in catalog.materials.figures(what)
            if each.medium
        ]
    return _section("Mixes, by parts of volume:", told)
