"""When a crop is sown or planted out for the autumn: counted back from the first frost, on days that suit its seed."""

from __future__ import annotations

import datetime
import itertools

from cropdata.agronomy.windows import Window, days_after, sowing_window
from cropdata.catalog import Crop, Range
from cropdata.catalog.consensus import Joined
from cropdata.season.drafting import Draft, figures
from cropdata.season.site import HOLD_DAYS, Site
from cropdata.season.timing import FORTNIGHT, WEEK, Least, Timing, Told, is_tender, safe_from

YEAR = 365  # days; what is sown longer before its harvest is not sown for that autumn: common practice, no source
TOO_LONG = "counted back from the first frost it would be sown more than a year before its harvest."


def autumn(
    crop: Crop, site: Site, ready: Joined | None, in_place: bool, night_c: Least, soil_c: Least, told: Told
) -> Timing:
    """Counted back from the first frost: the printed weeks where there are any, else the days to harvest.

    `ready` is days to harvest from sowing in place or from planting out, as the case is. To them come the days that
    short cool days cost and, for a tender crop, those by which it must be picked before the frost (a published rule).
    A tender crop stands outside no earlier than in spring: where counting back lands before that day there is no window.
    Sown in place it has the days on which the soil is neither too cold nor too warm for its seed.
    """
    frost, tender, draft = site.first_frost, is_tender(crop), told.window
    if frost is None:
        draft.say("No first frost of autumn is given for the place: no autumn sowing can be reckoned.")
        return Timing(None, None, None)
    # What spring waits for is told only where the autumn has to wait for it too.
    nobody = Draft(draft.words)
    safe = safe_from(crop, site, night_c, soil_c, Told(nobody, nobody, nobody)) if tender else None
    outside, never = _counted_back(crop, site, ready, in_place, told), ""
    if outside is not None and in_place:
        outside, never = _suited_to_seed(crop, site, outside, told)
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
        if outside is not None and _years_ahead(site, outside.first, outside, ready, draft):
            return Timing(None, None, safe, TOO_LONG)
        return Timing(outside, None, safe, never)
    weeks = crop.weeks_to_raise
    if weeks is None:
        draft.say("Weeks to raise are not recorded: no sowing date can be reckoned.")
    if outside is None or weeks is None:
        return Timing(None, outside, safe, never)
    told.always.use(weeks)
    sow = Window(days_after(outside.first, -7 * weeks.high), days_after(outside.last, -7 * weeks.low))
    if _years_ahead(site, sow.first, outside, ready, draft):
        return Timing(None, None, safe, TOO_LONG)
    return Timing(sow, outside, safe)


def _years_ahead(site: Site, sown: datetime.date, outside: Window, ready: Joined | None, draft: Draft) -> bool:
    """Whether it would be sown more than a year before its harvest begins: no sowing for this autumn; told."""
    if ready is None:
        return False
    begins = days_after(outside.first, ready.low + 7 * site.rule("autumn_slow_growth"))
    if (begins - sown).days <= YEAR:
        return False
    draft.say(f"Counted back it would be sown from {draft.words.day(sown)}, more than a year before its harvest begins ({draft.words.day(begins)}): no autumn sowing date is given.")  # fmt: skip
    return True


def _a_week(window: Window) -> Window:
    """The window, from a week before its end on where sources leave fewer days: its end, so near the frost, stays."""
    return Window(min(window.first, days_after(window.last, -WEEK)), window.last)


def _suited_to_seed(crop: Crop, site: Site, sow: Window, told: Told) -> tuple[Window | None, str]:
    """The longest run of days in the window whose soil holds the least warmth to germinate for a week and is no warmer
    than the most, or None and why; the whole window where nobody knows.
    """
    limits, draft = crop.germination_temperature, told.window
    if limits is None or site.soil is None or (limits.minimum is None and limits.maximum is None):
        return sow, ""
    told.always.use(limits)
    least, most = limits.minimum, limits.maximum
    soil = site.soil.series(sow.first, (sow.last - sow.first).days + HOLD_DAYS)
    cold, hot, good = 0, 0, []
    for number in range((sow.last - sow.first).days + 1):
        too_cold = least is not None and min(soil[number : number + HOLD_DAYS]) < least
        too_hot = most is not None and soil[number] > most
        cold, hot = cold + too_cold, hot + too_hot
        good.append(not too_cold and not too_hot)
    if all(good):
        return sow, ""
    wanted = []
    if cold and least is not None:
        wanted.append(f"holds {draft.words.warmth((least, least))}, its least to germinate, for a week")
    if hot and most is not None:
        wanted.append(f"is no warmer than {draft.words.warmth((most, most))}, the most it germinates in")
    runs = [[number for number, _ in run] for fits, run in itertools.groupby(enumerate(good), lambda day: day[1]) if fits]  # fmt: skip
    if not runs:
        why = " or ".join(word for word, days in (("too cold", cold), ("too warm", hot)) if days)
        draft.say(f"Counted back it would be sown {draft.words.span(*sow)}; on none of these days the soil {' and '.join(wanted)}: it is not sown in place.")  # fmt: skip
        return None, f"the soil is {why} to sow it in place for the autumn."
    longest = max(runs, key=len)
    fit = Window(days_after(sow.first, longest[0]), days_after(sow.first, longest[-1]))
    draft.say(f"Counted back it would be sown {draft.words.span(*sow)}; only {draft.words.span(*fit)} the soil {' and '.join(wanted)}.")  # fmt: skip
    return fit, ""


def _counted_back(crop: Crop, site: Site, ready: Joined | None, in_place: bool, told: Told) -> Window | None:
    """When it is sown in place or planted out for the autumn, by the first frost alone."""
    frost, tender, draft = site.first_frost, is_tender(crop), told.window
    assert isinstance(frost, datetime.date)
    printed = crop.trait("autumn_sowing_weeks") if in_place else None
    slow = 7 * site.rule("autumn_slow_growth") + (7 * site.rule("autumn_frost_tender") if tender else 0)
    start = None
    if ready is not None:
        start = _a_week(Window(days_after(frost, -(ready.high + slow)), days_after(frost, -(ready.low + slow))))
        told.always.use(ready)
    if isinstance(printed, Range):
        told.always.use(printed)
        sow = _a_week(sowing_window(frost, printed.low, printed.high))
        draft.say(f"Sources sow it {figures(printed.low, printed.high)} weeks before the first frost.")
        if start is not None and abs((start.last - sow.last).days) > FORTNIGHT:
            draft.say(f"Counted back by its days to harvest the sowing would be {draft.words.span(*start)}.")
        return sow
    if start is None or ready is None:
        what = "sowing" if in_place else "planting out"
        draft.say(f"Days to harvest from {what} are not recorded: no autumn sowing can be reckoned.")
        return None
    told.always.sources.add(str(site.catalog.rule("autumn_slow_growth")["source_id"]))
    margin = " and a margin before the frost" if tender else ""
    draft.say(f"Counted back from the first frost by {figures(ready.low, ready.high)} days to harvest and {slow:.0f} days for slow growth{margin}.")  # fmt: skip
    return start
