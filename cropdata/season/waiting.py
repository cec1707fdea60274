"""How long seedlings take on a bench or in soil that warms up, and when a sowing has failed."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from cropdata.agronomy import emergence
from cropdata.catalog import Catalog, Crop, Range
from cropdata.catalog.emerging import main_table
from cropdata.catalog.evidence import Evidence
from cropdata.season.drafting import Draft, figures
from cropdata.season.site import Site
from cropdata.season.words import Words

LONGEST_WAIT = 120  # days; what has not come up by then is not waited for: common practice, no source
LONGEST_SPREAD = 240  # days in which the last of them are looked for
NEAR_C = 2.0  # how near the warmth of one's own records is near enough: common practice, no source
NEAR_LIMIT_C = 0.5  # printed limits are rounded to whole degrees
RELEASE = "release"
UNDER_COVER, IN_PLACE = "under cover", "in place"  # as the plan and the rows that it learned say where
Wait = tuple[float, float]
Warmth = Callable[[float], float]


def own_wait(crop: Crop, in_place: bool, warmth: Warmth | None, draft: Draft) -> Wait | None:
    """Days that a layer of the grower's own gives; near the warmth they were recorded at they come before tables of
    other places. None where they stand beside a release's rows: then they are one source more.

    `warmth` tells the mean in °C over so many days from the sowing on, None where it is not known.
    """
    near = [row for row in _own(crop) if row["temperature_low_c"] is not None and _holds(row, in_place, warmth)]
    if not near or warmth is None:
        return None
    draft.sources.update(str(row["source_id"]) for row in near)
    draft.say(f"Days to seedlings are those of your layer {near[-1]['layer']}.")
    return min(_number(row["low_days"]) for row in near), max(_number(row["high_days"]) for row in near)


def recorded_elsewhere(crop: Crop, in_place: bool, warmth: Warmth | None, draft: Draft) -> bool:
    """Whether the plain range is the grower's own alone, and of another warmth or of the bench instead of the bed."""
    own = _own(crop)
    if not own or any(_holds(row, in_place, warmth) for row in own):
        return False
    estimate = crop.days_to_emergence(20.0)  # what it rests on is the same at every warmth
    if warmth is not None and estimate is not None and estimate.basis != "range":
        return False  # a table by temperature answers
    draft.say(f"Your layer {own[-1]['layer']} has its days to seedlings elsewhere or at another warmth: none are given here.")  # fmt: skip
    return True


def _own(crop: Crop) -> list[Evidence]:
    """The rows of a plain range of days, where none of them is the release's."""
    plain = crop.emergence_range
    if plain is None or plain.layer == RELEASE:
        return []
    rows = [
        row for row in crop.evidence("days_to_emergence")
        if row["table"] == "days_to_emergence" and row["set_aside"] is None
    ]  # fmt: skip
    return [] if any(row["layer"] == RELEASE for row in rows) else rows


def _holds(row: Evidence, in_place: bool, warmth: Warmth | None) -> bool:
    """Recorded under cover or in place, as the sowing is, and at about its warmth, as far as the row tells."""
    if (UNDER_COVER if in_place else IN_PLACE) in str(row["note"] or ""):
        return False
    low, high = row["temperature_low_c"], row["temperature_high_c"]
    if warmth is None or low is None:
        return True
    return _number(low) - NEAR_C <= warmth(_number(row["high_days"])) <= _number(high or low) + NEAR_C


def _number(value: Any) -> float:
    return float(value)


def printed_range(catalog: Catalog, crop: Crop) -> Range | None:
    """The plain range that the release prints, whatever a grower's own records say; else that of a layer which names no
    warmth for it, as a packet does.
    """
    for crop_id in (crop.id, *catalog.parents_of(crop.id)):
        printed = catalog.released(crop_id).ranges.get(("days_to_emergence", ""))
        if printed is not None:
            return printed
    return crop.emergence_range if all(row["temperature_low_c"] is None for row in _own(crop)) else None


def plain_wait(crop: Crop, draft: Draft) -> Wait | None:
    """The printed range, for a bench whose warmth nobody has told."""
    plain = crop.emergence_range
    if plain is None:
        return None
    draft.use(plain)
    draft.say("No bench temperature is given: days to seedlings are as printed, where it is as warm as sources had it.")
    return plain.low, plain.high


def say_printed(crop: Crop, draft: Draft) -> None:
    """What is known of seedlings in place where no soil temperatures are given: nothing by the day."""
    plain = crop.emergence_range
    draft.use(plain)
    told = "No dates of seedlings and no day to give up are reckoned without soil temperatures"
    if plain is not None:
        told += f"; where the soil is as warm as printed they come after {figures(plain.low, plain.high)} days"
    draft.say(f"{told}.")


def beyond(crop: Crop, temp_c: float, words: Words) -> str:
    """Why it does not come up at a steady warmth: below the least or above the greatest of all that sources print; else
    empty.
    """
    limits = crop.germination_temperature
    least, most = (limits.minimum_range, limits.maximum_range) if limits is not None else (None, None)
    if least is not None and temp_c < least.low - NEAR_LIMIT_C:
        return f"colder than the least it comes up at ({words.warmth((least.low, least.low))})"
    if most is not None and temp_c > most.high + NEAR_LIMIT_C:
        return f"warmer than the most it comes up at ({words.warmth((most.high, most.high))})"
    return ""


def bench_wait(crop: Crop, night_c: float, day_c: float, draft: Draft) -> tuple[Wait | None, str]:
    """Days to seedlings between a night and a day warmth: hourly rates summed where there is a table by temperature; where
    it does not come up there, why.
    """
    mean = (night_c + day_c) / 2
    estimate = crop.days_to_emergence(mean)
    if estimate is None:
        draft.say("Days to emergence are not recorded.")
        return None, ""
    draft.use(estimate)
    if why := beyond(crop, mean, draft.words):
        return None, why
    low, expected, high = float(estimate.low), float(estimate.expected), float(estimate.high)
    under = crop.days_to_emergence_under(night_c, day_c) if day_c > night_c else None
    if under is not None and math.isfinite(under[0]) and math.isfinite(under[2]):
        if math.isfinite(under[1]) and math.isfinite(expected):
            # Other places' tables widen the span as they do at the mean.
            swing = under[1] / expected
            return (low * swing, high * swing), ""
        return (under[0], under[2]), ""
    if math.isfinite(expected):
        return (low, high), ""
    plain = crop.emergence_range
    printed = f" (printed where it suits: {figures(plain.low, plain.high)} days)" if plain else ""
    if estimate.extrapolated:  # nobody tried: it may well come up, only nobody can say when
        draft.say(f"The bench, at {draft.words.warmth((mean, mean))}, is outside what was tested for it: when seedlings come is not known{printed}.")  # fmt: skip
        return None, ""
    return None, f"next to a temperature at which nothing came up{printed}"


class SoilWait(NamedTuple):
    """Days to seedlings in soil by the day; `last` to the last of them, None where that cannot be told.

    `none`: they do not all come up in that soil.
    """

    wait: Wait | None
    last: float | None = None
    none: bool = False


def soil_wait(crop: Crop, site: Site, start: datetime.date, draft: Draft) -> SoilWait:
    """Days to seedlings in soil that warms up: daily rates are summed, the printed range where there is no table.

    On a day colder than the coldest of a table it grows at least nothing and at most as there; so the days are a span.
    The last seedlings have come when the slow end's rates make the spread among seeds (rule `emergence_last`): later in
    days where the soil cools, and sooner where it warms up, than so many times the days.
    No wait, and why, where it never comes up, or where another day before all are up lies outside what was tested.
    """
    assert site.soil is not None
    temps = site.soil.series(start, LONGEST_SPREAD)
    table = main_table(site.catalog, crop)
    coldest = float(table.temperature_c[0]) if table is not None else -math.inf
    estimate = crop.days_to_emergence(np.maximum(temps, coldest))
    if estimate is None:
        draft.say("Days to emergence are not recorded.")
        return SoilWait(None)
    draft.use(estimate)

    def rates(days: object) -> np.ndarray:
        each = np.asarray(days)
        return np.where(np.isfinite(each), 1 / np.where(np.isfinite(each), each, 1.0), 0.0)

    slow = rates(estimate.high) * (temps >= coldest)
    low, high = (
        int(emergence.accumulate(temps[:LONGEST_WAIT], each[:LONGEST_WAIT])) for each in (rates(estimate.low), slow)
    )
    last = int(emergence.accumulate(temps, slow / site.rule("emergence_last")))
    ends = low >= 0 and high >= 0
    untested = np.asarray(estimate.extrapolated)[: high + 1 if ends else LONGEST_WAIT]
    if untested.any():
        odd = float(temps[int(untested.argmax())])
        plain = crop.emergence_range
        printed = f"; printed where it is warm enough: {figures(plain.low, plain.high)} days" if plain else ""
        draft.say(f"Soil at {draft.words.warmth((odd, odd))} is outside what was tested for it: when seedlings come, and so the harvest, is not known{printed}.")  # fmt: skip
        return SoilWait(None)
    if not ends:
        draft.say(f"In this soil it does not come up within {LONGEST_WAIT} days, or not all of it.")
        return SoilWait(None, none=True)
    if last < 0:
        draft.say("When the last of them come is not known, as the soil is too cold, too warm or untested by then: no day to give up is reckoned.")  # fmt: skip
        return SoilWait((low + 1.0, high + 1.0))
    return SoilWait((low + 1.0, high + 1.0), last + 1.0)


def give_up_days(
    crop: Crop, site: Site, last: float | None, bench_c: tuple[float, float] | None, treatment_days: float, draft: Draft
) -> int | None:
    """Days after sowing by which a sowing without a seedling has failed; None where nothing tells.

    The latest of the last seedlings (`last`, in days), those of a bench of this night and day warmth, and the official
    final count with its chilling and soaking; then seven quiet days. On a bench it is the hourly rates of both that tell;
    where there is no table by temperature, the night is taken as steady.
    """
    prescribed = crop.trait("germination_tests")
    final = prescribed.high if isinstance(prescribed, Range) else None
    draft.use(prescribed)
    if last is None and final is None:
        return None
    slow = last or 0.0
    if bench_c is not None:
        night, day = bench_c
        under = crop.days_to_emergence_under(night, day) if day > night else None
        cool = crop.days_to_emergence(night)
        if under is not None and math.isfinite(under[2]):
            slow = max(slow, under[2] * site.rule("emergence_last"))
        elif cool is not None and math.isfinite(float(cool.last)):
            slow = max(slow, float(cool.last))
    return emergence.give_up_day(
        slow, prescribed_day=final, pretreatment_days=treatment_days, quiet_days=site.rule("give_up_quiet_days")
    )


def share_at(crop: Crop, temp_c: float | None) -> tuple[float, tuple[str, ...]] | None:
    """Normal seedlings at a warmth as a share of those at the best one, and its sources; None where not recorded.

    One lineage of good lots: a relative factor only, never a percentage of this lot.
    """
    if temp_c is None:
        return None
    tested = [
        (float(row["temperature_c"]), float(row["percent"]))  # type: ignore[arg-type]
        for row in crop.evidence("normal_seedlings")
        if row["set_aside"] is None and row["percent"] is not None
    ]
    best = max((percent for _, percent in tested), default=0.0)
    estimate = crop.days_to_emergence(temp_c)
    if estimate is None or best <= 0 or not math.isfinite(float(estimate.percent_normal)):
        return None
    sources = tuple(sorted({str(row["source_id"]) for row in crop.evidence("normal_seedlings")}))
    return float(estimate.percent_normal) / best, sources
