"""`cropdata plan`: a season, its files, its records."""

from __future__ import annotations

import datetime
import json
import os
import sys
from argparse import Namespace

from cropdata.catalog import open_catalog
from cropdata.cli.opening import opened
from cropdata.cli.plan_files import page_and_calendar, write_files
from cropdata.cli.plan_text import plan_text
from cropdata.errors import InputError
from cropdata.season.drafting import figures
from cropdata.season.learning import learn, write_layer
from cropdata.season.planning import plan_season
from cropdata.season.records import read_records
from cropdata.season.schema import plan_object, plan_schema
from cropdata.season.table import plan_csv
from cropdata.season.words import Words

EXAMPLE = os.path.join(os.path.dirname(os.path.dirname(os.path.abspath(__file__))), "examples", "season.yaml")
EXAMPLE_DAY = datetime.date(2027, 3, 1)  # the example is always read on this day


def run(options: Namespace) -> int:
    """Print the plan and write its files."""
    if options.print_example:
        with open(EXAMPLE, encoding="utf-8") as stream:
            print(stream.read(), end="")
        return 0
    if options.print_schema:
        print(json.dumps(plan_schema(), indent=2, ensure_ascii=False))
        return 0
    path = EXAMPLE if options.example else options.season
    if path is None:
        raise InputError(
            "no season file given",
            hint="start with: cropdata plan --example, and --print-example for the file behind it",
        )
    if options.learn and not options.records:
        raise InputError("--learn needs the records to learn from", hint="give them with --records FILE")
    today = _today(options.today, EXAMPLE_DAY if options.example else datetime.date.today())
    words = Words(options.units, options.dates)
    catalog = opened(options)
    records = read_records(options.records) if options.records else ()
    plan = plan_season(path, catalog, words=words, records=options.records or (), today=today)
    learned = learn(records, plan.sowings) if options.learn else ()
    shown = json.dumps(plan_object(plan), indent=2, ensure_ascii=False) if options.json or options.out else ""
    text = plan_text(plan, words._replace(year=plan.year), today)
    if options.learn:
        write_layer(options.learn, learned, open_catalog(installed=False), options.records)
        told = "; ".join(
            f"{each.crop_id} {figures(each.low_days, each.high_days)} ({each.sowings})" for each in learned
        )
        print(f"learned, days to half of the seedlings (sowings): {told}", file=sys.stderr)
        print(f"written to {options.learn}; use it with --layer {options.learn}", file=sys.stderr)
    if options.out:
        files = {"plan.txt": text + "\n", "plan.csv": plan_csv(plan), "plan.json": shown + "\n"}
        files |= page_and_calendar(plan, words._replace(year=plan.year), today, options.out)
        write_files(options.out, files)
        print(f"written to {options.out}: {', '.join(files)}", file=sys.stderr)
    print(shown if options.json else text)
    return 0


def _today(given: str | None, otherwise: datetime.date) -> datetime.date:
    if given is None:
        return otherwise
    try:
        return datetime.date.fromisoformat(given)
    except ValueError:
        raise InputError("--today is no date", found=given, allowed="YYYY-MM-DD") from None
