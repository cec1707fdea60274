"""`cropdata germination`: what a germination test means."""

from __future__ import annotations

import datetime
import json
from argparse import Namespace
from typing import Any

from cropdata.catalog import Catalog, Crop, open_catalog
from cropdata.cli.wording import wrapped
from cropdata.errors import InputError
from cropdata.experiments.assessing import Assessment, assess, read_counts
from cropdata.experiments.germination import INDEX_NOTES, indices, t50_by_curve


def run(options: Namespace) -> int:
    """Print what the test means; exit status 0."""
    catalog = open_catalog(layers=options.layer)
    crop = catalog.crop(options.crop)
    if options.steps:
        print("\n".join(_steps(catalog)))
        return 0
    if options.sown is None:
        raise InputError(
            "how many seeds were sown?",
            hint="--sown 10 --germinated 7, or --record FILE --sown 10; --steps tells how to test",
        )
    germinated, day, speed = options.germinated, options.days, None
    replicates: list[tuple[int, int]] = []
    if options.record:
        germinated, day, replicates, speed = _from_record(options)
    if germinated is None:
        raise InputError("how many germinated?", hint="--germinated 7")
    this_year = options.now or datetime.date.today().year
    if options.year is not None and not 1950 <= options.year <= this_year:
        raise InputError("the year that the seed was packed", found=options.year, allowed=f"1950 to {this_year}")
    found = assess(
        catalog, crop, germinated, options.sown, day=day, age_years=None if options.year is None else this_year - options.year, hard=options.hard,
        counted=options.counted, temp_c=options.temp, by_replicate=replicates,
    )  # fmt: skip
    if options.json:
        print(json.dumps(_object(catalog, found, speed), indent=2, ensure_ascii=False))
    else:
        print("\n".join(_text(crop, found, speed)))
    return 0


def _from_record(options: Namespace) -> tuple[int, int, list[tuple[int, int]], dict[str, float | None] | None]:
    dates, counts, labels = read_counts(options.record)
    sown_on = datetime.date.fromisoformat(options.sown_on) if options.sown_on else min(dates)
    days = [(date - sown_on).days for date in dates]
    total = sum(counts)
    if total > options.sown:
        raise InputError(f"{total} germinated of {options.sown} sown", file=options.record)
    kinds = sorted(set(labels) - {""})
    replicates = []
    if len(kinds) > 1:
        if options.sown % len(kinds):
            raise InputError("replicates of unequal size", found=options.sown, hint="sow as many in each")
        replicates = [
            (sum(c for c, label in zip(counts, labels, strict=True) if label == kind), options.sown // len(kinds))
            for kind in kinds
        ]
    by_day: dict[int, int] = {}
    for day, count in zip(days, counts, strict=True):
        by_day[day] = by_day.get(day, 0) + count
    known = sorted(day for day in by_day if day > 0)
    speed: dict[str, float | None] | None = None
    if known and not options.sown_on:
        known = known or [1]
    if known and options.sown_on:
        newly = [by_day[day] for day in known]
        table = indices(known, newly, options.sown)
        speed = {name: float(value) for name, value in table._asdict().items()}
        speed["t50_by_curve_days"] = t50_by_curve(known, newly)
    return total, max(days) if options.sown_on else (options.days or 0) or max(days), replicates, speed


def _text(crop: Crop, found: Assessment, speed: dict[str, float | None] | None) -> list[str]:
    lines = [f"{crop.name}: {found.germinated} of {found.sown}: {found.action}", ""]
    for sentence in found.sentences:
        lines += wrapped(f"- {sentence}", hang="  ")
    if speed:
        lines += ["", "Speed (days from sowing):"]
        for name, value in speed.items():
            lines.append(f"  {name.replace('_', ' '):22} {'–' if value is None or value != value else f'{value:.2f}'}")
        for name, note in INDEX_NOTES.items():
            lines += wrapped(f"- {name.replace('_', ' ')}: {note}", hang="  ")
    lines += ["", f"Sources: {', '.join(found.sources)}"]
    return lines


def _object(catalog: Catalog, found: Assessment, speed: dict[str, float | None] | None) -> dict[str, Any]:
    body = found._asdict()
    body["lot"] = {name: value for name, value in found.lot._asdict().items() if name != "posterior"}
    body["replicates"] = found.replicates._asdict() if found.replicates else None
    return {"format": 1, "data_version": catalog.version, **body, "indices": speed}


def _steps(catalog: Catalog) -> list[str]:
    rows = catalog.table("home_test")
    lines = ["The usual home test, from what public bodies print:", ""]
    steps = (
        ("number_of_seeds", "Count out seeds"), ("medium", "Lay them on"), ("temperature", "Keep them at"), ("first_check_day", "Look first on day"),
        ("first_count_day", "Count first on day"), ("final_count_day", "Count last on day"), ("stop_rule", "Stop after"),
    )  # fmt: skip
    for aspect, title in steps:
        part = rows[rows["aspect"] == aspect]
        if len(part):
            figures = sorted(
                {
                    f"{low:g}" if low == high else f"{low:g}–{high:g}"
                    for low, high in zip(part["low"], part["high"], strict=True)
                    if low == low and high == high
                }
            )
            what = ", ".join(figures) or "; ".join(sorted({str(text) for text in part["unit"]})[:2])
            unit = "" if not figures else f" {part['unit'].iloc[0]}"
            lines += wrapped(f"- {title}: {what}{unit} ({', '.join(sorted(set(part['source_id'])))})", hang="  ")
    lines += [
        "",
        "Treated seed, and what sprouts from it, is not food. Mould: do not sniff, bin it. The label comes first.",
    ]
    return lines
