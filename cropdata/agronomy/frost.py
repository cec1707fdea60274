"""Frost dates and chances from published dates.

From a daily record see `frost_record`. A frost is a minimum at or below the threshold. Dates are published at a few chances; between them the date is
taken as a straight line in the normal quantile of the chance, so that two points give the normal curve through
them and every given point comes back exactly. Freeze dates are close to normal (Thom and Shaw 1958, Mon.
Weather Rev. 86:249, from memory); tests/published/test_frost_tables.py measures the error on National Weather
Service tables. Chances beyond 2 % and 98 % are refused: no usual record is long enough for them.
"""

from __future__ import annotations

import datetime
import itertools
import math
from collections.abc import Mapping

from cropdata.errors import InputError

LOWEST, HIGHEST = 0.02, 0.98
YEARS = (1, 9990)
THRESHOLDS = (
    -50.0,
    25.0,
)  # °C: from what kills the hardiest to what chills the tenderest, a few degrees of the plant added
_CONVENTIONS = (
    "spring: the key is the chance of a LATER frost, so a higher chance stands at an earlier date; "
    "autumn: the key is the chance of an EARLIER frost, so a higher chance stands at a later date"
)
_COMMON_YEAR, _LEAP_YEAR = 2001, 2000
Date = datetime.date | str


def normal_quantile(chance: float) -> float:
    """The standard normal quantile of a chance in (0, 1)."""
    from statistics import NormalDist

    return NormalDist().inv_cdf(chance)


def _normal_chance(quantile: float) -> float:
    return 0.5 * math.erfc(-quantile / math.sqrt(2))


def _answerable(chance: float) -> None:
    if not LOWEST <= chance <= HIGHEST:
        raise InputError(
            "a chance beyond 2 and 98 % cannot be answered from frost records", found=chance,
            allowed=f"{LOWEST} to {HIGHEST}",
        )  # fmt: skip


def month_day(value: Date, what: str) -> tuple[int, int, int | None]:
    """Month, day and, where it is told, year of a date or text. Raises InputError, with `what` as its subject."""
    # NaT, the missing date of pandas, is a date that is not itself.
    if isinstance(value, datetime.date) and value == value:
        return value.month, value.day, value.year
    # Anything else but digits in their places is no such date; Python itself would read weeks (2027-W05-1) too.
    text = str(value) if str(value).replace("-", "").isdecimal() else ""
    for form, parts in (("MM-DD", f"{_LEAP_YEAR}-{text}"), ("YYYY-MM-DD", text)):
        if len(text) == len(form):
            try:
                date = datetime.date.fromisoformat(parts)
            except ValueError:
                break
            return date.month, date.day, date.year if form != "MM-DD" else None
    raise InputError(
        f"{what} is no date",
        found=value,
        allowed="MM-DD such as 05-01, or YYYY-MM-DD",
        hint=f"found {value!r}",
    )


def _ordinal(month: int, day: int, year: int) -> int:
    if not hasattr(year, "__index__") or not YEARS[0] <= year <= YEARS[1] + 1:
        raise InputError("a year of the calendar is needed", found=year, allowed=f"{YEARS[0]} to {YEARS[1]}")
    try:
        return datetime.date(year, month, day).toordinal()
    except ValueError:  # 29 February in a common year counts as the day after the 28th
        return datetime.date(year, 3, 1).toordinal()


def day_number(month: int, day: int) -> int:
    """Days from 1 January of a common year (0 = that day), so that one date is one number in every year."""
    return _ordinal(month, day, _COMMON_YEAR) - datetime.date(_COMMON_YEAR, 1, 1).toordinal()


def nearest_turn(number: int, middle: float) -> int:
    """A day number in the year in which it lies nearest to the middle of a season."""
    return number + 365 * round((middle - number) / 365.25)


def _date_of(number: float, year: int | None) -> datetime.date | str:
    """The date of a day number, which may lie before or beyond its year; "MM-DD" without a year."""
    date = datetime.date(_COMMON_YEAR, 1, 1) + datetime.timedelta(days=round(number))
    if year is None:
        return f"{date:%m-%d}"
    return datetime.date.fromordinal(_ordinal(date.month, date.day, year + date.year - _COMMON_YEAR))


class FrostDates:
    """Frost dates at chances for one place, season and threshold. Made by `from_chances`; frozen.

    Attributes: `season` ("spring" or "autumn"), `threshold_c`, `chances` (as given, ascending in date).
    """

    __slots__ = ("_points", "_quantiles", "chances", "season", "threshold_c")

    season: str
    threshold_c: float
    chances: tuple[float, ...]
    _points: tuple[tuple[int, int], ...]
    _quantiles: tuple[float, ...]

    def __init__(self, points: list[tuple[float, int, int]], season: str, threshold_c: float) -> None:
        for name, value in (
            ("season", season),
            ("threshold_c", threshold_c),
            ("chances", tuple(chance for chance, _, _ in points)),
            ("_points", tuple((month, day) for _, month, day in points)),
            # Quantiles of "the frost has come by then", which rise with the date in either season.
            (
                "_quantiles",
                tuple(normal_quantile(1 - chance if season == "spring" else chance) for chance, _, _ in points),
            ),
        ):
            object.__setattr__(self, name, value)

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"frost dates are frozen; {name!r} cannot be set")

    def __repr__(self) -> str:
        given = ", ".join(
            f"{chance:g}: {m:02d}-{d:02d}" for chance, (m, d) in zip(self.chances, self._points, strict=True)
        )
        return f"<FrostDates {self.season} at {self.threshold_c:g} °C, {given}>"

    def _days(self, year: int) -> list[int]:
        """Given dates as day numbers, rising; a season that crosses New Year runs on into the next year."""
        days: list[int] = []
        for month, day in self._points:
            number = _ordinal(month, day, year)
            while days and number < days[-1]:
                year += 1
                number = _ordinal(month, day, year)
            days.append(number)
        return days

    def _check(self, chance: float) -> float:
        _answerable(chance)
        return normal_quantile(1 - chance if self.season == "spring" else chance)

    def date_at(self, chance: float, year: int | None = None) -> datetime.date | str | None:
        """The date at a chance (spring: of a later frost; autumn: of an earlier one).

        With `year` a datetime.date of the season that starts in that year; without it "MM-DD" of a common
        year. Always a date for curves from `from_chances`; None is kept for places where the chance is never
        reached. Raises InputError for a chance beyond 2 and 98 %.
        """
        quantile = self._check(float(chance))
        leap_day = (2, 29) in self._points
        days = self._days(year if year is not None else _LEAP_YEAR if leap_day else _COMMON_YEAR)
        date = datetime.date.fromordinal(round(_line(quantile, self._quantiles, [float(day) for day in days])))
        return date if year is not None else f"{date:%m-%d}"

    def _chance_come(self, date: Date) -> float:
        """Chance that the season's last (spring) or first (autumn) frost has come by the date."""
        month, day, year = month_day(date, "the date")
        base = year if year is not None else _COMMON_YEAR
        days = self._days(base)
        # A date of the other side of New Year belongs to the nearest turn of the season.
        middle = (days[0] + days[-1]) / 2
        turns = round((middle - _ordinal(month, day, base)) / 365.25)
        asked = _ordinal(month, day, base + turns)
        quantile = _line(float(asked), [float(number) for number in days], list(self._quantiles))
        return min(max(_normal_chance(quantile), LOWEST), HIGHEST)

    def chance_after(self, date: Date) -> float:
        """Chance that the frost comes later than the date: what is left of the risk in spring.

        `date` is a datetime.date, "YYYY-MM-DD" or "MM-DD". Held within 0.02 and 0.98: read these as "2 % or
        less" and "98 % or more".
        """
        return 1 - self._chance_come(date)

    def chance_before(self, date: Date) -> float:
        """Chance that the frost comes by the date: the risk of an early one in autumn. See `chance_after`."""
        return self._chance_come(date)

    def extrapolated(self, chance: float) -> bool:
        """True when the chance lies beyond the given ones, so that the date is run on past the print.

        Raises InputError for a chance that `date_at` refuses.
        """
        _answerable(chance)
        return not min(self.chances) - 1e-12 <= chance <= max(self.chances) + 1e-12


def _line(x: float, xs: list[float] | tuple[float, ...], ys: list[float] | tuple[float, ...]) -> float:
    """Piecewise straight line through the points, run on at both ends. Equal neighbours of x are stepped over."""
    for x0, y0 in zip(xs, ys, strict=True):
        if abs(x - x0) < 1e-12:
            return y0
    last = len(xs) - 2
    index = next((i for i in range(last + 1) if x <= xs[i + 1]), last)
    x0, x1, y0, y1 = xs[index], xs[index + 1], ys[index], ys[index + 1]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)


class FrostCurve:
    """Frost dates of one place as a normal curve, with a share of years that have no frost at all.

    Made by `from_mean` and `from_record`; frozen. Days are counted from 1 January of the label year (0 = that
    day) as if it were a common year, so that a season may run over New Year and 28 April is one day in every year. Attributes: `season`, `threshold_c`, `mean_day`, `sd_days`,
    `share_with_frost`, `days` (the record's, may be empty), `warnings`.
    """

    __slots__ = ("days", "mean_day", "sd_days", "season", "share_with_frost", "threshold_c", "warnings")

    season: str
    threshold_c: float
    mean_day: float
    sd_days: float
    share_with_frost: float
    days: tuple[float, ...]
    warnings: tuple[str, ...]

    def __init__(self, season: str, threshold_c: float, mean_day: float, sd_days: float, share_with_frost: float = 1.0,
                 days: tuple[float, ...] = (), warnings: tuple[str, ...] = ()) -> None:  # fmt: skip
        for name, value in zip(
            self.__slots__, (days, mean_day, sd_days, season, share_with_frost, threshold_c, warnings), strict=True
        ):
            object.__setattr__(self, name, value)

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"frost dates are frozen; {name!r} cannot be set")

    def __repr__(self) -> str:
        return (
            f"<FrostCurve {self.season} at {self.threshold_c:g} °C: mean {_shown(self.mean_day)}, sd {self.sd_days:.1f} days, "
            f"{100 * self.share_with_frost:.0f} % of years, {len(self.days)} years of record>"
        )

    def _day_at(self, chance: float) -> float | None:
        _answerable(chance)
        if chance >= self.share_with_frost:
            return None  # so often there is no frost at all
        within = chance / self.share_with_frost
        return self.mean_day + self.sd_days * normal_quantile(1 - within if self.season == "spring" else within)

    def date_at(self, chance: float, year: int | None = None) -> datetime.date | str | None:
        """As `FrostDates.date_at`; None where frost is rarer than the chance."""
        day = self._day_at(float(chance))
        if day is None:
            return None
        return _date_of(day, year)

    def _come(self, date: Date) -> float:
        month, number, _ = month_day(date, "the date")
        day = nearest_turn(day_number(month, number), self.mean_day)
        return _normal_chance((day - self.mean_day) / self.sd_days)

    def chance_after(self, date: Date) -> float:
        """Chance of a frost later than the date, years without frost counted; held within 0.02 and 0.98 times their share."""
        return self.share_with_frost * (1 - min(max(self._come(date), LOWEST), HIGHEST))

    def chance_before(self, date: Date) -> float:
        """Chance that the frost has come by the date (spring: that no later one comes); see `chance_after`."""
        if self.season == "spring":
            return 1 - self.chance_after(date)
        return self.share_with_frost * min(max(self._come(date), LOWEST), HIGHEST)

    def extrapolated(self, chance: float) -> bool:
        """True where the date lies beyond every date of the record; False for a curve without a record."""
        day = self._day_at(chance)
        return bool(self.days) and day is not None and not min(self.days) <= day <= max(self.days)

    def date_in_record(self, chance: float, year: int | None = None) -> datetime.date | str | None:
        """The date at a chance as the record itself has it (empirical): straight between its ordered years.

        Years without a frost count as years. None where frost is rarer than the chance, or without a record. The
        fitted curve (`date_at`) is steadier; the two apart by more than a few days say that the curve does not fit.
        """
        if not self.days or self._day_at(chance) is None:
            return None
        within = chance / self.share_with_frost
        ordered = sorted(self.days)
        place = (1 - within if self.season == "spring" else within) * (len(ordered) - 1)
        below = min(int(place), len(ordered) - 2)
        day = ordered[below] + (ordered[below + 1] - ordered[below]) * (place - below)
        return _date_of(day, year)

    def interval(
        self, chance: float, *, level: float = 0.9, draws: int = 2000, seed: int = 1
    ) -> tuple[str, str] | None:
        """Interval of the date at a chance, "MM-DD" each, by drawing the record's years again (bootstrap).

        Ten years of data give a wide one. None without a record or where there is no such date.
        """
        import numpy as np

        if len(self.days) < 3 or self._day_at(chance) is None:
            return None
        years = round(len(self.days) / self.share_with_frost)
        sample = np.array([*self.days, *[np.nan] * (years - len(self.days))])
        drawn = np.random.default_rng(seed).choice(sample, size=(draws, years))
        some = np.isfinite(drawn).sum(axis=1) >= 2
        drawn = drawn[some]
        share = np.isfinite(drawn).mean(axis=1)
        within = np.clip(chance / share, LOWEST / 2, 1 - LOWEST / 2)
        from scipy.special import ndtri

        quantile = ndtri(1 - within if self.season == "spring" else within)
        dates = np.nanmean(drawn, axis=1) + np.nanstd(drawn, axis=1, ddof=1) * quantile
        low, high = np.quantile(dates, [(1 - level) / 2, (1 + level) / 2])
        return _shown(float(low)), _shown(float(high))


def _shown(day: float) -> str:
    return f"{datetime.date(_COMMON_YEAR, 1, 1) + datetime.timedelta(days=round(day)):%m-%d}"


def from_mean(
    mean: Date, sd_days: float, *, season: str = "spring", threshold_c: float = 0.0, share_with_frost: float = 1.0
) -> FrostCurve:
    """A frost curve from a published mean date and standard deviation in days.

    Raises InputError for a deviation that is not above 0, a share outside (0, 1] or a threshold that is no number.
    """
    if season not in ("spring", "autumn"):
        raise InputError("unknown season", found=season, allowed="spring or autumn", hint=f"found {season!r}")
    if not 0 < sd_days < math.inf or not 0 < share_with_frost <= 1:
        raise InputError(
            "the standard deviation lies above 0 and the share of years with frost in (0, 1]",
            found=(sd_days, share_with_frost),
        )
    month, day, _ = month_day(mean, "the mean frost date")
    return FrostCurve(
        season, checked_threshold(threshold_c), float(day_number(month, day)), float(sd_days), float(share_with_frost)
    )


def from_chances(dates: Mapping[float, Date], *, season: str = "spring", threshold_c: float = 0.0) -> FrostDates:
    """Frost dates from published dates at two or more chances.

    Args:
        dates: chance -> date ("MM-DD", "YYYY-MM-DD" or datetime.date; the year is not used). The key is the
            chance of a LATER frost in spring, of an EARLIER one in autumn; a number in (0, 1).
        season: "spring" (last frost) or "autumn" (first frost), in either hemisphere.
        threshold_c: the minimum that counts as a frost.

    Raises InputError for fewer than two chances, a chance outside (0, 1), a date that is none, or dates whose
    order contradicts the chances; the message names both conventions.
    """
    if season not in ("spring", "autumn"):
        raise InputError("unknown season", found=season, allowed="spring or autumn", hint=f"found {season!r}")
    if not isinstance(dates, Mapping) or len(dates) < 2:
        raise InputError("frost dates at two or more chances are needed", found=dates, hint=_CONVENTIONS)
    points = []
    for chance, date in dates.items():
        if isinstance(chance, bool) or not isinstance(chance, (int, float)) or not 0 < chance < 1:
            raise InputError(
                "a chance must lie between 0 and 1", found=chance, allowed="0.1 for one year in ten",
                hint=f"found {chance!r}; {_CONVENTIONS}",
            )  # fmt: skip
        month, day, _ = month_day(date, f"the frost date at chance {chance:g}")
        points.append((float(chance), month, day))
    points.sort(key=lambda point: point[0], reverse=season == "spring")
    _check_order(points, season)
    return FrostDates(points, season, checked_threshold(threshold_c))


def checked_threshold(threshold_c: float) -> float:
    """The threshold, where it is one in °C: NaN would make every year free of frost, and 32 is one in °F."""
    if not THRESHOLDS[0] <= threshold_c <= THRESHOLDS[1]:
        raise InputError(
            f"a threshold of {threshold_c:g} °C is out of range", found=threshold_c,
            allowed=f"{THRESHOLDS[0]:g} to {THRESHOLDS[1]:g} °C", hint="32 °F is 0 °C",
        )  # fmt: skip
    return float(threshold_c)


def _check_order(points: list[tuple[float, int, int]], season: str) -> None:
    numbers = [_ordinal(month, day, _LEAP_YEAR) for _, month, day in points]
    steps = [(later - earlier) % 366 for earlier, later in itertools.pairwise(numbers)]
    # Going round the year forwards, each step must be a short one: a long one means that the dates run backwards.
    if any(step == 0 or step > 183 for step in steps) or sum(steps) > 183:
        shown = ", ".join(f"{chance:g}: {month:02d}-{day:02d}" for chance, month, day in points)
        raise InputError(
            f"the {season} frost dates are out of order for their chances",
            found=shown,
            hint=f"found {shown}; {_CONVENTIONS}",
        )


def __getattr__(name: str) -> object:
    # The record functions need numpy and pandas; the dates above do not.
    if name in (
        "last_frost",
        "first_frost",
        "frost_free_days",
        "from_record",
        "last_day",
        "first_day",
        "day_quantiles",
        "damage_risk",
    ):
        from cropdata.agronomy import frost_record

        return getattr(frost_record, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


TYPE_CHECKING = False
if TYPE_CHECKING:
    from cropdata.agronomy.frost_record import damage_risk as damage_risk
    from cropdata.agronomy.frost_record import day_quantiles as day_quantiles
    from cropdata.agronomy.frost_record import first_day as first_day
    from cropdata.agronomy.frost_record import first_frost as first_frost
    from cropdata.agronomy.frost_record import from_record as from_record
    from cropdata.agronomy.frost_record import frost_free_days as frost_free_days
    from cropdata.agronomy.frost_record import last_day as last_day
    from cropdata.agronomy.frost_record import last_frost as last_frost
