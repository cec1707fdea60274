"""Conversion between printed and canonical units.

Factors: the inch is 25.4 mm, the foot twelve inches, the avoirdupois pound 453.59237 g and its ounce a sixteenth of it, the US
gallon 231 cubic inches and the tablespoon a 256th of it, by definition (NIST Special Publication 811, appendix B);
°C = (°F - 32) / 1.8. A month is taken as one twelfth of a year.
"""

from __future__ import annotations

from cropdata.errors import InputError

# unit -> (dimension, factor to the dimension's base, offset added before the factor)
_UNITS: dict[str, tuple[str, float, float]] = {
    "mm": ("length", 1.0, 0.0),
    "cm": ("length", 10.0, 0.0),
    "in": ("length", 25.4, 0.0),
    "ft": ("length", 304.8, 0.0),
    "°C": ("temperature", 1.0, 0.0),
    "C": ("temperature", 1.0, 0.0),
    "°F": ("temperature", 1 / 1.8, -32.0),
    "F": ("temperature", 1 / 1.8, -32.0),
    "hours": ("time", 1 / 24, 0.0),
    "days": ("time", 1.0, 0.0),
    "weeks": ("time", 7.0, 0.0),
    "months": ("time", 365.25 / 12, 0.0),
    "years": ("time", 365.25, 0.0),
    "ml": ("volume", 1.0, 0.0),
    "cm3": ("volume", 1.0, 0.0),
    "in3": ("volume", 16.387064, 0.0),
    "tablespoon": ("volume", 14.78676478125, 0.0),
    "litres": ("volume", 1000.0, 0.0),
    "g": ("weight", 1.0, 0.0),
    "lb": ("weight", 453.59237, 0.0),
    "g_per_litre": ("weight by volume", 1.0, 0.0),
    "kg_per_m3": ("weight by volume", 1.0, 0.0),
    "g_per_cm3": ("weight by volume", 1000.0, 0.0),
    "C_days": ("thermal time", 1.0, 0.0),
    "C_hours": ("thermal time", 1 / 24, 0.0),
    "F_days": ("thermal time", 1 / 1.8, 0.0),
    "per gram": ("count by weight", 1.0, 0.0),
    "per_gram": ("count by weight", 1.0, 0.0),
    "per_ounce": ("count by weight", 1 / 28.349523125, 0.0),
}


def convert(value: float, unit: str, to: str) -> float:
    """`value` in `unit` expressed in `to`. Raises InputError for a unit that is unknown or does not fit."""
    if unit == to:
        return value
    try:
        dimension, factor, offset = _UNITS[unit]
    except KeyError:
        raise InputError(f"unknown unit {unit!r}", found=unit, allowed=", ".join(_UNITS)) from None
    fitting = [name for name, entry in _UNITS.items() if entry[0] == dimension]
    if to not in fitting:
        raise InputError(f"{unit} cannot be turned into {to!r}", found=to, allowed=", ".join(fitting))
    _, to_factor, to_offset = _UNITS[to]
    return (value + offset) * factor / to_factor - to_offset


def measure_alike(unit: str, other: str) -> bool:
    """Whether two units are of one dimension. An unknown one is of none."""
    return unit in _UNITS and other in _UNITS and _UNITS[unit][0] == _UNITS[other][0]


def canonical(value: float, unit: str, to: str) -> float:
    """`value` converted and rounded to two decimals: the figure that the build writes beside the printed one."""
    return round(convert(value, unit, to), 2) + 0.0


def number_text(value: float) -> str:
    """Shortest plain text of a number: no exponent, no trailing zeros."""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("", "-0") else text


def figure(value: float) -> str:
    """A number as a person would write it: whole from ten up, else one decimal where it matters."""
    rounded = round(value) if abs(value) >= 10 else round(value, 1)
    return f"{rounded:g}" if rounded != round(rounded) else f"{int(rounded)}"
