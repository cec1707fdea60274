"""Raising and the season's signals in plain words, for `cropdata show`."""

from __future__ import annotations

from typing import Any

from cropdata.catalog import Catalog, Crop, Range
from cropdata.catalog.evidence import Evidence
from cropdata.cli.wording import columns, pair, sureness, wrapped
from cropdata.tabular.units import figure

_ASPECTS = {
    "day_warmth": "Warmth by day", "night_warmth": "Warmth by night", "warmth": "Warmth", "light": "Light a day",
    "first_feed": "First feed", "cells_per_tray": "Tray of", "pot_width": "Pots wide", "pot_on_height": "Pot on when tall",
    "longest_stay": "Not longer in its cell than", "harden_at_height": "Harden off when tall",
    "plant_at_leaves": "Plant out with", "plant_at_height": "Plant out when tall", "hardening": "Hardening off",
    "night_at_planting": "Plant out once nights stay at",
}  # fmt: skip
_SIGNALS = {
    "needs_cold": "Crops only after cold", "bolts_after_cold": "Bolts after cold", "bolts_in_heat": "Bolts in heat",
    "bolts_in_long_days": "Bolts in long days", "bulbs_at_day_length": "Bulbs by day length",
    "flowers_in_long_days": "Flowers by day length", "flowers_in_short_days": "Flowers by day length",
    "flowers_at_any_day_length": "Flowers by day length", "checked_by_cold": "Checked by cold", "first_crop": "First crop",
}  # fmt: skip
_LONG_HOURS = 72  # beyond it people think in days


def _ends(low: float, high: float, open_low: bool, open_high: bool, unit: str) -> str:
    if open_high and not open_low:
        return f"{figure(low)} {unit} or more"
    if open_low and not open_high:
        return f"at most {figure(high)} {unit}"
    return f"{pair(low, high)} {unit}"


def _amount(aspect: str, answer: Range) -> str:
    # Trays come in sizes: a middle one between two prints exists nowhere, so all of them are named.
    low, high = (answer.envelope_low, answer.envelope_high) if aspect == "cells_per_tray" else (answer.low, answer.high)
    return _ends(low, high, answer.open_low, answer.open_high, answer.unit)


def raising_lines(crop: Crop) -> list[str]:
    """The section on raising young plants; empty where nothing is recorded."""
    rows = [(_ASPECTS[aspect], _amount(aspect, answer), sureness(answer)) for aspect, answer in crop.raising.items()]
    return ["", "Raising, once it is up:", *columns(rows, indent="  ")] if rows else []


def season_lines(catalog: Catalog, crop: Crop) -> list[str]:
    """The section on cold, heat, day length and the first crop; empty where nothing is recorded."""
    told: dict[str, dict[str, list[str]]] = {}  # signal -> what is said -> who says it
    for row in _season_rows(catalog, crop):
        basis = "" if row["basis"] == "published" else f" ({str(row['basis']).replace('_', ' ')})"
        who = told.setdefault(str(row["signal"]), {}).setdefault(_saying(row), [])
        who.append(f"{row['source_id']}{basis}")
    lines = ["", "What cold, heat and day length do:"] if told else []
    for signal, sayings in told.items():
        lines.append(f"  {_SIGNALS[signal]}:")
        for saying, who in sayings.items():
            lines += wrapped(f"- {saying} [{', '.join(who)}]", indent="    ", hang="      ")
    return lines


def _season_rows(catalog: Catalog, crop: Crop) -> list[Evidence]:
    """Usable rows: by signal, then those with figures first, by day length and by how long it lasts."""
    field = catalog.descriptor.tables["season_signals"].field("signal")
    order = field.enum if field else ()
    rows = [row for row in crop.evidence("season_signals") if row["set_aside"] is None]
    return sorted(
        rows,
        key=lambda row: (
            order.index(str(row["signal"])) if row["signal"] in order else len(order), not any((_cold_or_heat(row), _daylight(row), _lasting(row))),
            row.day_hours_low or 0.0, row.low_days or 0.0,
        ),
    )  # fmt: skip


def _saying(row: Evidence) -> str:
    when = ", ".join(filter(None, (_cold_or_heat(row), _daylight(row), _lasting(row))))
    told = "; ".join(filter(None, (str(row["population"] or ""), when, str(row["stage"] or ""))))
    return f"{told}: {row['effect']}" if told else str(row["effect"])


def _cold_or_heat(row: Evidence) -> str:
    low, high = row.temperature_low_c, row.temperature_high_c
    if low is not None and high is not None:
        return f"{pair(low, high)} °C"
    if high is not None:
        return f"below {figure(high)} °C"
    return f"above {figure(low)} °C" if low is not None else ""


def _daylight(row: Evidence) -> str:
    low, high = row.day_hours_low, row.day_hours_high
    if low is None and high is None:
        return ""
    return f"{f'{figure(low)} hours or more' if high is None else f'{pair(low, high)} hours'} of daylight"


def _lasting(row: Evidence) -> str:
    low, high = row.low, row.high
    if low is None and high is None:
        return ""
    text = _ends(low or 0.0, high or 0.0, low is None, high is None, str(row["unit"]))
    if row["unit"] == "hours" and (low or high) >= _LONG_HOURS:
        text += f" ({pair(row.low_days, row.high_days)} days)"
    if row["signal"] != "first_crop":
        return f"for {text}"
    return f"{text.removesuffix('s') if low == high == 1 else text} after sowing"


def growing_object(catalog: Catalog, crop: Crop) -> dict[str, Any]:
    """Both sections for JSON."""
    return {
        "raising": {
            aspect: {"low": answer.low, "high": answer.high, "envelope_low": answer.envelope_low, "envelope_high": answer.envelope_high,
                     "open_low": answer.open_low, "open_high": answer.open_high, "unit": answer.unit, "agreement": answer.agreement,
                     "basis": answer.basis, "lineages": answer.lineages, "sources": list(answer.sources)}
            for aspect, answer in crop.raising.items()
        },
        "season_signals": [dict(row) for row in _season_rows(catalog, crop)],
    }  # fmt: skip
