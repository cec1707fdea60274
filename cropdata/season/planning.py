"""From a season to its plan: for each packet where and when to sow, what to expect, when to plant out, at what risk."""

from __future__ import annotations

import datetime
import math
import os
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from cropdata.agronomy import emergence, soil, sowing
from cropdata.agronomy.frost import FrostCurve
from cropdata.agronomy.windows import Window, days_after, not_before, offset_window, sowing_window
from cropdata.catalog import Catalog, Crop, Range, open_catalog
from cropdata.errors import InputError, NoUsableEstimate
from cropdata.season.season_file import UNDER_COVER, Packet, Place, Season, read_season

HALF_HARDY = 3
AVERAGE = 0.5
LONGEST_WAIT = 120


class PlannedSowing(NamedTuple):
    """One packet's line of the plan. Dates are None where nothing is recorded to reckon them from.

    `frost_left` is the chance of a later frost on the first day of planting out (under cover) or on the day
    that seedlings are expected (in place); `assumed_germination` is the rate that `seeds` is reckoned with where
    the packet was not tested; `notes` are sentences, cautions among them; `sources` the ids used.
    """

    crop_id: str
    crop: str
    variety: str | None
    where: str
    sow: Window | None
    depth_mm: tuple[float, float] | None
    best_c: tuple[float, float] | None
    emergence_days: tuple[float, float] | None
    seedlings: Window | None
    give_up_days: int | None
    plant_out: Window | None
    frost_left: float | None
    seeds: int | None
    plants: int | None
    assumed_germination: float | None
    notes: tuple[str, ...]
    sources: tuple[str, ...]


class Plan(NamedTuple):
    """A season's plan, in the order of sowing dates."""

    season: Season
    data_version: str
    last_frost: datetime.date
    risk: float
    risk_date: datetime.date
    sowings: tuple[PlannedSowing, ...]
    warnings: tuple[str, ...] = ()


class _Draft:
    """Notes and sources gathered while one packet is planned."""

    def __init__(self) -> None:
        self.notes: list[str] = []
        self.sources: set[str] = set()

    def use(self, value: Range | None) -> None:
        if value is not None:
            self.sources.update(value.sources)


def plan_season(season: Season | str | os.PathLike[str], catalog: Catalog | None = None) -> Plan:
    """Plan a season (read from a file where a path is given).

    The average last frost is the date with an even chance of a later one; weeks in the evidence count from it,
    also where a source does not say which frost it means. A tender crop is planted out no earlier than the date
    at which the chance of a later frost has fallen to the stated risk.

    Raises InputError for a season file with mistakes.
    """
    catalog = catalog or open_catalog()
    if not isinstance(season, Season):
        season = read_season(season, catalog)
    place = season.place
    # A record's warnings (short, gaps) belong to the plan as a whole.
    warnings = place.spring.warnings if isinstance(place.spring, FrostCurve) else ()
    last_frost = _date(place, AVERAGE, season.year)
    risk = place.risk if place.risk is not None else float(catalog.rule("planting_out_risk")["low"])
    risk_date = _date(place, risk, season.year)
    sowings = [_plan_packet(packet, season, catalog, last_frost, risk, risk_date) for packet in season.packets]
    far = datetime.date.max
    sowings.sort(key=lambda line: (line.sow.first if line.sow else far, line.crop))
    return Plan(season, catalog.version, last_frost, risk, risk_date, tuple(sowings), warnings)


def _date(place: Place, chance: float, year: int) -> datetime.date:
    date = place.spring.date_at(chance, year)
    if not isinstance(date, datetime.date):
        raise InputError(
            f"frost is rarer there than {100 * chance:.0f} % of years", found=place.name,
            hint="a season is counted from the last frost; state a greater risk, or sow by soil warmth alone",
        )  # fmt: skip
    return date


def _is_tender(crop: Crop) -> bool:
    """Tender when the middle of what sources say lies nearer to tender than to half-hardy; unknown counts as tender."""
    rank = crop.frost_tolerance
    return rank is None or (rank.low + rank.high) / 2 < HALF_HARDY - 0.5


def _plan_packet(
    packet: Packet,
    season: Season,
    catalog: Catalog,
    last_frost: datetime.date,
    risk: float,
    risk_date: datetime.date,
) -> PlannedSowing:
    crop, place, draft = packet.crop, season.place, _Draft()
    in_place = packet.method == "in_place" if packet.method else not _raised(crop)
    if packet.method in UNDER_COVER and crop.status("weeks_to_raise") == "not_applicable":
        saying = crop.not_done("weeks_to_raise")
        draft.notes.append(
            f"Sources say that it is sown in place and not raised under cover ({', '.join(saying.sources) if saying else ''})."
        )
        in_place = True
    earliest = risk_date if _is_tender(crop) else None
    if crop.frost_tolerance is None:
        draft.notes.append("Its frost tolerance is not recorded: treated as tender.")
    if in_place:
        sow, plant_out, wait, seedlings, frost_left = _in_place(crop, place, last_frost, earliest, draft)
    else:
        sow, plant_out, wait, seedlings, frost_left = _under_cover(crop, place, last_frost, earliest, draft)
    for value in (crop.sowing_depth, crop.frost_tolerance):
        draft.use(value)
    seeds, assumed = _seeds(packet, season.year, catalog, draft)
    best = _best(crop, place, in_place, draft)
    give_up = _give_up(crop, wait, None if in_place else place.bench_night_c, catalog, draft)
    _risk_notes(crop, frost_left, risk, draft)
    _own_risk(crop, place, plant_out.first if plant_out else seedlings.first if seedlings else None, catalog, draft)
    _cautions(crop, draft)
    return PlannedSowing(
        crop.id, crop.name, packet.variety,
        "in place" if in_place else f"under cover{f' ({packet.method})' if packet.method else ''}",
        sow, (crop.sowing_depth.low, crop.sowing_depth.high) if crop.sowing_depth else None, best,
        wait, seedlings, give_up, plant_out, frost_left, seeds, packet.plants, assumed, tuple(draft.notes), tuple(sorted(draft.sources)),
    )  # fmt: skip


def _raised(crop: Crop) -> bool:
    return bool(crop.weeks_to_raise or crop.weeks_before_last_frost)


# Under cover

_Times = tuple[Window | None, Window | None, tuple[float, float] | None, Window | None, float | None]


def _under_cover(
    crop: Crop, place: Place, last_frost: datetime.date, earliest: datetime.date | None, draft: _Draft
) -> _Times:
    weeks, offset, before = crop.weeks_to_raise, crop.planting_out_weeks, crop.weeks_before_last_frost
    plant_out = _planting_out(crop, last_frost, earliest, draft)
    sow = None
    if weeks and plant_out:
        sow = sowing_window(plant_out.first, weeks.low, weeks.high)
        draft.use(weeks)
    elif before:
        sow = sowing_window(last_frost, before.low, before.high)
        draft.use(before)
        draft.notes.append("Sown by weeks before the last frost; weeks to raise or planting out are not recorded.")
    else:
        draft.notes.append("Nothing is recorded of how long it is raised under cover: no sowing date can be reckoned.")
    if before and not before.derived_from and weeks and offset:
        _mind_the_gap(sow, sowing_window(last_frost, before.low, before.high), draft)
    wait = _wait(crop, (place.bench_day_c, place.bench_night_c), draft)
    seedlings = Window(days_after(sow.first, wait[0]), days_after(sow.last, wait[1])) if sow and wait else None
    if seedlings and plant_out and seedlings.first > plant_out.first:
        draft.notes.append(
            f"At this bench the first seedlings come about {_day(seedlings.first)}, later than planting out begins: keep it warmer."
        )
    frost_left = place.spring.chance_after(plant_out.first) if plant_out else None
    return sow, plant_out, wait, seedlings, frost_left


def _planting_out(
    crop: Crop, last_frost: datetime.date, earliest: datetime.date | None, draft: _Draft
) -> Window | None:
    offset, weeks, before = crop.planting_out_weeks, crop.weeks_to_raise, crop.weeks_before_last_frost
    window = None
    if offset:
        window = offset_window(last_frost, offset.low, offset.high)
        draft.use(offset)
        if (window.last - window.first).days < 7:
            window = Window(window.first, days_after(window.first, 14))
    elif weeks and before:
        middle = (weeks.low + weeks.high - before.low - before.high) / 2
        window = offset_window(last_frost, middle, middle + 2)
        draft.use(before)
        draft.notes.append("Planting out is reckoned from weeks to raise less weeks before the last frost.")
    if earliest is not None:
        if window is None:
            window = Window(earliest, days_after(earliest, 14))
            draft.notes.append("Planting-out time is not recorded: set by the frost risk alone.")
        elif window.first < earliest:
            window = not_before(window, earliest)
            draft.notes.append(f"Planting out moved to {_day(earliest)}, when the stated frost risk is reached.")
    return window


def _mind_the_gap(reckoned: Window | None, printed: Window, draft: _Draft) -> None:
    if reckoned and (printed.first - reckoned.last).days > 14:
        draft.notes.append(f"Printed weeks before the last frost would sow later, {_span(printed)}.")
    elif reckoned and (reckoned.first - printed.last).days > 14:
        draft.notes.append(f"Printed weeks before the last frost would sow earlier, {_span(printed)}.")


def _wait(crop: Crop, bench: tuple[float | None, float | None], draft: _Draft) -> tuple[float, float] | None:
    """Days to seedlings at the bench: first at the mean of day and night, low and high."""
    day, night = bench
    if day is None or night is None:
        plain = crop.emergence_range
        draft.use(plain)
        return (plain.low, plain.high) if plain else None
    estimate = crop.days_to_emergence((day + night) / 2)
    if estimate is None:
        draft.notes.append("Days to emergence are not recorded.")
        return None
    draft.sources.update(estimate.sources)
    if not math.isfinite(float(estimate.expected)):
        what = "outside what was tested" if estimate.extrapolated else "next to a temperature at which nothing came up"
        draft.notes.append(f"A bench at {(day + night) / 2:g} °C is {what} for it: no days can be given.")
        return None
    return float(estimate.low), float(estimate.high)


# In place


def _in_place(
    crop: Crop, place: Place, last_frost: datetime.date, earliest: datetime.date | None, draft: _Draft
) -> _Times:
    offset = crop.direct_sowing_weeks
    if offset is None:
        draft.notes.append("Direct sowing time is not recorded: no sowing date can be reckoned.")
        return None, None, None, None, None
    draft.use(offset)
    sow = offset_window(last_frost, offset.low, offset.high)
    if (sow.last - sow.first).days < 14:
        sow = Window(sow.first, days_after(sow.first, 14))
    at = soil.daily_from_monthly(place.soil_monthly_c) if place.soil_monthly_c else None
    if at is None:
        draft.notes.append("No soil temperature given for the place: check that the soil is warm enough before sowing.")
        if earliest:
            sow = not_before(sow, days_after(earliest, -7))
        plain = crop.emergence_range
        draft.use(plain)
        wait = (plain.low, plain.high) if plain else None
    else:
        sow = _warm_enough(crop, sow, at, draft)
        wait = _soil_wait(crop, sow.first, at, draft)
        if earliest and wait and days_after(sow.first, wait[0]) < earliest:
            sow = not_before(sow, days_after(earliest, -wait[0]))
            wait = _soil_wait(crop, sow.first, at, draft)
            draft.notes.append(
                f"Sown so that seedlings do not come before {_day(earliest)}, when the stated frost risk is reached."
            )
    seedlings = Window(days_after(sow.first, wait[0]), days_after(sow.last, wait[1])) if wait else None
    frost_left = place.spring.chance_after(seedlings.first if seedlings else sow.first)
    return sow, None, wait, seedlings, frost_left


def _warm_enough(crop: Crop, sow: Window, at: Callable[[datetime.date], float], draft: _Draft) -> Window:
    limits = crop.germination_temperature
    if limits is None or limits.minimum is None:
        draft.notes.append("Its least germination temperature is not recorded: the soil date is not reckoned.")
        return sow
    draft.sources.update(limits.sources)
    warm = soil.first_warm_date(at, limits.minimum, sow.first)
    if warm is None:
        draft.notes.append(f"The soil never holds {limits.minimum:.0f} °C for a week here.")
        return sow
    if warm > sow.first:
        practical = crop.practical_minimum_c
        better = (
            f"; below {practical:.0f} °C it is slow and thin"
            if practical is not None and practical > limits.minimum
            else ""
        )
        draft.notes.append(
            f"Soil reaches its least temperature of {limits.minimum:.0f} °C about {_day(warm)} in an average year{better}."
        )
        return not_before(sow, warm)
    return sow


def _soil_wait(
    crop: Crop, start: datetime.date, at: Callable[[datetime.date], float], draft: _Draft
) -> tuple[float, float] | None:
    """Days to seedlings in soil that warms up: daily rates are summed; the printed range where there is no table."""
    temps = soil.series(at, start, LONGEST_WAIT)
    estimate = crop.days_to_emergence(temps)
    if estimate is None:
        draft.notes.append("Days to emergence are not recorded.")
        return None
    draft.sources.update(estimate.sources)

    def days(each: np.ndarray) -> int:
        rates = np.where(np.isfinite(each), 1 / np.where(np.isfinite(each), each, 1.0), 0.0)
        return int(emergence.accumulate(temps, rates))

    low, high = days(np.asarray(estimate.low)), days(np.asarray(estimate.high))
    expected = days(np.asarray(estimate.expected))
    if expected < 0:
        draft.notes.append("The soil is outside what was tested for it: no days can be given.")
        return None
    return float(low if 0 <= low <= expected else expected) + 1, float(high if high >= expected else expected) + 1


# Both


def _best(crop: Crop, place: Place, in_place: bool, draft: _Draft) -> tuple[float, float] | None:
    limits = crop.germination_temperature
    if limits is None or limits.optimum_low is None or limits.optimum_high is None:
        return None
    draft.sources.update(limits.sources)
    night, day = place.bench_night_c, place.bench_day_c
    if not in_place and day is not None and night is not None:
        mean = (day + night) / 2
        if mean < limits.optimum_low - 0.5:
            draft.notes.append(f"The bench ({mean:g} °C on average) is below its best range: slower and fewer.")
        elif mean > limits.optimum_high + 0.5:
            draft.notes.append(f"The bench ({mean:g} °C on average) is above its best range.")
    return limits.optimum_low, limits.optimum_high


def _give_up(
    crop: Crop, wait: tuple[float, float] | None, cool_c: float | None, catalog: Catalog, draft: _Draft
) -> int | None:
    """Days after which a sowing without a seedling has failed: the latest of the cool end and the official count."""
    prescribed = crop.trait("germination_tests")
    final = prescribed.high if isinstance(prescribed, Range) else None
    if isinstance(prescribed, Range):
        draft.use(prescribed)
    if wait is None and final is None:
        return None
    slow = wait[1] * float(catalog.rule("emergence_last")["low"]) if wait else 0.0
    cool = crop.days_to_emergence(cool_c) if cool_c is not None else None
    if cool is not None and math.isfinite(float(cool.last)):
        slow = max(slow, float(cool.last))  # the cool end of the bench, not its mean
    before = [value for row in crop.evidence("pretreatment") if isinstance(value := row["high_days"], float)]
    if before:
        draft.notes.append(
            f"Sources advise treating the seed first (up to {_counted(round(max(before)), 'day')}): see cropdata why {crop.id} pretreatment."
        )
    return emergence.give_up_day(
        slow,
        prescribed_day=final,
        pretreatment_days=max(before, default=0.0),
        quiet_days=float(catalog.rule("give_up_quiet_days")["low"]),
    )


def _seeds(packet: Packet, year: int, catalog: Catalog, draft: _Draft) -> tuple[int | None, float | None]:
    """Seeds to sow, and the germination assumed where there is no test: the legal minimum."""
    _age_note(packet, year, draft)
    if packet.plants is None:
        return None, None
    confidence = float(catalog.rule("seedling_confidence")["low"])
    standard = packet.crop.germination_standard
    assumed = None
    rate: float | tuple[int, int]
    if packet.tested is not None:
        rate = packet.tested
    elif standard is not None:
        rate = assumed = standard.low / 100
        draft.use(standard)
    else:
        draft.notes.append("No test and no legal minimum to reckon the seeds from: test ten or more first.")
        return None, None
    try:
        return sowing.seeds_needed(packet.plants, rate, confidence), assumed
    except NoUsableEstimate as error:
        draft.notes.append(f"{str(error)[0].upper()}{str(error)[1:]}.")
        return None, None


def _age_note(packet: Packet, year: int, draft: _Draft) -> None:
    life = packet.crop.seed_longevity
    if packet.packed is None or life is None:
        return
    age = year - packet.packed
    draft.use(life)
    span = _counted(life.low, "year") if life.low == life.high else f"{life.low:g} to {_counted(life.high, 'year')}"
    old = f"Seed is {_counted(age, 'year')} old"
    if age > life.high:
        draft.notes.append(f"{old}, beyond the {span} that sources give it: test before sowing, or buy new.")
    elif age > life.low:
        draft.notes.append(f"{old}; sources give it {span}: test before sowing.")


def _risk_notes(crop: Crop, frost_left: float | None, risk: float, draft: _Draft) -> None:
    damage = crop.frost_damage
    if frost_left is not None and frost_left > risk + 0.005 and damage is not None and not _is_tender(crop):
        draft.use(damage)
        draft.notes.append(_damage_words(damage))


def _damage_words(damage: Range) -> str:
    """What sources say of frost on a crop that is not tender, from where to where."""
    mild, severe = f"{damage.high:.0f} °C", f"{damage.low:.0f} °C"
    if damage.open_low:
        return f"Stands light frost: sources report damage below about {mild}."
    if damage.agreement == "disagree" and mild != severe:
        return (
            f"Sources disagree how much frost harms it: they report damage at anything from about {mild} to {severe}."
        )
    stands = "Stands light frost: sources" if damage.high <= -1 else "Sources"
    return f"{stands} report damage from about {mild} down{f' to {severe}' if mild != severe else ''}."


def _own_risk(crop: Crop, place: Place, date: datetime.date | None, catalog: Catalog, draft: _Draft) -> None:
    """With a daily record: how often the crop's own damage temperature came after the date."""
    damage = crop.frost_damage
    if place.daily_minima_c is None or damage is None or date is None:
        return
    from cropdata.agronomy.frost import damage_risk

    colder = catalog.rule("plant_minus_screen")
    bold, _ = damage_risk(place.daily_minima_c, date, (damage.low, damage.high))
    _, cautious = damage_risk(
        place.daily_minima_c, date, (damage.low, damage.high), plant_minus_screen_c=float(colder["low"])
    )
    draft.use(damage)
    draft.notes.append(
        f"In the record its own damage temperature came after {_day(date)} in {100 * bold:.0f} % of years (in the screen, least cold "
        f"that harms) to {100 * cautious:.0f} % (plants {-float(colder['low']):.0f} °C colder than the screen)."
    )


def _cautions(crop: Crop, draft: _Draft) -> None:
    cautions = [row for row in crop.cautions if row["kind"] in ("toxic", "skin", "invasive")]
    if cautions:
        words = "; ".join(dict.fromkeys(f"{row['kind']}: {row['hazard']}" for row in cautions))
        draft.notes.append(f"Caution, {words}. The label, local rules and qualified advice come first.")
        draft.sources.update(str(row["source_id"]) for row in cautions)


def _counted(number: float, what: str) -> str:
    return f"{number:g} {what}{'' if number == 1 else 's'}"


def _day(date: datetime.date) -> str:
    return f"{date.day} {date:%b}"


def _span(window: Window) -> str:
    return _day(window.first) if window.first == window.last else f"{_day(window.first)} to {_day(window.last)}"
