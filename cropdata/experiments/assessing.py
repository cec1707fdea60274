"""What a germination test of a crop means: how sure, whether finished, against the law, and what to do."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cropdata.agronomy import sowing
from cropdata.catalog import Catalog, Crop
from cropdata.errors import InputError, NoUsableEstimate
from cropdata.experiments.assessment import ADVICE_SOURCE, DOUBTFUL, GOOD, USABLE, Assessment, SeedsEnough
from cropdata.experiments.germination import Replicates, interval, replicates_agree, seeds_for_width
from cropdata.experiments.telling import sentences

COUNTED = ("root", "normal")
MOST_DAYS, MOST_YEARS = 1000, 200  # bounds on what is meant in earnest
WARMTH_C = (-20.0, 60.0)


def tolerances(catalog: Catalog) -> list[tuple[float, float, int, float]]:
    """The regulation's tolerance rows, for `replicates_agree`; a low side that is a slip is read as 100 less the high plus 1."""
    rows = catalog.table("replicate_tolerances")
    columns = (rows[name].tolist() for name in ("average_high", "replicates", "most_range"))
    return [
        (float(high), 101 - float(high), int(number), float(most)) for high, number, most in zip(*columns, strict=True)
    ]


def assess(
    catalog: Catalog, crop: Crop, germinated: int, sown: int, *, day: int | None = None, age_years: float | None = None, hard: int = 0,
    counted: str = "normal", temp_c: float | None = None, by_replicate: Sequence[tuple[int, int]] = (), width: float | None = None,
) -> Assessment:  # fmt: skip
    """Say what a germination test means.

    Args:
        germinated, sown: the count; `hard` seeds (swollen not at all) are counted apart, within `sown`.
        day: whole days from sowing to the count.
        age_years: age of the seed, for what it leads one to expect.
        counted: "root" (seen in the towel) or "normal" (a seedling with all its parts).
        temp_c: warmth of the test.
        by_replicate: counts and seeds of each replicate; together the test.
        width: how narrow the interval should be (0.2: twenty points), for the number of seeds that takes.

    Raises InputError for counts that are none and for numbers out of range.
    """
    _in_range(day, age_years, hard, counted, temp_c)
    low, high = interval(germinated, sown)
    if not 0 <= hard <= sown - germinated:
        raise InputError(
            "hard seeds are among those that did not germinate", found=hard, allowed=f"0 to {sown - germinated}"
        )
    lot = crop.lot(age_years=age_years if crop.seed_longevity else None, test=(germinated, sown))
    standard, best = crop.germination_standard, crop.germination_temperature
    first, final = _count_days(crop)
    finished = None if day is None or final is None else day >= final
    wilson_low, wilson_high = interval(germinated, sown, method="wilson")
    per_cell, thicker = _sowing(germinated, sown)
    draft = Assessment(
        crop_id=crop.id, germinated=germinated, sown=sown, hard=hard, rate=germinated / sown,
        exact=(float(low), float(high)), wilson=(float(wilson_low), float(wilson_high)), lot=lot,
        legal_minimum=standard.low / 100 if standard else None,
        chance_above_minimum=crop.lot(test=(germinated + hard, sown)).chance_above_minimum if hard else lot.chance_above_minimum,
        day=day, first_count_days=first, final_count_days=final, finished=finished,
        wait_days=math.ceil(final - day) if finished is False and final is not None and day is not None else None,
        counted=counted, temp_c=temp_c,
        best_temp_c=(best.optimum_low, best.optimum_high) if best and best.optimum_low is not None and best.optimum_high is not None else None,
        age_years=age_years, replicates=_replicates(catalog, germinated, sown, by_replicate),
        seeds_enough=_enough(germinated / sown, 0.2 if width is None else width),
        per_cell=per_cell, times_as_thick=thicker, action="", sentences=(), sources=_sources(crop, age_years),
    )  # fmt: skip
    draft = draft._replace(action=_action(draft))
    return draft._replace(sentences=tuple(sentences(crop, draft, asked_width=width is not None)))


def _in_range(day: float | None, age_years: float | None, hard: float, counted: str, temp_c: float | None) -> None:
    if counted not in COUNTED:
        raise InputError("unknown way of counting", found=counted, allowed=", ".join(COUNTED))
    # Comparisons are written so that NaN, which is in no order with any number, is refused too.
    if day is not None and not (0 <= day <= MOST_DAYS and day == int(day)):
        raise InputError(
            f"days from sowing to the count, {day}, are out of range",
            found=day,
            allowed=f"whole days, 0 to {MOST_DAYS}",
        )
    if age_years is not None and not 0 <= age_years <= MOST_YEARS:
        raise InputError(f"an age of {age_years} years is out of range", found=age_years, allowed=f"0 to {MOST_YEARS}")
    if hard != hard or hard != math.floor(hard):
        raise InputError("hard seeds are counted in whole numbers", found=hard)
    if temp_c is not None and not WARMTH_C[0] <= temp_c <= WARMTH_C[1]:
        raise InputError(
            f"a warmth of {temp_c:g} °C is out of range",
            found=temp_c,
            allowed=f"{WARMTH_C[0]:g} to {WARMTH_C[1]:g} °C",
            hint="degrees Celsius, not Fahrenheit",
        )


def _count_days(crop: Crop) -> tuple[float | None, float | None]:
    """Prescribed days of the first and the final count; some kinds have no first one."""
    rows = [row for row in crop.evidence("germination_tests") if not row["set_aside"]]
    first = [float(str(row["first_count_days"])) for row in rows if row["first_count_days"] is not None]
    final = [float(str(row["final_count_days"])) for row in rows if row["final_count_days"] is not None]
    return (min(first) if first else None), (max(final) if final else None)


def _replicates(
    catalog: Catalog, germinated: int, sown: int, by_replicate: Sequence[tuple[int, int]]
) -> Replicates | None:
    if len(by_replicate) < 2:
        return None
    counts, tested = [good for good, _ in by_replicate], [number for _, number in by_replicate]
    if (sum(counts), sum(tested)) != (germinated, sown):
        raise InputError(
            f"the replicates are {sum(counts)} of {sum(tested)}, the test {germinated} of {sown}", found=by_replicate
        )
    return replicates_agree(counts, tested, tolerances(catalog))


def _enough(rate: float, width: float) -> SeedsEnough:
    # A test in which all or none came does not show a rate of 1 or 0: five in a hundred is allowed for.
    return SeedsEnough(width, seeds_for_width(width, max(0.05, min(0.95, rate))), seeds_for_width(width, 0.5))


def _sources(crop: Crop, age_years: float | None) -> tuple[str, ...]:
    standard, life = crop.germination_standard, crop.seed_longevity
    tests = {str(row["source_id"]) for row in crop.evidence("germination_tests") if not row["set_aside"]}
    return tuple(
        sorted(
            {
                ADVICE_SOURCE,
                *tests,
                *(standard.sources if standard else ()),
                *(life.sources if life and age_years is not None else ()),
            }
        )
    )


def _action(test: Assessment) -> str:
    low, high = test.exact
    if test.rate >= GOOD and low >= USABLE:
        decided = "sow normally"  # even before the final count: more can only come
    elif test.finished is False and test.germinated < test.sown:
        return "wait"
    elif test.germinated == 0 or test.hard_could_save:
        return "ask first"
    elif high < USABLE:
        # Thrown away only where neither the time nor the warmth of the test can be to blame.
        decided = "get new seed" if test.finished and not test.outside_best else "ask first"
    elif test.rate >= GOOD or test.rate < USABLE or low < DOUBTFUL:
        decided = "test more"
    else:
        decided = "sow thicker"
    return decided if test.replicates is None or test.replicates.agree else "test more"


def _sowing(germinated: int, sown: int) -> tuple[int | None, float | None]:
    if germinated == 0:
        return None, None
    try:
        per_cell: int | None = sowing.seeds_per_cell(0.95, (germinated, sown))
    except NoUsableEstimate:
        per_cell = None
    return per_cell, 0.9 / ((germinated + 0.5) / (sown + 1))
