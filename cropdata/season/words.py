"""How a plan's dates, lengths, temperatures, volumes and chances are written for its reader.

The plan itself keeps `datetime.date`, millimetres, °C, litres and shares; only words are turned.
"""

from __future__ import annotations

import datetime
from typing import NamedTuple

UNITS = ("metric", "imperial")
DATES = ("dmy", "mdy", "iso")
# Not strftime: its names follow the machine's language, and the same plan must give the same bytes everywhere.
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MM_PER_INCH = 25.4  # exact
# Mix is sold by the US dry quart and the cubic foot (NIST Handbook 44, Appendix C, from memory).
LITRES_PER_DRY_QUART = 1.101220943
LITRES_PER_CUBIC_FOOT = 28.316846592
ML_PER_CUBIC_INCH = MM_PER_INCH**3 / 1000
NOTHING = "–"  # nothing recorded
LEAST_TOLD = 0.0205  # frost dates tell no chance below 2 % or above 98 %
STEP_WORDS = {
    "test": "Test seed",
    "buy": "Buy seed",
    "chill": "Chill",
    "soak": "Soak",
    "sow": "Sow",
    "move": "Move to mix",
    "seedlings": "Seedlings",
    "give_up": "Give up",
    "feed": "Feed",
    "pot_on": "Pot on",
    "harden": "Harden off",
    "plant_out": "Plant out",
    "harvest": "Harvest",
}
METHOD_WORDS = {
    "towel": "damp towel",
    "tray": "tray",
    "block": "block",
    "flat": "flat",
    "pot": "pot",
    "in_place": "in place",
}
BASIS_WORDS = {
    "published": "published",
    "common_practice": "common practice, no source",
    "from_memory": "from memory",
    "derived": "reckoned",
    "computed": "reckoned from",
    "stated": "as you state",
}
CLASH_WORDS = {
    "early": "too early",
    "late": "late",
    "cold": "too cold",
    "heat": "too warm",
    "bench": "too late for planting out",
    "autumn": "the first frost",
    "season": "no date will do",
    "mat": "warmths on the mat",
    "shelf": "trays on the shelf",
    "seeds": "too few seeds",
    "failed": "given up",
    "few": "too few seedlings",
    "names": "packets alike",
    "records": "dates to come",
}

Pair = tuple[float, float]


class Words(NamedTuple):
    """The reader's units ("metric" or "imperial") and order of dates ("dmy", "mdy" or "iso").

    `year` is the season's: dates in another year say which.
    """

    units: str = "metric"
    dates: str = "dmy"
    year: int = 0

    def day(self, date: datetime.date) -> str:
        """A date: "13 Mar", "Mar 13" or "2027-03-13"; with its year where that is not the season's."""
        if self.dates == "iso":
            return date.isoformat()
        month, other = MONTHS[date.month - 1], date.year != self.year
        if self.dates == "mdy":
            return f"{month} {date.day}{f', {date.year}' if other else ''}"
        return f"{date.day} {month}{f' {date.year}' if other else ''}"

    def span(self, first: datetime.date, last: datetime.date) -> str:
        """First to last day, one date where they are the same; the year once where both lie in one other year."""
        if first == last:
            return self.day(first)
        start = self._replace(year=first.year) if first.year == last.year else self
        return f"{start.day(first)} – {self.day(last)}"

    def depth(self, depth_mm: Pair | None) -> str:
        """Low to high of a depth in mm: "6–19 mm" or "1/4–3/4 in"; "surface" where it is not covered."""
        if depth_mm is None:
            return NOTHING
        low, high = depth_mm
        if self.units == "imperial":
            return "surface" if _inches(high) == "0" else f"{_joined(_inches(low), _inches(high))} in"
        return "surface" if f"{high:.0f}" == "0" else f"{_joined(f'{low:.0f}', f'{high:.0f}')} mm"

    def warmth(self, temp_c: Pair | None) -> str:
        """Low to high of a temperature in °C, in whole °C or °F."""
        if temp_c is None:
            return NOTHING
        low, high = (32 + value * 9 / 5 for value in temp_c) if self.units == "imperial" else temp_c
        return f"{_joined(f'{low:.0f}', f'{high:.0f}')} {'°F' if self.units == 'imperial' else '°C'}"

    def days(self, span: tuple[int, int] | None) -> str:
        """Fewest to most days."""
        return NOTHING if span is None else f"{_joined(*(str(days) for days in span))} days"

    def amount(self, low: float, high: float, unit: str) -> str:
        """Low to high of what is counted, weighed or paid: "1 tray", "1,563 seeds", "6.40–16.00 USD", "12–14 l"."""
        if unit in ("l", "litre", "litres"):
            return self.litres((low, high))
        if unit == "not recorded":
            return unit
        cents = (unit.isupper() or unit == "money") and not all(float(value).is_integer() for value in (low, high))
        one, other = (
            f"{value:,.2f}" if cents and value else f"{value:,.1f}".removesuffix(".0") for value in (low, high)
        )
        return f"{_joined(one, other)} {unit.removesuffix('s') if one == other == '1' else unit}".strip()

    def assumed(self, low: float, high: float, unit: str) -> str:
        """Low to high of a figure that a plan rests on: shares in per cent, differences of temperature as the reader's."""
        if unit.startswith("share"):
            return f"{_joined(f'{100 * low:.3g}', f'{100 * high:.3g}')} %{unit.removeprefix('share')}"
        low, high, unit = self.differing(low, high, unit)
        return f"{_joined(f'{low:.3g}', f'{high:.3g}')} {unit}"

    def differing(self, low: float, high: float, unit: str) -> tuple[float, float, str]:
        """Both ends of a figure and its unit; a difference of two temperatures in °C turned to °F, others as they are."""
        if unit != "°C" or self.units != "imperial":
            return low, high, unit
        return low * 9 / 5, high * 9 / 5, "°F"

    def cell(self, volume_ml: float) -> str:
        """The volume of one cell: "7 ml" or "0.43 cu in"."""
        return f"{_figure(volume_ml / ML_PER_CUBIC_INCH)} cu in" if self.units == "imperial" else f"{volume_ml:g} ml"

    def litres(self, volume_l: Pair | None) -> str:
        """Low to high of a volume in litres: litres, or dry quarts up to a cubic foot and cubic feet beyond it."""
        if volume_l is None:
            return NOTHING
        per, unit = 1.0, "l"
        if self.units == "imperial":
            large = volume_l[1] > LITRES_PER_CUBIC_FOOT
            per, unit = (LITRES_PER_CUBIC_FOOT, "cu ft") if large else (LITRES_PER_DRY_QUART, "dry qt")
        return f"{_joined(*(_figure(value / per) for value in volume_l))} {unit}"

    def chance(self, share: float | None) -> str:
        """A share of years in per cent; "≤ 2 %" and "≥ 98 %" where the frost dates say no more, "none" of a place without."""
        if share is None:
            return NOTHING
        if share == 0:
            return "none"
        if share <= LEAST_TOLD:
            return "≤ 2 %"
        return "≥ 98 %" if share >= 1 - LEAST_TOLD else f"{100 * share:.0f} %"


def _joined(low: str, high: str) -> str:
    """Two ends as one text; "to" where a minus sign would run into the dash."""
    if low == "-0":
        low = "0"
    if low == high:
        return low
    return f"{low} to {high}" if low.startswith("-") or high.startswith("-") else f"{low}–{high}"


def _figure(value: float) -> str:
    """Whole from ten up, else one decimal; two below one, so that a little is never none."""
    return f"{value:,.0f}" if value >= 9.95 else f"{float(f'{value:.1f}' if value >= 0.95 else f'{value:.2f}'):g}"


def _inches(depth_mm: float) -> str:
    """As rulers and packets say it: to the nearest eighth, below a quarter to the nearest sixteenth."""
    inches = depth_mm / MM_PER_INCH
    parts = 16 if inches < 0.25 else 8
    count = round(inches * parts)
    whole, rest = divmod(count, parts)
    while rest and rest % 2 == 0:
        rest, parts = rest // 2, parts // 2
    fraction = f"{rest}/{parts}" if rest else ""
    return f"{whole} {fraction}".strip() if whole and fraction else fraction or str(whole)
