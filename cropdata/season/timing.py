"""When a crop is sown and planted out at a place: windows counted from the frost dates, moved for soil and nights.

Weeks to raise, weeks from the frost to planting out and weeks before the frost to sowing are three figures and are
never pooled; all count from the date with an even chance of a later frost.
"""

from __future__ import annotations

import datetime
from typing import NamedTuple

from cropdata.agronomy.windows import Window, days_after, not_before, offset_window, sowing_window
from cropdata.catalog import Crop, Range
from cropdata.catalog.consensus import Joined
from cropdata.season.drafting import Draft, figures
from cropdata.season.site import Site

HALF_HARDY = 3
FORTNIGHT = 14


class Timing(NamedTuple):
    """When to sow and when to plant out, and the first day on which it is safe outside (None: any).

    `never`: why the place has no day for it, where that is so.
    """

    sow: Window | None
    plant_out: Window | None
    safe_from: datetime.date | None
    never: str = ""


def is_tender(crop: Crop) -> bool:
    """Tender when the middle of what sources say lies nearer to tender than to half-hardy; unknown counts as tender."""
    rank = crop.frost_tolerance
    return rank is None or (rank.low + rank.high) / 2 < HALF_HARDY - 0.5


def is_raised(crop: Crop) -> bool:
    """Whether anything is recorded of raising it under cover."""
    return bool(crop.weeks_to_raise or crop.weeks_before_last_frost)


Least = tuple[float | None, str]  # warmth in °C, None where not recorded; what to say of it


def under_cover(crop: Crop, site: Site, night_c: Least, soil_c: Least, draft: Draft, waits: Draft) -> Timing:
    """Sown under cover and planted out in spring.

    `night_c` and `soil_c` are the least warmth that young plants of it want outside. `waits` is told what planting out
    waits for.
    """
    safe = _safe_from(crop, site, night_c, soil_c, waits)
    weeks, before = crop.weeks_to_raise, crop.weeks_before_last_frost
    plant_out = _planting_out(crop, site, safe, draft, waits)
    sow = None
    if weeks and plant_out:
        sow = sowing_window(plant_out.first, weeks.low, weeks.high)
        draft.use(weeks)
    elif before:
        sow = sowing_window(site.last_frost, before.low, before.high)
        draft.use(before)
        draft.say("Sown by weeks before the last frost; weeks to raise or planting out are not recorded.")
    else:
        draft.say("Nothing is recorded of how long it is raised under cover: no sowing date can be reckoned.")
    if before and not before.derived_from and weeks and crop.planting_out_weeks:
        _mind_the_gap(sow, sowing_window(site.last_frost, before.low, before.high), draft)
    return Timing(sow, plant_out, safe)


def _safe_from(crop: Crop, site: Site, night_c: Least, soil_c: Least, draft: Draft) -> datetime.date | None:
    """The latest of the frost-risk date, the nights and the soil, as far as they are known."""
    day = draft.words.day
    dates = [site.risk_date] if is_tender(crop) and site.risk_date is not None else []
    for (wanted, why), year, what in ((night_c, site.nights, "Nights"), (soil_c, site.soil, "The soil")):  # fmt: skip
        if wanted is None or year is None:
            continue
        warm = year.warms(wanted, site.last_frost)
        holds = "hold" if what == "Nights" else "holds"
        warmth = draft.words.warmth((wanted, wanted))
        if warm is None:
            draft.say(f"{what} never {holds} {warmth} for a week here: it may stand still outside.")
            continue
        if not dates or warm > max(dates):
            draft.say(
                f"{what} {holds} {warmth}{why} from about {day(warm)}, in an average year: planting out waits for it."
            )
        dates.append(warm)
    return max(dates) if dates else None


def _planting_out(crop: Crop, site: Site, safe: datetime.date | None, draft: Draft, waits: Draft) -> Window | None:
    offset, weeks, before = crop.planting_out_weeks, crop.weeks_to_raise, crop.weeks_before_last_frost
    window = None
    if offset:
        window = offset_window(site.last_frost, offset.low, offset.high)
        draft.use(offset)
        if (window.last - window.first).days < 7:
            window = Window(window.first, days_after(window.first, FORTNIGHT))
    elif weeks and before:
        middle = (weeks.low + weeks.high - before.low - before.high) / 2
        window = offset_window(site.last_frost, middle, middle + 2)
        draft.use(before)
        draft.say("Planting out is reckoned from weeks to raise less weeks before the last frost.")
    if safe is None:
        return window
    if window is None:
        draft.say("Planting-out time is not recorded: set by frost risk and warmth alone.")
        return Window(safe, days_after(safe, FORTNIGHT))
    if window.first < safe:
        if safe == site.risk_date:
            waits.say(f"Planting out moved to {draft.words.day(safe)}, when the stated frost risk is reached.")
        return not_before(window, safe)
    return window


def _mind_the_gap(reckoned: Window | None, printed: Window, draft: Draft) -> None:
    if reckoned is None:
        return
    gap = max((printed.first - reckoned.last).days, (reckoned.first - printed.last).days)
    if gap > FORTNIGHT:
        later = "later" if printed.first > reckoned.last else "earlier"
        draft.say(f"Printed weeks before the last frost would sow {later}, {draft.words.span(*printed)}.")


def in_place(crop: Crop, site: Site, draft: Draft) -> Timing:
    """Sown in place in spring: from the printed weeks and the date on which the soil is warm enough."""
    offset, safe = crop.direct_sowing_weeks, site.risk_date if is_tender(crop) else None
    if offset is None:
        draft.say("Direct sowing time is not recorded: no sowing date can be reckoned.")
        return Timing(None, None, safe)
    draft.use(offset)
    sow = offset_window(site.last_frost, offset.low, offset.high)
    if (sow.last - sow.first).days < FORTNIGHT:
        sow = Window(sow.first, days_after(sow.first, FORTNIGHT))
    if site.soil is None:
        draft.say("No soil temperature given for the place: check that the soil is warm enough before sowing.")
        return Timing(not_before(sow, days_after(safe, -7)) if safe else sow, None, safe)
    warm = _warm_enough(crop, site, sow, draft)
    return Timing(warm, None, safe, "" if warm else "the soil is never warm enough to sow it in place.")


def _warm_enough(crop: Crop, site: Site, sow: Window, draft: Draft) -> Window | None:
    """The window, moved to the day from which the soil is warm enough to germinate in; None where it never is."""
    limits = crop.germination_temperature
    if limits is None or limits.minimum is None or site.soil is None:
        draft.say("Its least germination temperature is not recorded: the soil date is not reckoned.")
        return sow
    draft.use(limits)
    least = draft.words.warmth((limits.minimum, limits.minimum))
    warm = site.soil.first_warm(limits.minimum, sow.first)
    if warm is None:
        draft.say(f"The soil never holds {least}, its least to germinate, for a week here: it is not sown in place.")
        return None
    if warm <= sow.first:
        return sow
    practical = crop.practical_minimum_c
    slow = practical is not None and practical > limits.minimum
    better = f"; below {draft.words.warmth((practical, practical))} it is slow and thin" if slow and practical else ""
    draft.say(
        f"Soil reaches its least temperature of {least} about {draft.words.day(warm)} in an average year{better}."
    )
    return not_before(sow, warm)


def autumn(
    crop: Crop, site: Site, ready: Joined | None, in_place: bool, night_c: Least, soil_c: Least, draft: Draft
) -> Timing:
    """Counted back from the first frost: the printed weeks where there are any, else the days to harvest.

    `ready` is days to harvest from sowing in place or from planting out, as the case is. To them come the days that
    short cool days cost and, for a tender crop, those by which it must be picked before the frost (a published rule).
    A tender crop stands outside no earlier than in spring: where counting back lands before that day there is no window.
    """
    frost, tender = site.first_frost, is_tender(crop)
    if frost is None:
        draft.say("No first frost of autumn is given for the place: no autumn sowing can be reckoned.")
        return Timing(None, None, None)
    # What spring waits for is told only where the autumn has to wait for it too.
    safe = _safe_from(crop, site, night_c, soil_c, Draft(draft.words)) if tender else None
    outside, never = _counted_back(crop, site, ready, in_place, draft), ""
    if outside is not None and in_place and not _warm_in_time(crop, site, outside, draft):
        outside, never = None, "the soil is too cold to sow it in place for the autumn."
    if outside is not None and safe is not None and outside.first < safe:
        if outside.last < safe:
            draft.say(
                f"The season is too short: counted back from the first frost it would stand outside by {draft.words.day(outside.last)}, "
                f"and it is safe there from {draft.words.day(safe)} on."
            )
            outside, never = None, "the season is too short for it between the last frost and the first."
        else:
            draft.say(f"Not before {draft.words.day(safe)}, when frost risk, nights and soil allow it outside.")
            outside = Window(safe, outside.last)
    if in_place:
        return Timing(outside, None, safe, never)
    weeks = crop.weeks_to_raise
    if weeks is None:
        draft.say("Weeks to raise are not recorded: no sowing date can be reckoned.")
    if outside is None or weeks is None:
        return Timing(None, outside, safe, never)
    draft.use(weeks)
    return Timing(
        Window(days_after(outside.first, -7 * weeks.high), days_after(outside.last, -7 * weeks.low)), outside, safe
    )


def _warm_in_time(crop: Crop, site: Site, sow: Window, draft: Draft) -> bool:
    """Whether a week that begins in the window is warm enough to germinate in, or nobody knows."""
    limits = crop.germination_temperature
    if limits is None or limits.minimum is None or site.soil is None:
        return True
    if site.soil.first_warm(limits.minimum, sow.first, (sow.last - sow.first).days) is not None:
        return True
    least = draft.words.warmth((limits.minimum, limits.minimum))
    draft.use(limits)
    draft.say(f"The soil does not hold {least}, its least to germinate, for a week {draft.words.span(*sow)}: it is not sown in place.")  # fmt: skip
    return False


def _counted_back(crop: Crop, site: Site, ready: Joined | None, in_place: bool, draft: Draft) -> Window | None:
    """When it is sown in place or planted out for the autumn, by the first frost alone."""
    frost, tender = site.first_frost, is_tender(crop)
    assert frost is not None
    printed = crop.trait("autumn_sowing_weeks") if in_place else None
    slow = 7 * site.rule("autumn_slow_growth") + (7 * site.rule("autumn_frost_tender") if tender else 0)
    start = None
    if ready is not None:
        start = Window(days_after(frost, -(ready.high + slow)), days_after(frost, -(ready.low + slow)))
        draft.use(ready)
    if isinstance(printed, Range):
        draft.use(printed)
        sow = sowing_window(frost, printed.low, printed.high)
        draft.say(f"Sources sow it {figures(printed.low, printed.high)} weeks before the first frost.")
        if start is not None and abs((start.last - sow.last).days) > FORTNIGHT:
            draft.say(f"Counted back by its days to harvest the sowing would be {draft.words.span(*start)}.")
        return sow
    if start is None or ready is None:
        what = "sowing" if in_place else "planting out"
        draft.say(f"Days to harvest from {what} are not recorded: no autumn sowing can be reckoned.")
        return None
    draft.sources.add(str(site.catalog.rule("autumn_slow_growth")["source_id"]))
    margin = " and a margin before the frost" if tender else ""
    draft.say(f"Counted back from the first frost by {figures(ready.low, ready.high)} days to harvest and {slow:.0f} days for slow growth{margin}.")  # fmt: skip
    return start
