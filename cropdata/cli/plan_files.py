"""The files of `cropdata plan --out`: the page, and the calendar, which looks at the last one; all of them written, or none."""

from __future__ import annotations

import datetime
import os
import sys
import time

from cropdata.errors import InputError, MissingExtraError
from cropdata.season.calendar_file import calendar_text
from cropdata.season.page import page_html
from cropdata.season.plan import Plan
from cropdata.season.words import Words
from cropdata.tabular.rows import write_whole


def page_and_calendar(plan: Plan, words: Words, today: datetime.date, folder: str) -> dict[str, str]:
    """Contents by file name; without the calendar, and a line that says how to get it, where its library is missing."""
    files = {"plan.html": page_html(plan, words, today)}
    try:
        files["plan.ics"] = calendar_text(plan, _moment(), _last_one(os.path.join(folder, "plan.ics")), today)
    except MissingExtraError as error:
        print(f"plan.ics is left out: {error}", file=sys.stderr)
    return files


def write_files(folder: str, files: dict[str, str]) -> None:
    """Make the folder, see whether each file can stand in it, and only then write them.

    Raises InputError where something else than a file stands in a file's place, OSError as `write_whole` does.
    """
    os.makedirs(folder, exist_ok=True)
    for name in files:
        path = os.path.join(folder, name)
        if os.path.lexists(path) and not os.path.isfile(path):
            raise InputError(
                "cannot be written: something else than a file stands there",
                file=path,
                hint="move it away; nothing was written",
            )
    for name, content in files.items():
        write_whole(os.path.join(folder, name), content)


def _moment() -> datetime.datetime:
    """Now, or the moment stated as reproducible builds do, so that the same plan gives the same bytes."""
    stated = os.environ.get("SOURCE_DATE_EPOCH", "")
    seconds = int(stated) if stated.isdecimal() and len(stated) < 12 else time.time()
    return datetime.datetime.fromtimestamp(seconds, datetime.UTC)


def _last_one(path: str) -> str | None:
    if not os.path.isfile(path):
        return None
    with open(path, encoding="utf-8", errors="replace", newline="") as stream:
        return stream.read()
