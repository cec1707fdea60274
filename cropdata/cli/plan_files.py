"""The files of `cropdata plan --out` that need more than the plan: the page, and the calendar, which looks at the last one."""

from __future__ import annotations

import datetime
import os
import sys
import time

from cropdata.errors import MissingExtraError
from cropdata.season.calendar_file import calendar_text
from cropdata.season.page import page_html
from cropdata.season.plan import Plan
from cropdata.season.words import Words


def page_and_calendar(plan: Plan, words: Words, today: datetime.date, folder: str) -> dict[str, str]:
    """Contents by file name; without the calendar, and a line that says how to get it, where its library is missing."""
    files = {"plan.html": page_html(plan, words, today)}
    try:
        files["plan.ics"] = calendar_text(plan, _moment(), _last_one(os.path.join(folder, "plan.ics")))
    except MissingExtraError as error:
        print(f"plan.ics is left out: {error}", file=sys.stderr)
    return files


def _moment() -> datetime.datetime:
    """Now, or the moment stated as reproducible builds do, so that the same plan gives the same bytes."""
    stated = os.environ.get("SOURCE_DATE_EPOCH", "")
    seconds = int(stated) if stated.isdecimal() and len(stated) < 12 else time.time()
    return datetime.datetime.fromtimestamp(seconds, datetime.UTC)


def _last_one(path: str) -> str | None:
    if not os.path.exists(path):
        return None
    with open(path, encoding="utf-8", errors="replace", newline="") as stream:
        return stream.read()
