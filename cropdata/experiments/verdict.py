"""The verdict of a trial in plain words, put together from its figures."""

from __future__ import annotations

import math

from cropdata.experiments.results import Comparison, MethodResult, Pair

LEVEL = 0.05


def _days(value: float) -> str:
    return f"{value:.1f}".rstrip("0").rstrip(".")


def _share(item: MethodResult) -> str:
    return (
        f"{item.method}: {item.emerged} of {item.sown} came ({100 * item.share_low:.0f} to {100 * item.share_high:.0f} %)"
        + (
            f", half of all sown by day {_days(item.median_days)}"
            if item.median_days is not None
            else ", fewer than half, so no middle day"
        )
    )


def _pair_words(pair: Pair) -> str:
    words = f"{pair.first} and {pair.second} differ (p {pair.p_corrected:.3f} after correction)"
    if pair.difference_days is not None and abs(pair.difference_days) >= 0.05:
        sooner, later = (pair.first, pair.second) if pair.difference_days > 0 else (pair.second, pair.first)
        words = f"{sooner} came {_days(abs(pair.difference_days))} days sooner than {later} (p {pair.p_corrected:.3f} after correction)"
    elif abs(pair.difference_share) > 0:
        more = pair.second if pair.difference_share > 0 else pair.first
        words = f"{more} brought more up, by {100 * abs(pair.difference_share):.0f} points (p {pair.p_corrected:.3f} after correction)"
    return words


def verdict_of(result: Comparison) -> str:
    """Sentences: what came, what differs, what cannot be told, what the next trial needs."""
    parts = ["; ".join(_share(item) for item in result.methods) + "."]
    settled = [pair for pair in result.pairs if pair.p_corrected <= LEVEL]
    about = (
        ""
        if result.permuted == "trays"
        else " That is about these seeds in these trays: it cannot tell a method from its tray."
    )
    if settled:
        parts.append("; ".join(_pair_words(pair) for pair in settled) + "." + about)
        rest = len(result.pairs) - len(settled)
        if rest:
            parts.append(f"The other {'pair is' if rest == 1 else f'{rest} pairs are'} not told apart.")
    elif result.p_value <= LEVEL:
        parts.append(
            f"Taken together the methods are not alike (p {result.p_value:.3f}), but no pair is settled.{about}"
        )
    else:
        parts.append(f"No difference is shown (p {result.p_value:.2f}): that is not the same as none.{about}")
    parts.append(_could(result))
    extra = [cause for cause in result.confounded if "one tray" not in cause]
    if extra:
        parts.append(f"Mind: {'; '.join(extra)}.")
    parts.append(
        f"To find {_days(result.target_days)} days next time: {result.seeds_needed} seeds a method at least, in {result.units_needed} trays a method."
    )
    return " ".join(parts)


def _could(result: Comparison) -> str:
    number = min(item.units if result.permuted == "trays" else item.sown for item in result.methods)
    thing = "trays" if result.permuted == "trays" else "seeds"
    if result.lowest_p > LEVEL:
        return (
            f"{number} {thing} a method cannot settle a pair whatever happens: the smallest p that any outcome could give is "
            f"{result.lowest_p:.2f}."
        )
    if math.isinf(result.detectable_days):
        return f"With so few that came, {number} {thing} a method could not show any difference in days."
    return f"With {number} {thing} a method a difference of {_days(result.detectable_days)} days would have been found in four trials of five."
