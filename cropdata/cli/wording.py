"""How figures, ranges and tables are written for people."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from cropdata.catalog import GerminationTemperature, Range
from cropdata.tabular.units import figure

RANK_WORDS = {
    "frost_tolerance": {1: "very tender", 2: "tender", 3: "half-hardy", 4: "hardy", 5: "very hardy"},
    "transplant_ease": {1: "easy", 2: "with care", 3: "not advised"},
}
TRAIT_WORDS = {
    "sowing_depth": "Sowing depth",
    "germination_temperature": "Germination temperature",
    "days_to_emergence": "Days to emergence",
    "weeks_before_last_frost": "Sow under cover, before last frost",
    "seed_longevity": "Seed keeps",
    "weeks_to_raise": "Weeks to raise under cover",
    "planting_out_weeks": "Plant out, from last frost",
    "direct_sowing_weeks": "Sow in place, from last frost",
    "frost_tolerance": "Frost tolerance",
    "frost_damage": "Damaged by cold",
    "seeds_per_gram": "Seeds per gram",
    "germination_standards": "Legal minimum germination",
    "germination_tests": "Official test, final count",
    "spacing_in_row": "Plants apart in the row",
    "spacing_between_rows": "Rows apart",
    "transplant_ease": "Transplanting",
    "autumn_sowing_weeks": "Last sowing in place for autumn",
    "hermetic_moisture": "To seal airtight, moisture at most",
}


def _signed(value: float) -> str:
    if round(value, 1) == 0:
        return "0"
    return f"{figure(abs(value))} {'before' if value < 0 else 'after'}"


def _weeks_from_frost(answer: Range) -> str:
    if answer.open_high and answer.low == answer.high == 0:
        return "after the last frost"
    if answer.low < 0 and round(answer.high, 1) <= 0:
        return f"{pair(-answer.high, -answer.low)} weeks before"
    if answer.low >= 0:
        return f"{pair(answer.low, answer.high)} weeks after" if round(answer.high, 1) != 0 else "at the last frost"
    return f"{_signed(answer.low)} to {_signed(answer.high)} (weeks)"


def pair(low: float, high: float) -> str:
    """Two ends as one text, one figure where they are written alike."""
    one, other = figure(low), figure(high)
    return one if one == other else f"{one}–{other}"


def range_words(trait: str, answer: Range) -> str:
    """The answer of a range with its unit."""
    if trait in ("planting_out_weeks", "direct_sowing_weeks"):
        return _weeks_from_frost(answer)
    if trait in RANK_WORDS:
        low, high = RANK_WORDS[trait][round(answer.low)], RANK_WORDS[trait][round(answer.high)]
        return low if low == high else f"{low} {'to' if trait == 'frost_tolerance' else 'or'} {high}"
    if trait == "sowing_depth" and answer.high == 0:
        return "on the surface"
    unit = {"per gram": "", "°C": " °C", "%": " %"}.get(answer.unit, f" {answer.unit}")
    text = pair(answer.low, answer.high)
    if answer.unit == "°C" and answer.low < 0:
        text = (
            figure(answer.low)
            if figure(answer.low) == figure(answer.high)
            else f"{figure(answer.low)} to {figure(answer.high)}"
        )
    if answer.open_low and not answer.open_high:
        text = f"{'below' if trait == 'frost_damage' else 'up to'} {figure(answer.high)}"
    elif answer.open_high and not answer.open_low:
        text = f"{figure(answer.low)} or more"
    if text == "1" and unit.endswith("s"):
        unit = unit.removesuffix("s")
    return text + unit + (" before the first frost" if trait == "autumn_sowing_weeks" else "")


def temperature_words(answer: GerminationTemperature) -> str:
    """Minimum, best range and maximum in one text."""
    parts = []
    if answer.minimum is not None:
        parts.append(f"from {answer.minimum:.0f}")
    if answer.optimum_low is not None and answer.optimum_high is not None:
        parts.append(f"best {pair(answer.optimum_low, answer.optimum_high)}")
    if answer.maximum is not None:
        parts.append(f"up to {answer.maximum:.0f}")
    return ", ".join(parts) + " °C"


def sureness(answer: Range | GerminationTemperature) -> str:
    """How sure: number of lineages, agreement, kind of statement."""
    if isinstance(answer, GerminationTemperature):
        lineages = max(part.lineages for part in answer.parts)
    else:
        lineages = answer.lineages
    basis = {
        "published": "",
        "from_memory": ", from memory",
        "common_practice": ", common practice",
        "derived": ", reckoned",
    }[answer.basis]
    words = {"single source": "1 source", "agree": f"{lineages} sources agree", "partly": f"{lineages} sources, partly agree",
             "disagree": f"{lineages} sources disagree"}[answer.agreement]  # fmt: skip
    inherited = f", from {answer.inherited_from}" if answer.inherited_from else ""
    return words + basis + inherited + layer_words(answer)


def layer_words(answer: Range | GerminationTemperature) -> str:
    """The layer that an answer comes from, with file and row; nothing for the release."""
    if answer.layer == "release":
        return ""
    if not answer.layer_rows:
        return f", layer {answer.layer}"
    first, *others = answer.layer_rows
    return f", layer {first}" + (f" and {len(others)} more" if others else "")


def columns(rows: Sequence[Sequence[str]], *, indent: str = "", gap: str = "  ") -> list[str]:
    """Rows as aligned lines; the last column is not padded."""
    if not rows:
        return []
    widths = [max(len(row[number]) for row in rows) for number in range(len(rows[0]))]
    return [
        (indent + gap.join(cell.ljust(width) for cell, width in zip(row, widths, strict=True))).rstrip() for row in rows
    ]


def wrapped(text: str, width: int = 100, *, indent: str = "", hang: str = "") -> list[str]:
    """A sentence broken into lines."""
    import textwrap

    return textwrap.wrap(text, width, initial_indent=indent, subsequent_indent=hang or indent)


def section(title: str, sentences: Iterable[str]) -> list[str]:
    """A title and its sentences as points, after a blank line; nothing where there are none."""
    found = [line for sentence in sentences for line in wrapped(f"- {sentence}", 120, indent="  ", hang="    ")]
    return ["", title, *found] if found else []
