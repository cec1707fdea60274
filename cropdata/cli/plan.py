"""`cropdata plan`: a season."""

from __future__ import annotations

import csv
import datetime
import io
import json
import os
import sys
from argparse import Namespace
from typing import Any

from cropdata.agronomy.windows import Window
from cropdata.catalog import Catalog
from cropdata.cli.opening import opened
from cropdata.cli.wording import columns, wrapped
from cropdata.errors import InputError
from cropdata.season import Plan, PlannedSowing, plan_season
from cropdata.tabular.rows import write_whole
from cropdata.tabular.values import harmless

EXAMPLE = os.path.join(os.path.dirname(os.path.dirname(os.path.abspath(__file__))), "examples", "season.yaml")
CSV_COLUMNS = (
    "crop_id", "crop", "variety", "where", "sow_first", "sow_last", "depth_low_mm", "depth_high_mm", "best_low_c", "best_high_c",
    "seedlings_first", "seedlings_last", "give_up_days", "plant_out_first", "plant_out_last", "frost_left", "plants", "seeds", "assumed_germination", "notes", "sources",
)  # fmt: skip


def run(options: Namespace) -> int:
    """Print the plan and write its files."""
    if options.print_example:
        with open(EXAMPLE, encoding="utf-8") as stream:
            print(stream.read(), end="")
        return 0
    path = EXAMPLE if options.example else options.season
    if path is None:
        raise InputError(
            "no season file given",
            hint="start with: cropdata plan --example, and --print-example for the file behind it",
        )
    catalog = opened(options)
    plan = plan_season(path, catalog)
    shown = json.dumps(as_object(plan), indent=2, ensure_ascii=False)
    text = "\n".join(as_text(plan, catalog))
    if options.out:
        os.makedirs(options.out, exist_ok=True)
        for name, content in (
            ("plan.txt", text + "\n"),
            ("plan.csv", as_csv(plan)),
            ("plan.json", shown + "\n"),
        ):
            write_whole(os.path.join(options.out, name), content)
        print(f"written to {options.out}: plan.txt, plan.csv, plan.json", file=sys.stderr)
    print(shown if options.json else text)
    return 0


def _chance(value: float | None) -> str:
    if value is None:
        return "–"
    if value <= 0.0205:
        return "≤ 2 %"
    if value >= 0.9795:
        return "≥ 98 %"
    return f"{100 * value:.0f} %"


def _day(date: datetime.date) -> str:
    return f"{date.day} {date:%b}"


def _window(window: Window | None) -> str:
    if window is None:
        return "–"
    if window.first == window.last:
        return _day(window.first)
    return f"{_day(window.first)} – {_day(window.last)}"


def _pair(pair: tuple[float, float] | None, unit: str) -> str:
    if pair is None:
        return "–"
    low, high = f"{pair[0]:.0f}", f"{pair[1]:.0f}"
    if unit == "mm" and high == "0":
        return "surface"
    return f"{low if low == high else f'{low}–{high}'} {unit}"


def _line(line: PlannedSowing, number: int) -> tuple[str, ...]:
    name = f"{line.crop}{f' {line.variety}' if line.variety else ''}"
    seeds = (
        "–"
        if line.seeds is None
        else f"{line.seeds}{f' at {100 * line.assumed_germination:.0f} %' if line.assumed_germination else ''}"
    )
    return (
        f"{number}.", name, line.where.removeprefix("under cover (").removesuffix(")"), _window(line.sow), _pair(line.depth_mm, "mm"), _pair(line.best_c, "°C"), _window(line.seedlings),
        f"{line.give_up_days} days" if line.give_up_days else "–", _window(line.plant_out), _chance(line.frost_left),
        seeds,
    )  # fmt: skip


def as_text(plan: Plan, catalog: Catalog) -> list[str]:
    """The plan for the terminal: the table first, then what to mind, then where it comes from."""
    place = plan.season.place
    lines = [f"Season {plan.season.year}, {place.name}"]
    frost = f"Last frost ({place.spring.threshold_c:g} °C in the screen): one year in two after {_day(plan.last_frost)}; {_chance(plan.risk)} of years after {_day(plan.risk_date)}."
    lines += wrapped(frost + (f" Dates: {place.frost_source}." if place.frost_source else ""), 110)
    lines += [f"Frost record: {warning}." for warning in plan.warnings]
    lines.append("")
    head = (
        "",
        "crop",
        "where",
        "sow",
        "depth",
        "warmth",
        "seedlings",
        "give up",
        "plant out",
        "frost left",
        "seeds",
    )
    lines += columns([head, *(_line(line, number) for number, line in enumerate(plan.sowings, start=1))])
    lines += ["", "Mind:"]
    for number, line in enumerate(plan.sowings, start=1):
        for note in line.notes:
            lines += wrapped(f"{number}. {line.crop}: {note}", 110, hang="   ")
    lines += ["", *_footing(plan, catalog)]
    return lines


def _footing(plan: Plan, catalog: Catalog) -> list[str]:
    rules = (
        "emergence_error_high",
        "emergence_last",
        "give_up_quiet_days",
        "planting_out_risk",
        "seedling_confidence",
        "hardening_days",
    )
    said = []
    for rule_id in rules:
        rule = catalog.rule(rule_id)
        who = {"common_practice": "common practice, no source", "from_memory": "from memory"}.get(
            rule["basis"], rule["source_id"]
        )
        value = rule["low"] if rule["low"] == rule["high"] else f"{rule['low']} to {rule['high']}"
        said.append(f"- {rule['meaning']}: {value} {rule['unit']} ({who})")
    lines = [
        "How it is reckoned:",
        "- weeks count from the date with an even chance of a later frost, also where a source does not say which frost it means;",
        "- frost left: chance of a later frost on the first day of planting out (in place: when the first seedlings are expected),",
        "  per year at that station. Leaves and hollows are colder than the screen on clear nights: read the forecast;",
        "- seedlings: earliest from the first sowing day to latest from the last; give up: no seedling so long after sowing;",
        "- warmth: best range for germination; seeds: for the plants wanted, with a percentage where the legal minimum",
        "  germination is assumed for want of a test of your own;",
    ]
    for text in said:
        lines += wrapped(text, 110, hang="  ")
    used = sorted({source for line in plan.sowings for source in line.sources})
    lines += wrapped(
        f"Figures: cropdata {plan.data_version}, {len(used)} sources; each value with its source: cropdata show CROP, cropdata why CROP TRAIT.",
        110,
    )
    return lines


def _iso(window: Window | None) -> dict[str, str] | None:
    return window and {"first": window.first.isoformat(), "last": window.last.isoformat()}


def as_object(plan: Plan) -> dict[str, Any]:
    """The JSON object of `plan`, format 1."""
    place = plan.season.place
    return {
        "format": 1,
        "data_version": plan.data_version,
        "season": plan.season.year,
        "place": {"name": place.name, "frost_source": place.frost_source, "threshold_c": place.spring.threshold_c},
        "last_frost": plan.last_frost.isoformat(),
        "risk": plan.risk,
        "risk_date": plan.risk_date.isoformat(),
        "warnings": list(plan.warnings),
        "sowings": [
            {
                "crop_id": line.crop_id, "crop": line.crop, "variety": line.variety, "where": line.where, "sow": _iso(line.sow),
                "depth_mm": line.depth_mm, "best_c": line.best_c, "emergence_days": line.emergence_days, "seedlings": _iso(line.seedlings),
                "give_up_days": line.give_up_days, "plant_out": _iso(line.plant_out),
                "frost_left": None if line.frost_left is None else round(line.frost_left, 4),
                "plants": line.plants, "seeds": line.seeds, "assumed_germination": line.assumed_germination, "notes": list(line.notes), "sources": list(line.sources),
            }
            for line in plan.sowings
        ],
    }  # fmt: skip


def as_csv(plan: Plan) -> str:
    """The plan as CSV: one row a packet, ISO dates."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(CSV_COLUMNS)
    for line in plan.sowings:
        windows = [date for window in (line.sow, line.seedlings, line.plant_out) for date in (window or (None, None))]
        iso = ["" if date is None else date.isoformat() for date in windows]
        depth, best = line.depth_mm or ("", ""), line.best_c or ("", "")
        writer.writerow([
            line.crop_id, harmless(line.crop), harmless(line.variety or ""), line.where, *iso[:2], *depth, *best, *iso[2:4],
            line.give_up_days or "", *iso[4:], "" if line.frost_left is None else round(line.frost_left, 4),
            line.plants or "", line.seeds or "", line.assumed_germination or "", harmless(" | ".join(line.notes)), " ".join(line.sources),
        ])  # fmt: skip
    return stream.getvalue()
