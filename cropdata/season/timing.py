"""When a crop is sown and planted out at a place: windows counted from the frost dates, moved for soil and nights.

Weeks to raise, weeks from the frost to planting out and weeks before the frost to sowing are three figures and are
never pooled; all count from the date with an even chance of a later frost.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import NamedTuple

from cropdata.agronomy.windows import Window, days_after, not_before, offset_window, sowing_window
from cropdata.catalog import Crop, Range
from cropdata.season.drafting import Draft, figures
from cropdata.season.site import Site

HALF_HARDY = 3
RELEASE = "release"
# One printed number of weeks is no single day; windows so narrow are widened to these days: common practice, no source.
WEEK = 7
FORTNIGHT = 14
DANGER_PAST = "danger_past"  # how a source's row says that it waits for the end of all frost


class Timing(NamedTuple):
    """When to sow and when to plant out, and the first day on which it is safe outside (None: any).

    `never`: why the place has no day for it, where that is so. `out_from`: the first day of planting out by its weeks,
    where the plan's own begins later because it is sown later; it holds for what the grower sows on another day.
    """

    sow: Window | None
    plant_out: Window | None
    safe_from: datetime.date | None
    never: str = ""
    out_from: datetime.date | None = None


class Told(NamedTuple):
    """What is said of the timing: `always`, of a reckoned `window` only, and while planting out `waits` for something."""

    always: Draft
    window: Draft
    waits: Draft


def is_tender(crop: Crop) -> bool:
    """Tender when the middle of what sources say lies nearer to tender than to half-hardy.

    Where none says it, unknown counts as tender, unless they print a date outside no later than the last frost.
    """
    rank = crop.frost_tolerance
    return not outside_by_the_frost(crop) if rank is None else _middle(rank) < HALF_HARDY - 0.5


def outside_by_the_frost(crop: Crop) -> bool:
    """Whether the published weeks have it stand outside at the last frost or before, and none speaks against it.

    From a sowing in place the slowest printed seedlings are up by then. A source that waits until the danger of frost is
    past speaks against it, and so do weeks whose middle lies after the last frost, recalled ones too: a mistake here
    costs the crop.
    """
    out, sown = crop.planting_out_weeks, crop.direct_sowing_weeks
    rows = (row for table in ("planting_out_weeks", "direct_sowing_weeks") for row in crop.evidence(table))
    if any(row.get("frost_reference") == DANGER_PAST and row["set_aside"] is None for row in rows):
        return False
    if any(weeks is not None and _middle(weeks) > 0 for weeks in (out, sown)):
        return False
    if _published(out) is not None:
        return True
    if sown is not None and _published(sown) is not None:
        days = crop.emergence_range
        return sown.high + (days.high if days is not None else FORTNIGHT) / 7 <= 0
    raised, before = _published(crop.weeks_to_raise), _published(crop.weeks_before_last_frost)
    return raised is not None and before is not None and _middle(raised) <= _middle(before)


def _published(weeks: Range | None) -> Range | None:
    return weeks if weeks is not None and weeks.basis == "published" and not weeks.derived_from else None


def _middle(value: Range) -> float:
    return (value.low + value.high) / 2


def is_raised(crop: Crop) -> bool:
    """Whether anything is recorded of raising it under cover."""
    return bool(crop.weeks_to_raise or crop.weeks_before_last_frost)


Least = tuple[float | None, str]  # warmth in °C, None where not recorded; what to say of it


def under_cover(crop: Crop, site: Site, night_c: Least, soil_c: Least, told: Told) -> Timing:
    """Sown under cover and planted out in spring.

    `night_c` and `soil_c` are the least warmth that young plants of it want outside.
    """
    safe = safe_from(crop, site, night_c, soil_c, told)
    weeks, before = crop.weeks_to_raise, crop.weeks_before_last_frost
    usual = _by_weeks(crop, site, told)
    out_from = usual.first if usual else None
    direct = _by_direct_statement(crop, site, usual, told) if usual and weeks else None
    if direct is not None and usual and weeks:
        # It goes out no sooner than it is raised, counted from the first and the last day of sowing.
        usual = Window(
            max(usual.first, days_after(direct.first, 7 * weeks.low)),
            max(usual.last, days_after(direct.last, 7 * weeks.low)),
        )
    plant_out = _planting_out(usual, site, safe, told)
    sow = None
    if direct is not None and usual and plant_out and weeks:
        later = (plant_out.first - usual.first).days
        sow = direct.moved(days_after(direct.first, later))
        plant_out = Window(plant_out.first, max(plant_out.last, days_after(sow.last, 7 * weeks.low)))
    elif weeks and plant_out:
        sow = sowing_window(plant_out.first, weeks.low, weeks.high)
        # One printed number of weeks is no single day: sown for all the days of planting out, at most a fortnight.
        sow = _some_days(sow, min(FORTNIGHT, (plant_out.last - plant_out.first).days))
        told.always.use(weeks)
    elif before:
        sow = _some_days(sowing_window(site.last_frost, before.low, before.high))
        told.always.use(before)
        told.window.say("Sown by weeks before the last frost; weeks to raise or planting out are not recorded.")
    elif weeks:
        told.always.use(weeks)
        told.window.say(
            f"It is raised {figures(weeks.low, weeks.high)} weeks, but its planting-out time is not recorded: no sowing date can be reckoned; "
            "state a day (sow)."
        )
    else:
        told.window.say("Nothing is recorded of how long it is raised under cover: no sowing date can be reckoned.")
    return Timing(sow, plant_out, safe, out_from=out_from)


def _some_days(window: Window, days: int = FORTNIGHT, least: int = WEEK) -> Window:
    """The window, with so many days from its first on where the sources' weeks have less than `least` between them."""
    if (window.last - window.first).days >= least:
        return window
    return Window(window.first, max(window.last, days_after(window.first, days)))


def _by_direct_statement(crop: Crop, site: Site, usual: Window, told: Told) -> Window | None:
    """The sowing by published weeks before the last frost, where it lies more than a fortnight from that reckoned from
    weeks to raise and the recorded planting-out time: the direct statement decides. None where they agree.

    What a grower's own layer says alone decides over what the release says, whichever of the three it is.
    """
    weeks, before = crop.weeks_to_raise, _published(crop.weeks_before_last_frost)
    if weeks is None or before is None or crop.planting_out_weeks is None:
        return None
    words = told.window.words
    direct = sowing_window(site.last_frost, before.low, before.high)
    reckoned = sowing_window(usual.first, weeks.low, weeks.high)
    own = _own_alone(crop, "weeks_before_last_frost")
    if not own and max((direct.first - reckoned.last).days, (reckoned.first - direct.last).days) <= FORTNIGHT:
        return None
    told.always.use(weeks)
    told.always.use(before)
    other = f"{words.span(*reckoned)} by weeks to raise and planting out."
    if own:
        told.window.say(
            f"Sown {words.span(*direct)} by the weeks before the last frost of your layer {before.layer}; {other}"
        )
    elif _own_alone(crop, "weeks_to_raise") or _own_alone(crop, "planting_out_weeks"):
        told.window.say(
            f"Printed weeks before the last frost would sow it {words.span(*direct)}; your layer's figures stand."
        )
        return None
    else:
        told.window.say(
            f"Sources disagree when to sow it: {words.span(*direct)} by printed weeks before the last frost, which the plan follows; {other}"
        )
    return _some_days(direct)


def _own_alone(crop: Crop, table: str) -> bool:
    """Whether layers alone answer, none of the release's rows with them."""
    rows = [row for row in crop.evidence(table) if row["set_aside"] is None]
    return bool(rows) and all(row["layer"] != RELEASE for row in rows)


def safe_from(crop: Crop, site: Site, night_c: Least, soil_c: Least, told: Told) -> datetime.date | None:
    """The latest of the frost-risk date, the nights and the soil, as far as they are known."""
    words = told.waits.words
    dates = [site.risk_date] if is_tender(crop) and site.risk_date is not None else []
    for (wanted, why), year, what in ((night_c, site.nights, "Nights"), (soil_c, site.soil, "The soil")):  # fmt: skip
        if wanted is None or year is None:
            continue
        warm = year.warms(wanted, site.last_frost)
        holds = "hold" if what == "Nights" else "holds"
        warmth = words.warmth((wanted, wanted))
        if warm is None:
            told.always.say(f"{what} never {holds} {warmth} for a week here: it may stand still outside.")
            continue
        if not dates or warm > max(dates):
            told.waits.say(
                f"{what} {holds} {warmth}{why} from about {words.day(warm)}, in an average year: planting out waits for it."
            )
        dates.append(warm)
    return max(dates) if dates else None


def _by_weeks(crop: Crop, site: Site, told: Told) -> Window | None:
    """Planting out by its weeks from the last frost, wherever the place is; None where they are not recorded."""
    offset, weeks, before = crop.planting_out_weeks, crop.weeks_to_raise, crop.weeks_before_last_frost
    if offset:
        told.always.use(offset)
        return _some_days(offset_window(site.last_frost, offset.low, offset.high))
    if weeks and before:
        middle = _middle(weeks) - _middle(before)
        told.always.use(before)
        told.window.say("Planting out is reckoned from weeks to raise less weeks before the last frost.")
        return offset_window(site.last_frost, middle, middle + 2)
    return None


def _planting_out(usual: Window | None, site: Site, safe: datetime.date | None, told: Told) -> Window | None:
    """Planting out by its weeks, not before it is safe."""
    if safe is None:
        return usual
    if usual is None:
        told.window.say("Planting-out time is not recorded: set by frost risk and warmth alone.")
        return Window(safe, days_after(safe, FORTNIGHT))
    if usual.first < safe and safe == site.risk_date:
        told.waits.say(f"Planting out moved to {told.waits.words.day(safe)}, when the stated frost risk is reached.")
    moved = not_before(usual, safe)
    if moved.last > usual.last:
        told.window.say(f"By its weeks from the last frost alone it would go out {told.window.words.span(*usual)}.")
    return moved


def in_place(crop: Crop, site: Site, fewest: Callable[[datetime.date], float], told: Told) -> Timing:
    """Sown in place in spring: from the printed weeks and the date on which the soil is warm enough.

    `fewest`: days from a sowing on that day to its first seedlings, 0 where nobody knows; a tender crop is sown so late
    that they do not come before the frost risk is reached.
    """
    offset, safe = crop.direct_sowing_weeks, site.risk_date if is_tender(crop) else None
    if offset is None:
        told.window.say("Direct sowing time is not recorded: no sowing date can be reckoned.")
        return Timing(None, None, safe)
    told.always.use(offset)
    words = told.window.words
    printed = offset_window(site.last_frost, offset.low, offset.high)
    usual = _some_days(printed, least=FORTNIGHT)
    sow: Window | None = usual
    if site.soil is None:
        told.always.say("No soil temperature given for the place: check that the soil is warm enough before sowing.")
    else:
        sow = _warm_enough(crop, site, usual, told)
    if sow is None:
        return Timing(None, None, safe, "the soil is never warm enough to sow it in place.")
    if safe is not None and days_after(sow.first, fewest(sow.first)) < safe:
        told.window.say(
            f"Sown so that seedlings do not come before {words.day(safe)}, when the stated frost risk is reached."
        )
        # Later seedlings come sooner: each day is held against its own wait.
        day = max(sow.first, days_after(safe, -fewest(sow.first)))
        while days_after(day, fewest(day)) < safe:
            day = days_after(day, 1)
        sow = not_before(sow, day)
    if sow.last > usual.last:
        told.window.say(
            f"Sources sow it until {words.day(printed.last)} at the latest: soil or frost makes it later here."
        )
    return Timing(sow, None, safe)


def _warm_enough(crop: Crop, site: Site, sow: Window, told: Told) -> Window | None:
    """The window from the day on which the soil is warm enough to germinate in; None where it never is."""
    limits, words = crop.germination_temperature, told.window.words
    if limits is None or limits.minimum is None or site.soil is None:
        told.window.say("Its least germination temperature is not recorded: the soil date is not reckoned.")
        return sow
    told.always.use(limits)
    least = words.warmth((limits.minimum, limits.minimum))
    warm = site.soil.first_warm(limits.minimum, sow.first)
    if warm is None:
        told.window.say(f"The soil never holds {least}, its least to germinate, for a week here: it is not sown in place.")  # fmt: skip
        return None
    if warm <= sow.first:
        return sow
    practical, low, high = crop.practical_minimum_c, limits.optimum_low, limits.optimum_high
    better = ""
    if practical is not None and practical > limits.minimum:
        better = f"by the table of days it is slow and thin below {words.warmth((practical, practical))}"
        if low is not None and high is not None and low < practical:  # the two do not agree
            better = f"sources' best range {words.warmth((low, high))}; {better}"
        better = f"; {better}"
    told.window.say(f"Soil reaches its least temperature of {least} about {words.day(warm)} in an average year{better}.")  # fmt: skip
    return not_before(sow, warm)
