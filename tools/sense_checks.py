"""Six questions to the whole table that no single row can answer; each exception stands with its reason in data.

    python tools/sense_checks.py    prints each check, its exceptions and their reasons; 1 when one has no reason

1 depth        small seed is sown shallow: the rank correlation of depth with seeds per gram, and crops more than
               three times deeper or shallower than the line through all
2 order        the best temperatures lie between the lowest and the highest
3 cold         in one source's table, colder is never faster below the fastest temperature
4 kin          a seed's life lies within three times the middle of its family (families of four or more crops)
5 raising      the weeks under cover are never longer than the days from sowing to harvest
6 seed count   printed seeds per gram lie within twice the regulation's number for that crop
"""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from statistics import median

import numpy as np
from scipy.stats import spearmanr

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from cropdata.catalog import Catalog, Crop, Range, open_catalog  # noqa: E402

REGULATION = "cfr_7_201_2015"
Odd = Iterator[tuple[str, str]]  # crop id, what is odd


def _middle(answer: Range) -> float:
    return (answer.low + answer.high) / 2


def _sized(crops: list[Crop]) -> list[tuple[Crop, float, float]]:
    """Crop, depth in mm, seeds per gram; crops of their own only, surface sowing as 1 mm."""
    return [
        (crop, max(_middle(crop.sowing_depth), 1.0), _middle(crop.seeds_per_gram))
        for crop in crops
        if crop.sowing_depth and crop.seeds_per_gram and not crop.sowing_depth.inherited_from
    ]


def depth_correlation(crops: list[Crop]) -> float:
    """Spearman's rank correlation of depth with seeds per gram."""
    _, depth, count = zip(*_sized(crops), strict=True)
    return float(spearmanr(depth, count).statistic)


def depth(catalog: Catalog, crops: list[Crop]) -> Odd:
    """Crops far from the line of log depth on log seeds per gram."""
    sized = _sized(crops)
    x, y = np.log([row[2] for row in sized]), np.log([row[1] for row in sized])
    slope, level = np.polyfit(x, y, 1)
    for (crop, mm, count), off in zip(sized, y - (slope * x + level), strict=True):
        if abs(off) > np.log(3):
            yield crop.id, f"{mm:.0f} mm at {count:.0f} seeds per gram, {np.exp(off):.1f} times the line"


def order(catalog: Catalog, crops: list[Crop]) -> Odd:
    """Best temperatures outside the limits."""
    for crop in crops:
        warmth = crop.germination_temperature
        if warmth is None or warmth.optimum_low is None or warmth.optimum_high is None:
            continue
        if warmth.minimum is not None and warmth.minimum > warmth.optimum_low + 0.01:
            yield crop.id, f"lowest {warmth.minimum:.0f} °C, best from {warmth.optimum_low:.0f} °C"
        if warmth.maximum is not None and warmth.maximum < warmth.optimum_high - 0.01:
            yield crop.id, f"highest {warmth.maximum:.0f} °C, best to {warmth.optimum_high:.0f} °C"


def cold(catalog: Catalog, crops: list[Crop]) -> Odd:
    """Colder and faster in one source's table."""
    for crop in crops:
        tables: dict[str, dict[float, float]] = defaultdict(dict)
        for row in catalog.used_rows("emergence_by_temperature", crop.id):
            if row["outcome"] == "emerged":
                tables[row["source_id"]][float(row["temperature_c"])] = float(row["days"])
        for source, points in tables.items():
            days = [points[temperature] for temperature in sorted(points)]
            fastest = days.index(min(days))
            if any(days[i] < days[i + 1] for i in range(fastest)):
                yield crop.id, f"{source}: days by rising temperature {days[: fastest + 1]}"


def kin(catalog: Catalog, crops: list[Crop]) -> Odd:
    """Seed lives far from the family's."""
    families: dict[str, list[Crop]] = defaultdict(list)
    for crop in crops:
        if crop.seed_longevity and not crop.seed_longevity.inherited_from:
            families[crop.family].append(crop)
    for family, members in families.items():
        if len(members) < 4:
            continue
        lives = {crop.id: _middle(crop.seed_longevity) for crop in members if crop.seed_longevity}
        usual = median(lives.values())
        for crop_id, life in lives.items():
            if not usual / 3 <= life <= usual * 3:
                yield crop_id, f"{life:g} years, {family} {usual:g} years"


def raising(catalog: Catalog, crops: list[Crop]) -> Odd:
    """Longer under cover than from sowing to harvest."""
    for crop in crops:
        rows = [row for row in catalog.maturity_rows(crop) if row["counted_from"] == "sowing" and row["high_days"]]
        weeks = crop.weeks_to_raise
        if rows and weeks and weeks.low * 7 > max(float(row["high_days"]) for row in rows):
            yield crop.id, f"raised {weeks.low:g} weeks, harvest {max(float(row['high_days']) for row in rows):g} days"


def seed_count(catalog: Catalog, crops: list[Crop]) -> Odd:
    """Seeds per gram far from the regulation's."""
    for crop in crops:
        rows = catalog.used_rows("seeds_per_gram", crop.id)
        legal = [float(row["low_per_gram"]) for row in rows if row["source_id"] == REGULATION]
        for row in rows:
            low, high = (
                float(row[end] or row[other])
                for end, other in (("low_per_gram", "high_per_gram"), ("high_per_gram", "low_per_gram"))
            )
            if legal and row["source_id"] != REGULATION and not (high >= min(legal) / 2 and low <= max(legal) * 2):
                yield crop.id, f"{row['source_id']} {row['printed']}: {low:.0f} per gram, regulation {legal[0]:.0f}"


CHECKS = {"depth": depth, "order": order, "cold": cold, "kin": kin, "raising": raising, "seed count": seed_count}


def exceptions(catalog: Catalog) -> dict[tuple[str, str], str]:
    """Check and crop -> the reason why it is right all the same (reference/exceptions.csv)."""
    return {(row["check"], row["crop_id"]): row["reason"] for row in catalog.table("exceptions").to_dict("records")}


def main() -> int:
    """Print every check; 1 when an exception has no reason or a reason no exception."""
    catalog = open_catalog(installed=False)
    crops = [catalog.crop(crop_id) for crop_id in catalog]
    reasons, unexplained = exceptions(catalog), 0
    print(f"rank correlation of depth with seeds per gram: {depth_correlation(crops):.2f}, {len(_sized(crops))} crops")
    for name, check in CHECKS.items():
        found = list(check(catalog, crops))
        print(f"{name}: {len(found)} odd")
        for crop_id, what in found:
            reason = reasons.get((name, crop_id))
            unexplained += reason is None
            print(f"  {crop_id}: {what}. {reason or 'NO REASON GIVEN'}")
        for check_name, crop_id in reasons:
            if check_name == name and crop_id not in {odd for odd, _ in found}:
                print(f"  {crop_id}: a reason stands in exceptions.csv, but nothing is odd any more")
                unexplained += 1
    return int(unexplained > 0)


if __name__ == "__main__":
    raise SystemExit(main())
