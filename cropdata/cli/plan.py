"""`cropdata plan`: a season and its files."""

from __future__ import annotations

import datetime
import json
import os
import sys
import time
from argparse import Namespace

from cropdata.catalog import open_catalog
from cropdata.cli.plan_text import plan_text
from cropdata.errors import InputError, MissingExtraError
from cropdata.season.calendar_file import calendar_text
from cropdata.season.page import page_html
from cropdata.season.plan import Plan
from cropdata.season.planning import plan_season
from cropdata.season.schema import plan_object, plan_schema
from cropdata.season.table import plan_csv
from cropdata.season.words import Words
from cropdata.tabular.rows import write_whole

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
    today = _today(options.today, EXAMPLE_DAY if options.example else datetime.date.today())
    words = Words(options.units, options.dates)
    plan = plan_season(path, open_catalog(layers=options.layer), words=words)
    words = words._replace(year=plan.year)
    shown = json.dumps(plan_object(plan), indent=2, ensure_ascii=False)
    text = plan_text(plan, words, today)
    if options.out:
        files = {"plan.txt": text + "\n", "plan.csv": plan_csv(plan), "plan.json": shown + "\n"}
        os.makedirs(options.out, exist_ok=True)
        files["plan.html"] = page_html(plan, words, today)
        try:
            files["plan.ics"] = _calendar(plan, os.path.join(options.out, "plan.ics"))
        except MissingExtraError as error:
            print(f"plan.ics is left out: {error}", file=sys.stderr)
        for name, content in files.items():
            write_whole(os.path.join(options.out, name), content)
        print(f"written to {options.out}: {', '.join(files)}", file=sys.stderr)
    print(shown if options.json else text)
    return 0


def _calendar(plan: Plan, path: str) -> str:
    """The calendar, made now, with what is no longer planned of the one that lies there cancelled."""
    # The moment can be stated, as reproducible builds do (SOURCE_DATE_EPOCH), so that the same plan gives the same bytes.
    stated = os.environ.get("SOURCE_DATE_EPOCH", "")
    made = datetime.datetime.fromtimestamp(
        int(stated) if stated.isdecimal() and len(stated) < 12 else time.time(), datetime.UTC
    )
    before = None
    if os.path.exists(path):
        with open(path, encoding="utf-8", errors="replace", newline="") as stream:
            before = stream.read()
    return calendar_text(plan, made, before)


def _today(given: str | None, otherwise: datetime.date) -> datetime.date:
    if given is None:
        return otherwise
    try:
        return datetime.date.fromisoformat(given)
    except ValueError:
        raise InputError("--today is no date", found=given, allowed="YYYY-MM-DD") from None
