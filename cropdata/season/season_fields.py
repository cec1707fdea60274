"""Reading single fields of a season file: each mistake is noted with where it stands and what is allowed."""

from __future__ import annotations

import contextlib
import datetime
from collections.abc import Mapping
from typing import Any

from cropdata.errors import InputError

Monthly = tuple[float, ...]


class Mistakes:
    """Collects mistakes so that one run reports them all."""

    def __init__(self, file: str | None) -> None:
        self.file = file
        self.found: list[str] = []

    def add(self, where: str, message: str) -> None:
        """Note a mistake at a place in the file."""
        self.found.append(f"{where}: {message}")

    def raise_any(self) -> None:
        """Raise InputError that lists what was noted, where anything was."""
        if len(self.found) == 1:
            raise InputError(self.found[0], file=self.file)
        if self.found:
            listed = "".join(f"\n  {number}. {text}" for number, text in enumerate(self.found, start=1))
            raise InputError(f"{len(self.found)} mistakes{listed}", file=self.file)


def check_keys(table: Mapping[Any, Any], known: tuple[str, ...], where: str, mistakes: Mistakes) -> None:
    """Note keys that mean nothing."""
    for key in table:
        if key not in known:
            mistakes.add(where, f"unknown key {key!r}; allowed: {', '.join(known)}")


def number(value: Any, where: str, mistakes: Mistakes, low: float, high: float, unit: str) -> float | None:
    """A number within limits."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        mistakes.add(where, f"found {value!r}; allowed: a number of {unit} from {low:g} to {high:g}")
        return None
    if not low <= value <= high:
        mistakes.add(where, f"found {value:g}; allowed: {low:g} to {high:g} {unit}")
        return None
    return float(value)


def whole(value: Any, where: str, mistakes: Mistakes, low: int, high: int) -> int | None:
    """A whole number within limits."""
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        mistakes.add(where, f"found {value!r}; allowed: a whole number from {low} to {high}")
        return None
    return value


def line(value: Any, where: str, mistakes: Mistakes) -> str | None:
    """A text of one line, or None where it is left blank."""
    if value is None:
        return None
    if isinstance(value, (dict, list, set)) or not str(value).isprintable():
        mistakes.add(where, f"found {value!r}; allowed: one line of text")
        return None
    return str(value)


def truth(value: Any, where: str, mistakes: Mistakes) -> bool:
    """true or false; false where it is left out."""
    if value is None or isinstance(value, bool):
        return bool(value)
    mistakes.add(where, f"found {value!r}; allowed: true or false")
    return False


def date(value: Any, where: str, mistakes: Mistakes, year: int | None) -> datetime.date | None:
    """A date of the season's year, the one before or the one after it."""
    if isinstance(value, str) and len(value) == len("2027-03-15"):
        with contextlib.suppress(ValueError):
            value = datetime.date.fromisoformat(value)
    if isinstance(value, datetime.datetime) or not isinstance(value, datetime.date):
        mistakes.add(where, f"found {value!r}; allowed: a date such as {year or 2027}-03-15")
        return None
    if year is not None and abs(value.year - year) > 1:
        mistakes.add(where, f"found {value}; allowed: a date of {year - 1} to {year + 1}, the season's years")
        return None
    return value


def monthly(value: Any, where: str, mistakes: Mistakes, low: float, high: float) -> Monthly | None:
    """Twelve monthly temperatures in °C, January first."""
    if value is None:
        return None
    if not isinstance(value, list) or len(value) != 12:
        mistakes.add(where, f"found {value!r}; allowed: twelve monthly temperatures in °C, January first")
        return None
    warm = [item for item in value if isinstance(item, (int, float)) and not isinstance(item, bool) and item > high]
    if warm:
        most = max(warm)
        mistakes.add(
            where,
            f"found {', '.join(f'{item:g}' for item in warm)}; allowed: {low:g} to {high:g} °C; are these °F? Give (°F - 32) × 5/9: "
            f"{most:g} °F are {(most - 32) * 5 / 9:.0f} °C",
        )
        return None
    read = [number(item, f"{where}[{place}]", mistakes, low, high, "°C") for place, item in enumerate(value, start=1)]
    return None if None in read else tuple(item for item in read if item is not None)


def day_and_night(value: Any, where: str, mistakes: Mistakes) -> tuple[float | None, float | None]:
    """Day and night temperature in °C from {day, night} or one number."""
    if value is None:
        return None, None
    if isinstance(value, dict):
        check_keys(value, ("day", "night"), where, mistakes)
        day = number(value.get("day"), f"{where}.day", mistakes, 0, 45, "°C")
        night = number(value.get("night"), f"{where}.night", mistakes, 0, 45, "°C")
        if day is not None and night is not None and night > day:
            mistakes.add(where, f"the night ({night:g} °C) is warmer than the day ({day:g} °C); swap the two")
        return day, night
    both = number(value, where, mistakes, 0, 45, "°C")
    return both, both


def optional(read: Any, table: Mapping[Any, Any], key: str, where: str, mistakes: Mistakes, *limits: Any) -> Any:
    """The field read by `read` where it is given; None where it is left out or blank."""
    return None if table.get(key) is None else read(table[key], f"{where}.{key}", mistakes, *limits)
