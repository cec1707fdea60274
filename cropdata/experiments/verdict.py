"""The verdict of a trial in plain words, put together from its figures."""

from __future__ import annotations

import math

from cropdata.experiments.power import LEVEL, MOST_NEEDED
from cropdata.experiments.results import Comparison, MethodResult, Pair
from cropdata.experiments.trial_records import counted


def p_words(value: float) -> str:
    """A p-value as far as it is worth printing."""
    return "below 0.001" if value < 0.001 else f"{value:.3f}"


def needed_words(number: float, thing: str) -> str:
    """A number that is needed; `inf` is more than was searched."""
    return counted(int(number), thing) if math.isfinite(number) else f"more than {MOST_NEEDED} {thing}s"


def _number(value: float) -> str:
    return f"{value:.1f}".rstrip("0").rstrip(".")


def _share(item: MethodResult) -> str:
    words = f"{item.method}: {item.emerged} of {item.sown} came ({100 * item.share_low:.0f} to {100 * item.share_high:.0f} %)"
    if item.destroyed:
        words += f", {item.destroyed} lost in handling"
    if item.median_days is None:
        return f"{words}, fewer than half, so no middle day"
    return f"{words}, half of all sown by day {_number(item.median_days)}"


def _pair_words(pair: Pair) -> str:
    """The tested score says who is ahead; middle days and shares say how, and may point either way."""
    ahead, behind = (pair.first, pair.second) if pair.ahead == pair.first else (pair.second, pair.first)
    sign = 1 if pair.ahead == pair.first else -1
    how = []
    if pair.difference_days is not None and abs(pair.difference_days) >= 0.05:
        days = sign * pair.difference_days
        how.append(f"half of all sown {counted(abs(float(days)), 'day')} {'sooner' if days > 0 else 'later'}")
    points = round(-100 * sign * pair.difference_share)
    if points:
        how.append(f"{counted(abs(points), 'point')} {'more' if points > 0 else 'fewer'} came")
    p_value = f"p {p_words(pair.p_corrected)} after correction"
    return f"{ahead} came sooner or more than {behind} ({'; '.join([*how, p_value])})"


def verdict_of(result: Comparison) -> str:
    """Sentences: what came, what differs, what cannot be told, what the next trial needs."""
    parts = ["; ".join(_share(item) for item in result.methods) + "."]
    settled = [pair for pair in result.pairs if pair.p_corrected <= LEVEL]
    about = {
        "trays": "",
        "seeds within trays": " That is about seeds within these trays.",
        "these seeds in these trays": " That is about these seeds in these trays: it cannot tell a method from its tray.",
    }[result.permuted]
    if settled:
        parts.append("; ".join(_pair_words(pair) for pair in settled) + "." + about)
        rest = len(result.pairs) - len(settled)
        if rest:
            parts.append(f"The other {'pair is' if rest == 1 else f'{rest} pairs are'} not told apart.")
    elif result.p_value <= LEVEL:
        parts.append(
            f"Taken together the methods are not alike (p {p_words(result.p_value)}), but no pair is settled.{about}"
        )
    else:
        parts.append(f"No difference is shown (p {result.p_value:.2f}): that is not the same as none.{about}")
    parts += _health(result)
    parts.append(_could(result))
    extra = [cause for cause in result.confounded if "in one tray" not in cause]
    if extra:
        parts.append(f"Mind: {'; '.join(extra)}.")
    parts.append(_next(result))
    return " ".join(parts)


def _health(result: Comparison) -> list[str]:
    told = [pair for pair in result.pairs if pair.score_p_corrected is not None]
    if not told:
        return []
    marks = {item.method: item.mean_score for item in result.methods}
    apart = [
        f"{pair.first} {marks[pair.first]:.1f} and {pair.second} {marks[pair.second]:.1f} (p {p_words(pair.score_p_corrected)} after correction)"
        for pair in told
        if pair.score_p_corrected is not None and pair.score_p_corrected <= LEVEL
    ]
    return [f"Health differs: {'; '.join(apart)}." if apart else "No difference in health is shown."]


def _size(result: Comparison, pair: Pair | None = None) -> str:
    """How much stood against how much: 7 trays a method, 3 to 40 seeds a method."""
    items = [item for item in result.methods if pair is None or item.method in (pair.first, pair.second)]
    by_tray = result.permuted == "trays"
    numbers = sorted({item.units if by_tray else item.sown for item in items})
    thing = "tray" if by_tray else "seed"
    words = counted(numbers[0], thing) if len(numbers) == 1 else f"{numbers[0]} to {numbers[-1]} {thing}s"
    return f"{words} a method"


def _could(result: Comparison) -> str:
    if result.lowest_p > LEVEL:
        return (
            f"{_size(result)} cannot settle a pair whatever happens: the smallest p that any outcome could give is "
            f"{result.lowest_p:.2f}."
        )
    if math.isinf(result.detectable_days):
        return f"With {_size(result)} of which so few come, lateness alone, however great, would not have been found in four trials of five."
    words = f"With {_size(result)} a difference of {counted(float(result.detectable_days), 'day')} would have been found in four trials of five"
    never = [f"{pair.first} and {pair.second}" for pair in result.pairs if math.isinf(pair.detectable_days)]
    return f"{words}{f', except between {_listed(never)}' if never else ''}."


def _listed(names: list[str]) -> str:
    return "; between ".join(names)


def _next(result: Comparison) -> str:
    shared = result.permuted == "seeds within trays"
    trays = f"{needed_words(result.units_needed, 'tray')}{'' if shared else ' a method'}"
    trays += f" with {counted(result.seeds_a_unit, 'seed')} {'of each method' if shared else 'each'}"
    if result.permuted == "trays" and result.in_rounds:
        trays += ", in rounds as here"
    return (
        f"To find {counted(float(result.target_days), 'day')} in four trials of five next time: {trays}; or "
        f"{needed_words(result.seeds_needed, 'seed')} a method, each dealt a place of its own."
    )
