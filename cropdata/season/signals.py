"""What cold, heat and day length do to a crop: bolting after cold, checks, a first crop after years. Sentences."""

from __future__ import annotations

import datetime
from typing import Any

from cropdata.catalog import Crop
from cropdata.catalog.evidence import Evidence
from cropdata.season.drafting import Draft, figures
from cropdata.season.site import Site

LOOK_AHEAD = 60  # days after planting out in which cold nights are counted: common practice, no source


def usable(crop: Crop, table: str) -> tuple[Evidence, ...]:
    """The crop's rows of a table that no decision sets aside."""
    return tuple(row for row in crop.evidence(table) if row["set_aside"] is None)


def checked_below(rows: tuple[Evidence, ...]) -> tuple[float | None, float | None, set[str]]:
    """Night and soil temperature in °C below which young plants stand still, and who says so."""
    night: list[float] = []
    soil: list[float] = []
    sources = set()
    for row in rows:
        if row["signal"] == "checked_by_cold" and isinstance(row["temperature_high_c"], float):
            (soil if "soil" in str(row["note"] or "") else night).append(row["temperature_high_c"])
            sources.add(str(row["source_id"]))
    return max(night, default=None), max(soil, default=None), sources


def say_habits(rows: tuple[Evidence, ...], in_place: bool, autumn: bool, draft: Draft) -> None:
    """What holds whatever the date: day lengths, years to the first crop, a need for cold."""
    by_signal: dict[str, list[Evidence]] = {}
    for row in rows:
        by_signal.setdefault(str(row["signal"]), []).append(row)
    if bulbs := by_signal.get("bulbs_at_day_length"):
        kinds: dict[str, list[float]] = {}
        for row in bulbs:
            kinds.setdefault(str(row["population"]), []).extend(
                hours for hours in (row["day_hours_low"], row["day_hours_high"]) if isinstance(hours, float)
            )
        told = ", ".join(f"{kind} at {_hours(hours)} of daylight" for kind, hours in kinds.items())
        draft.say(f"Bulbs when days are long enough: {told}. Take a kind for your latitude.")
        _cite(bulbs, draft)
    if first := [row for row in by_signal.get("first_crop", []) if isinstance(row["low"], float) and row["low"] >= 2]:
        draft.say(f"{_capital(str(first[0]['effect']))}: {_numbers(first[0])} years from seed.")
        _cite(first[:1], draft)
    if cold := by_signal.get("needs_cold"):
        hours = [value for row in cold for value in (row["low"], row["high"]) if isinstance(value, float)]
        limit = max(value for row in cold if isinstance(value := row["temperature_high_c"], float))
        draft.say(
            f"Crops in its first year only if the young plants are chilled: {figures(min(hours), max(hours))} hours below "
            f"{draft.words.warmth((limit, limit))}, by kind."
        )
        _cite(cold, draft)
    heat = by_signal.get("bolts_in_heat", []) + by_signal.get("bolts_in_long_days", [])
    if heat and not autumn:
        why = [
            word for word, key in (("long days", "bolts_in_long_days"), ("heat", "bolts_in_heat")) if key in by_signal
        ]
        draft.say(f"Runs to seed in {' and '.join(why)}: late spring sowings most.")
        _cite(heat, draft)


def say_cold(crop: Crop, rows: tuple[Evidence, ...], site: Site, out: datetime.date, draft: Draft) -> None:
    """Bolting after cold, for plants outside from `out` on: what the source says, where the nights allow it at all.

    Sources speak of cold, not of night minima. A day is no colder than its minimum, so without cold nights, or with
    fewer than the days that a source prints, there is none to warn of; how many days of cold come is not known.
    """
    cold = [row for row in rows if row["signal"] == "bolts_after_cold"]
    if not cold:
        return
    # The row that says most: warmth and length, then warmth.
    row = min(cold, key=lambda each: (each["temperature_high_c"] is None, each["low_days"] is None, each["row_id"]))
    limit, length = row["temperature_high_c"], row["low_days"]
    _cite([row], draft)
    if not isinstance(limit, float):
        draft.say("Started too early or kept cold while young it may bolt; sources print no temperature.")
        return
    warmth = draft.words.warmth((limit, limit))
    how_long = f"{_numbers(row, days=True)} days" if isinstance(length, float) else "prolonged cold"
    if site.nights is None:
        draft.say(
            f"Bolts after cold ({how_long} below {warmth}); no night temperatures are given for the place to reckon with."
        )
    elif site.nights.days_below(limit, out, LOOK_AHEAD) >= (length if isinstance(length, float) else 1):
        draft.say(
            f"Too early can make it bolt: {how_long} below {warmth} does. Nights after {draft.words.day(out)} are colder than that in an "
            "average year; how cold the days are is not known here."
        )


def _cite(rows: list[Evidence], draft: Draft) -> None:
    draft.sources.update(str(row["source_id"]) for row in rows)


def _numbers(row: Evidence, days: bool = False) -> str:
    low, high = (row["low_days"], row["high_days"]) if days else (row["low"], row["high"])
    return figures(_float(low), _float(high if high is not None else low))


def _float(value: Any) -> float:
    return float(value)


def _hours(hours: list[float]) -> str:
    return f"{figures(min(hours), max(hours))} hours" if len(set(hours)) > 1 else f"{hours[0]:g} hours or more"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
