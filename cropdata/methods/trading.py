"""Trade-offs between options in plain words: what one gains and what one pays for it. Nothing is recommended."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from cropdata.methods.comparison import LOSSES_UNKNOWN, Option, Pair


def figure(value: float) -> str:
    """A number as a person would write it: two digits that count, whole from ten up."""
    if value >= 10:
        return f"{value:.0f}"
    return f"{value:.2g}" if value >= 0.1 or value == 0 else f"{value:.1g}"


def span(pair: Pair) -> str:
    """A pair in words, one figure where both ends are written alike."""
    low, high = figure(pair[0]), figure(pair[1])
    return low if low == high else f"{low} to {high}"


def label(option: Option) -> str:
    """An option's name in a sentence."""
    name = option.method.partition(",")[0].lower()
    if option.method_id == "in_place":
        return "sown where it grows"
    if option.method_id == "towel":
        name = f"{name}, then {(option.container or '').lower()}"
    elif option.container:
        name = option.container.lower()
    return f"{name}, {option.build}" if option.build and option.build != "tool" else name


def trade_offs(options: Iterable[Option]) -> tuple[str, ...]:
    """Sentences that hold the options against each other; those that are not done are left out."""
    usable = [option for option in options if option.fit.word != "not_done"]
    if any(option.at_least for option in usable):  # what it takes at least is not held against what it takes
        return tuple(filter(None, [_roots(usable)]))
    told = [
        _ends(usable, "Money in the first year", lambda option: option.first_year, "dollars"),
        _ends(usable, "Money a year once pieces are used up and replaced", lambda option: option.a_year, "dollars"),
        _thick_or_thin(usable),
        _ends(usable, "Loose mix", lambda option: option.mix_litres, "litres"),
        _ends(
            usable, "Plastic for each plant, over the seasons that it serves", lambda option: option.plastic_g, "grams"
        ),
        _sizes(usable),
        _roots(usable),
        _seeds(usable),
    ]
    return tuple(sentence for sentence in told if sentence)


def _unit(options: list[Option], unit: str) -> str:
    if unit != "dollars":
        return unit
    currencies = {option.currency for option in options if option.currency}
    return (
        {"USD": "US dollars"}.get(found := "".join(currencies), found)
        if len(currencies) == 1
        else "each in its own currency"
    )


def _ends(options: list[Option], what: str, of: Callable[[Option], Pair | None], unit: str) -> str | None:
    """The option with the least and the one with the most, by the middle of their ranges; told whether the ranges meet."""
    known = [(pair, option) for option in options if (pair := of(option)) is not None and option.container_id]
    if len(known) < 2 or (unit == "dollars" and len({option.currency for _, option in known}) > 1):
        return None
    known.sort(key=lambda each: each[0][0] + each[0][1])
    (least, cheap), (most, dear) = known[0], known[-1]
    meets = "; the ranges meet, so the figures do not tell them apart" if least[1] >= most[0] else ""
    return (
        f"{what}: from {span(least)} {_unit(options, unit)} ({label(cheap)}) up to {span(most)} ({label(dear)}){meets}."
    )


def _thick_or_thin(options: list[Option]) -> str | None:
    """What a lasting piece costs more at first and saves later."""
    for thin in options:
        for thick in options:
            same = (thin.method_id, thin.container_id) == (thick.method_id, thick.container_id)
            if not same or (thin.build, thick.build) != ("thin", "thick") or thin.method_id == "towel":
                continue
            if thin.first_year and thick.first_year and thin.a_year and thick.a_year:
                unsure = " The ranges meet: price and care decide." if thick.a_year[1] >= thin.a_year[0] else ""
                return (
                    f"Thin or thick: {label(thin)} costs {span(thin.first_year)} at first and {span(thin.a_year)} a year; {label(thick)} "
                    f"{span(thick.first_year)} and {span(thick.a_year)}, mix included.{unsure}"
                )
    return None


def _sizes(options: list[Option]) -> str | None:
    """Small cells take less mix and room, large ones hold longer."""
    trays = {
        option.container_id: option
        for option in options
        if option.method_id == "tray" and option.mix_litres and option.stay
    }
    if len(trays) < 2:
        return None
    by_mix = sorted(trays.values(), key=lambda option: option.mix_litres or (0.0, 0.0))
    small, large = by_mix[0], by_mix[-1]
    assert small.mix_litres and large.mix_litres
    return (
        f"Small or large cells: {(small.container or '').lower()} takes {span(small.mix_litres)} litres of mix in {small.trays} "
        f"{'tray' if small.trays == 1 else 'trays'} and holds {stay_words(small)}; {(large.container or '').lower()} takes "
        f"{span(large.mix_litres)} in {large.trays} and holds {stay_words(large)}."
    )


def stay_words(option: Option) -> str:
    """How long the crop may stay in it."""
    stay = option.stay
    if stay is None or (stay.safe_weeks is None and stay.limit_weeks is None):
        return "it is not known how long"
    if stay.limit_weeks is None:
        return f"at least {figure(stay.safe_weeks or 0.0)} weeks"
    if stay.safe_weeks is None:
        return f"at most {figure(stay.limit_weeks)} weeks"
    return f"{span((stay.safe_weeks, stay.limit_weeks))} weeks" + (" (sources disagree)" if stay.disagree else "")


def _roots(options: list[Option]) -> str | None:
    bare = list(dict.fromkeys(option.method.partition(",")[0].lower() for option in options if option.bare_moves[1]))
    whole = list(
        dict.fromkeys(
            option.method.partition(",")[0].lower()
            for option in options
            if not option.bare_moves[1] and option.container_id
        )
    )
    if not bare or not whole:
        return None
    return f"Roots: {' and '.join(bare)} move the bare root; {', '.join(whole)} move it only within its ball."


def _seeds(options: list[Option]) -> str | None:
    counted = {option.method.partition(",")[0].lower(): option.seeds for option in options if option.seeds is not None}
    if len(set(counted.values())) < 2:
        return None
    least, most = min(counted, key=counted.__getitem__), max(counted, key=counted.__getitem__)
    without = dict.fromkeys(
        option.method.partition(",")[0].lower() for option in options
        if option.seeds is not None and (option.method_id == "in_place" or LOSSES_UNKNOWN in option.unknown)
    )  # fmt: skip
    losses = "losses of the method included" + (
        f", save where none are recorded ({', '.join(without)})" if without else ""
    )
    return f"Seed: from {counted[least]} seeds ({least}) up to {counted[most]} ({most}), {losses}."
