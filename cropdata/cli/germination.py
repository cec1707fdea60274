"""`cropdata germination`: what a germination test means."""

from __future__ import annotations

import datetime
import json
from argparse import Namespace
from typing import Any

from cropdata.catalog import Catalog, Crop
from cropdata.cli.opening import opened
from cropdata.cli.wording import wrapped
from cropdata.errors import InputError
from cropdata.experiments.assessing import assess
from cropdata.experiments.assessment import GOOD, USABLE, Assessment
from cropdata.experiments.germination import INDEX_NOTES, seeds_for_width
from cropdata.experiments.germination_record import GerminationRecord, read_germination

YEARS = (1950, 2200)
RATES = (USABLE, GOOD, 0.9)  # usable, good, and good seed of most kinds
UNITS = {"final_percent": "%", "speed": "seeds a day"}  # the other indices are days


def run(options: Namespace) -> int:
    """Print what the test means; exit status 0."""
    catalog = opened(options)
    crop = catalog.crop(options.crop)
    width = _width(options.width)
    if options.steps:
        steps = _steps(catalog)
        print(
            json.dumps({"format": 1, "steps": steps}, indent=2, ensure_ascii=False)
            if options.json
            else "\n".join(steps)
        )
        return 0
    if options.sown is None:
        if width is None or options.germinated is not None or options.record:
            raise InputError(
                "how many seeds were sown?",
                hint="--sown 10 --germinated 7, or --record FILE --sown 10; --steps tells how to test; --width 20 how many seeds",
            )
        return _print_enough(catalog, crop, width, as_json=options.json)
    record = _record(options)
    germinated = options.germinated if record is None else record.germinated
    if germinated is None:
        raise InputError("how many germinated?", hint="--germinated 7")
    days = [day for day in (options.days, record.day if record else None) if day is not None]
    found = assess(
        catalog, crop, germinated, options.sown, day=max(days, default=None), age_years=_age(options), hard=options.hard, counted=options.counted,
        temp_c=options.temp, by_replicate=record.replicates if record else (), width=width,
    )  # fmt: skip
    speed = record.speed() if record else None
    if options.json:
        _print_json(_object(catalog, found, speed))
    else:
        print("\n".join(_text(crop, found, speed)))
    return 0


def _width(points: float | None) -> float | None:
    """Percentage points of the command line as a share."""
    if points is None:
        return None
    if not 1 <= points < 100:
        raise InputError(
            f"a width of {points:g} points", found=points, allowed="1 to 99 percentage points", hint="20 for twenty"
        )
    return points / 100


def _age(options: Namespace) -> int | None:
    this_year = datetime.date.today().year if options.now is None else options.now
    if not YEARS[0] <= this_year <= YEARS[1]:
        raise InputError(
            f"--now {this_year} is no year of a test", found=this_year, allowed=f"{YEARS[0]} to {YEARS[1]}"
        )
    if options.year is None:
        return None
    if not YEARS[0] <= options.year <= this_year:
        raise InputError(
            f"seed was packed in {options.year}?", found=options.year, allowed=f"{YEARS[0]} to {this_year}",
            hint="--year is the year that the seed was packed",
        )  # fmt: skip
    return int(this_year - options.year)


def _record(options: Namespace) -> GerminationRecord | None:
    if options.record is None:
        if options.sown_on is not None:
            raise InputError("--sown-on belongs to --record", hint="without a record say --days")
        return None
    if options.germinated is not None:
        raise InputError("--germinated and --record both tell what came", hint="leave --germinated out")
    sown_on = None
    if options.sown_on is not None:
        try:
            sown_on = datetime.date.fromisoformat(options.sown_on)
        except ValueError:
            raise InputError(
                f"--sown-on {options.sown_on} is no date", found=options.sown_on, allowed="YYYY-MM-DD, as 2027-03-01"
            ) from None
    return read_germination(options.record, options.sown, sown_on)


def _print_enough(catalog: Catalog, crop: Crop, width: float, *, as_json: bool) -> int:
    """How many seeds a test needs, before there is one."""
    seeds = [{"rate": rate, "seeds": seeds_for_width(width, rate)} for rate in RATES]
    if as_json:
        _print_json(
            {"format": 1, "data_version": catalog.version, "crop_id": crop.id, "width": width, "seeds_enough": seeds}
        )
        return 0
    print(
        f"Seeds to test for a 95 % range no wider than {100 * width:g} percentage points (the same for every crop):\n"
    )
    for line in seeds:
        print(f"  where {100 * line['rate']:.0f} % germinate  {line['seeds']:>6.0f}")
    return 0


def _print_json(body: dict[str, Any]) -> None:
    print(json.dumps(_known(body), indent=2, ensure_ascii=False, allow_nan=False))


def _known(value: Any) -> Any:
    """What is not known (NaN) as null: JSON has no NaN."""
    if isinstance(value, dict):
        return {name: _known(part) for name, part in value.items()}
    if isinstance(value, (list, tuple)):
        return [_known(part) for part in value]
    return None if isinstance(value, float) and value != value else value


def _text(crop: Crop, found: Assessment, speed: dict[str, float | None] | None) -> list[str]:
    lines = [f"{crop.name}: {found.germinated} of {found.sown}: {found.action}", ""]
    for sentence in found.sentences:
        lines += wrapped(f"- {sentence}", hang="  ")
    if speed:
        lines += ["", "Speed, counted from the day of sowing:"]
        for name, value in speed.items():
            title = name.removesuffix("_days").removesuffix("_percent").replace("_", " ")
            told = "not known" if value is None or value != value else f"{value:.1f} {UNITS.get(name, 'days')}"
            lines.append(f"  {title:18} {told}")
        for name, note in INDEX_NOTES.items():
            title = name.removesuffix("_days").removesuffix("_percent").replace("_", " ")
            lines += wrapped(f"- {title}: {note}", hang="  ")
    lines += ["", *wrapped(f"Sources: {', '.join(found.sources)}", hang="  ")]
    return lines


def _object(catalog: Catalog, found: Assessment, speed: dict[str, float | None] | None) -> dict[str, Any]:
    body = found._asdict()
    body["lot"] = {name: value for name, value in found.lot._asdict().items() if name != "posterior"}
    body["replicates"] = found.replicates._asdict() if found.replicates else None
    body["seeds_enough"] = found.seeds_enough._asdict()
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
