"""The place of one season, worked out once: its frost dates, soil, nights and bench, and the rules that plans rest on."""

from __future__ import annotations

import datetime
from collections.abc import Callable

import numpy as np

from cropdata.agronomy import soil as soil_model
from cropdata.agronomy.frost import FrostCurve, FrostDates
from cropdata.agronomy.windows import days_after
from cropdata.catalog import Catalog
from cropdata.errors import InputError
from cropdata.season.plan import FrostDay, PlanPlace
from cropdata.season.season_parts import Season

AVERAGE = 0.5
HOLD_DAYS = 7  # warmth that holds for a week: common practice, no source
NEAR_DAYS = 150  # so far from the season's own frost its chance stands still; past half a year another's is nearer
Date = datetime.date
Floats = np.ndarray


class Year:
    """A temperature by date in an average year."""

    def __init__(self, at: Callable[[Date], float]) -> None:
        turn = datetime.date(2001, 1, 1)  # a common year; 29 February is as the 28th
        self._by_day = np.array([at(days_after(turn, number)) for number in range(365)])

    def series(self, start: Date, days: int) -> Floats:
        """Daily temperatures in °C from `start` on, shape (days,)."""
        ordinal = min(start.timetuple().tm_yday, 365) - 1
        taken: Floats = self._by_day[(ordinal + np.arange(days)) % 365]
        return taken

    def on(self, date: Date) -> float:
        """The temperature of a day."""
        return float(self.series(date, 1)[0])

    def first_warm(self, minimum_c: float, start: Date, search_days: int = 300) -> Date | None:
        """First day from `start` from which the minimum holds for a week; None where it never does."""
        warm = (self.series(start, search_days + HOLD_DAYS) >= minimum_c).astype(int)
        held = np.convolve(warm, np.ones(HOLD_DAYS, dtype=int), mode="valid") == HOLD_DAYS
        return days_after(start, int(held.argmax())) if held.any() else None

    def warms(self, minimum_c: float, near: Date) -> Date | None:
        """First day on which the minimum holds for a week in the half of the year that warms up, which begins on the
        coldest day of the winter that is nearest to `near`.
        """
        coldest = int(self._by_day.argmin())
        gap = (coldest - min(near.timetuple().tm_yday, 365) + 1 + 182) % 365 - 182
        return self.first_warm(minimum_c, days_after(near, gap))

    def days_below(self, limit_c: float, start: Date, days: int) -> int:
        """How many of the days from `start` on are colder."""
        return int((self.series(start, days) < limit_c).sum())


def _near(date: Date, frost: Date) -> Date:
    """The date, or that end of the season's own frost which is nearest to it: half a year off another frost would be meant."""
    return min(max(date, days_after(frost, -NEAR_DAYS)), days_after(frost, NEAR_DAYS))


class Site:
    """A season's place. `season` is the year of the last spring frost; the autumn is the one after it.

    `last_frost`: the day that weeks are counted from, that of an even chance of a later frost; where frost is rarer, the
    day that the grower states instead. `risk_date`: None where frost is rarer than the stated risk.
    """

    def __init__(self, season: Season, catalog: Catalog) -> None:
        place = season.place
        self.place, self.year, self.catalog = place, season.year, catalog
        self._rules: dict[str, float] = {}
        self.risk = place.risk if place.risk is not None else self.rule("planting_out_risk")
        self.last_frost, self.risk_date = self._spring()
        self.first_frost = self._first_frost()
        self.soil = Year(soil_model.daily_from_monthly(place.soil_monthly_c)) if place.soil_monthly_c else None
        self.nights, self.nights_from_record = self._nights()
        day, night = place.bench_day_c, place.bench_night_c
        self.bench_c = (night, day) if night is not None and day is not None else None
        self.bench_mean_c = None if self.bench_c is None else sum(self.bench_c) / 2
        self.colder_c = place.plant_minus_screen_c
        if self.colder_c is None:
            self.colder_c = self.rule("plant_minus_screen")
        self.warnings = self._warnings()
        self._left: dict[Date, float] = {}
        self._come: dict[Date, float] = {}
        self._ends: dict[float, tuple[np.ndarray, int]] = {}

    def rule(self, rule_id: str, end: str = "low") -> float:
        """A figure of reference/rules.csv, its low or its high end."""
        key = f"{rule_id} {end}"
        if key not in self._rules:
            self._rules[key] = float(self.catalog.rule(rule_id)[end])
        return self._rules[key]

    def _spring(self) -> tuple[Date, Date | None]:
        """The day that weeks are counted from, and that on which the chance of a later frost has fallen to the risk."""
        curve, year = self.place.spring, self.year
        if self.place.counted_from is not None:
            start = datetime.date(year, *self.place.counted_from)
        else:
            middle = curve.date_at(AVERAGE, year)
            assert isinstance(middle, datetime.date)  # the season file sees to it
            # A frost that mostly comes after New Year belongs to the year before's label.
            again = curve.date_at(AVERAGE, 2 * year - middle.year)
            assert isinstance(again, datetime.date)
            start = again
        found = (curve.date_at(self.risk, each) for each in (year - 1, year, year + 1))
        dates = [date for date in found if isinstance(date, datetime.date)]
        return start, min(dates, key=lambda date: abs(date - start), default=None)

    def _first_frost(self) -> Date | None:
        """The date by which one year in two has had its first frost, in the autumn after this season's last one."""
        if self.place.autumn is None:
            return None
        for year in (self.year - 1, self.year, self.year + 1):
            date = self.place.autumn.date_at(AVERAGE, year)
            if isinstance(date, datetime.date) and date > self.last_frost:
                return date
        return None

    def _warnings(self) -> tuple[str, ...]:
        """What a record says of itself, and chances that were run on past the dates given."""
        curve = self.place.spring
        wanted = [chance for chance in (AVERAGE, self.risk) if chance != AVERAGE or self.place.counted_from is None]
        if not isinstance(curve, FrostDates):
            return curve.warnings if isinstance(curve, FrostCurve) else ()
        least, most = min(curve.chances), max(curve.chances)
        return tuple(
            f"the date at {100 * chance:.0f} % is run on past those given ({100 * least:.0f} to {100 * most:.0f} %)"
            for chance in dict.fromkeys(wanted) if curve.extrapolated(chance)
        )  # fmt: skip

    def _nights(self) -> tuple[Year | None, bool]:
        if self.place.night_monthly_c is not None:
            return Year(soil_model.daily_from_monthly(self.place.night_monthly_c)), False
        if self.place.daily_minima_c is not None:
            try:
                return Year(soil_model.daily_from_measured(self.place.daily_minima_c)[0]), True
            except InputError:  # a record of half the year has no nights of the other half
                return None, False
        return None, False

    def frost_left(self, date: Date) -> float:
        """Chance of a frost later than the date, in spring."""
        if date not in self._left:
            self._left[date] = self.place.spring.chance_after(_near(date, self.last_frost))
        return self._left[date]

    def frost_come(self, date: Date) -> float | None:
        """Chance that the first frost of this season's autumn has come by the date; None where no autumn dates are given."""
        if self.place.autumn is None:
            return None
        if date not in self._come:
            near = _near(date, self.first_frost) if self.first_frost is not None else date
            self._come[date] = self.place.autumn.chance_before(near)
        return self._come[date]

    def damage_chance(self, damage_c: tuple[float, float], date: Date) -> tuple[float, float] | None:
        """Share of the record's years in which damage came after the date: the greatest cold named, measured in the
        screen, and the least, with plants colder than the screen. None without a record.
        """
        if self.place.daily_minima_c is None:
            return None
        severe, mild = sorted(damage_c)
        return self._share_after(severe, date), self._share_after(mild - (self.colder_c or 0.0), date)

    def _share_after(self, threshold_c: float, date: Date) -> float:
        from cropdata.agronomy.frost_record import season_ends, share_after

        if threshold_c not in self._ends:
            assert self.place.daily_minima_c is not None
            self._ends[threshold_c] = season_ends(self.place.daily_minima_c, threshold_c)
        return share_after(*self._ends[threshold_c], date)

    def as_place(self) -> PlanPlace:
        """As the plan shows it."""
        place = self.place
        return PlanPlace(
            place.name, place.frost_source, place.spring.threshold_c, None if place.counted_from else self.last_frost, self.risk,
            self.risk_date, self.first_frost, self.bench_c, place.shelf_trays, self.last_frost,
        )  # fmt: skip

    @property
    def turn(self) -> Date | None:
        """Midway from the last frost of spring to the first of autumn; from then on the autumn's is the frost to fear."""
        return self.last_frost + (self.first_frost - self.last_frost) / 2 if self.first_frost else None

    def frost_days(self, first: Date, last: Date) -> tuple[FrostDay, ...]:
        """Week by week, the chance of a frost still to come or come already: each in its own half of the season."""
        turn, days = self.turn, []
        for number in range(0, (last - first).days + 7, 7):
            date = days_after(first, number)
            spring = self.frost_left(date) if turn is None or date < turn else None
            days.append(FrostDay(date, spring, self.frost_come(date) if turn is not None and date >= turn else None))
        return tuple(days)
